//! Every file of a finding explains itself and is tested.

use super::Fault;
use super::sources::Source;

/// A title, a reason and a source are at least three lines.
const LEAST_LINES: usize = 3;

/// A findings file without explanation or test.
pub fn faults(source: &Source, all: &[Source]) -> Vec<Fault> {
    let Some((folder, name)) = source.path.rsplit_once('/') else { return Vec::new() };
    if source.is_test || !folder.ends_with("/findings") || name == "mod.rs" {
        return Vec::new();
    }
    let mut faults = Vec::new();
    let explained = source.text.lines().map(str::trim_start).filter(|line| line.starts_with("//! ") || line.starts_with("/// "));
    if !explained.clone().any(|line| line.contains("**Source**")) || explained.count() < LEAST_LINES {
        faults.push(Fault::new(&source.path, "a finding without explanation: say what it is, why it matters, and its **Source**"));
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
            (
                "crates/a/src/findings/loop.rs",
                "rule! {\n /// A loop.\n /// It storms.\n /// **Source**: practice.\n}\n#[test]\nfn f() {}",
                0,
            ),
            ("crates/a/src/findings/loop.rs", "//! A loop.\n//! It storms.\n//! **Source**: practice.\n", 1),
            ("crates/a/src/findings/loop.rs", "", 2),
            ("crates/a/src/findings/mod.rs", "", 0),
            ("crates/a/src/other.rs", "", 0),
        ] {
            let source = Source::new(path.to_owned(), text.to_owned()).expect("the test's own source");
            assert_eq!(faults(&source, &[]).len(), count, "{path}: {text}");
        }
    }
}
