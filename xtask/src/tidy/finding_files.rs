//! Every file of a finding explains itself and is tested.

use super::Fault;
use super::sources::Source;

/// A findings file without explanation or test.
pub fn faults(source: &Source, all: &[Source]) -> Vec<Fault> {
    let Some((folder, name)) = source.path.rsplit_once('/') else { return Vec::new() };
    if source.is_test || !folder.ends_with("/findings") || name == "mod.rs" {
        return Vec::new();
    }
    let mut faults = Vec::new();
    if !source.text.starts_with("//!") {
        faults.push(Fault::new(&source.path, "a finding without explanation: begin the file with what, why it matters, and its source"));
    }
    let beside = format!("{}/tests.rs", source.path.trim_end_matches(".rs"));
    if source.measures.tests == 0 && !all.iter().any(|other| other.path == beside) {
        faults.push(Fault::new(&source.path, "a finding without a test"));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wants_both() {
        for (path, text, count) in [
            ("crates/a/src/findings/loop.rs", "//! A loop.\n#[test]\nfn f() {}", 0),
            ("crates/a/src/findings/loop.rs", "//! A loop.\n", 1),
            ("crates/a/src/findings/loop.rs", "", 2),
            ("crates/a/src/findings/mod.rs", "", 0),
            ("crates/a/src/other.rs", "", 0),
        ] {
            let source = Source::new(path.to_owned(), text.to_owned()).expect("the test's own source");
            assert_eq!(faults(&source, &[]).len(), count, "{path}: {text}");
        }
    }
}
