//! Every code in the source is explained, and every explained code is in the source.
#![allow(clippy::disallowed_methods, reason = "this test looks at the source of the crate")]

use std::collections::BTreeSet;
use std::path::Path;

fn collect(folder: &Path, found: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).expect("the source folder").filter_map(Result::ok) {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|end| end == "rs") && path.file_name().is_some_and(|name| name != "explain.rs") {
            let text = std::fs::read_to_string(&path).expect("a source file");
            let literals = text.split('"').filter(|part| part.starts_with("plan/") || part.starts_with("list/"));
            found.extend(literals.filter(|part| part.chars().all(|c| c.is_ascii_lowercase() || matches!(c, '-' | '/'))).map(str::to_owned));
        }
    }
}

#[test]
fn every_code_is_explained_and_used() {
    let mut used = BTreeSet::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut used);
    let explained: BTreeSet<String> = loomwright_planfile::explain::codes().map(str::to_owned).collect();
    assert_eq!(used, explained);
}
