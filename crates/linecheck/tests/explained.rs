//! Every code that this crate can tell is explained, and no other.

#![allow(clippy::disallowed_methods, reason = "this test reads the sources of its crate")]

use std::collections::BTreeSet;
use std::path::Path;

fn collect(folder: &Path, found: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).expect("the sources are there").flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.file_name().is_some_and(|name| name != "explain.rs") {
            let text = std::fs::read_to_string(&path).expect("sources are text");
            let begun = text.split("\"seen/").skip(1).filter_map(|rest| rest.split_once('"'));
            found.extend(begun.filter(|(rest, _)| is_code(rest)).map(|(rest, _)| format!("seen/{rest}")));
        }
    }
}

fn is_code(rest: &str) -> bool {
    !rest.is_empty() && rest.bytes().all(|b| b.is_ascii_lowercase() || b == b'-')
}

#[test]
fn every_code_is_explained() {
    let mut used = BTreeSet::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut used);
    let explained: BTreeSet<String> = loomwright_linecheck::explanations().iter().map(|one| one.code.to_owned()).collect();
    assert!(used.len() > 20, "{used:?}");
    assert_eq!(used, explained);
}
