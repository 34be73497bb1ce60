//! Every kind of difference: told where it is, and not told where all is as planned. The evidence of each stands in
//! `fixtures/kinds/KIND.txt` as a person or a program would hand it over; frames are described there line by line.

#![allow(clippy::disallowed_methods, reason = "this test reads its fixtures at run time")]

mod frames;

use loomwright_evidence::{Evidence, read};
use loomwright_linecheck::{Difference, Proved, compare_proved, explanations};
use loomwright_model::Id;
use std::path::{Path, PathBuf};

/// One case of a fixture: what is expected, changes of the plan, and files.
struct Case {
    /// First items of the differences of the kind at hand, `nothing` for none.
    expected: Vec<String>,
    changes: Vec<(String, String)>,
    files: Vec<(String, String)>,
}

/// **Shape**: `== ITEM..` or `== nothing` begins a case, `-- plan OLD => NEW` changes the plan, `-- frames NAME` begins a capture, line
/// by line, and `-- NAME` any other file.
fn cases(text: &str) -> Vec<Case> {
    let mut all: Vec<Case> = Vec::new();
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        if let Some(expected) = line.strip_prefix("== ") {
            let expected = expected.split_whitespace().filter(|word| *word != "nothing").map(str::to_owned).collect();
            all.push(Case { expected, changes: Vec::new(), files: Vec::new() });
            continue;
        }
        let case = all.last_mut().expect("a case begins with ==");
        if let Some((old, new)) = line.strip_prefix("-- plan ").and_then(|change| change.split_once(" => ")) {
            case.changes.push((old.to_owned(), new.replace("\\n", "\n")));
        } else if let Some(name) = line.strip_prefix("-- ") {
            case.files.push((name.to_owned(), String::new()));
        } else if let Some((_, text)) = case.files.last_mut() {
            text.push_str(line);
            text.push('\n');
        }
    }
    all
}

fn file((name, text): &(String, String)) -> Evidence {
    match name.strip_prefix("frames ") {
        Some(name) => read(name, &frames::capture(text)),
        None => read(name, text.as_bytes()),
    }
}

/// What the proof of the rig's one link would say; the cases need a figure, not a true one.
fn proved() -> Proved {
    let id = |name: &str| Id::new(name).expect("a good name");
    Proved { jitter: [((id("s1"), id("e2"), id("a")), 200_000)].into() }
}

/// What is wrong with a case; empty if nothing is.
fn check(kind: &str, n: usize, case: &Case) -> Vec<String> {
    let mut wrong = Vec::new();
    let plan = case.changes.iter().fold(include_str!("../fixtures/rig.toml").to_owned(), |plan, (old, new)| {
        assert!(plan.contains(old), "{kind}, case {n}: the plan has no `{old}`");
        plan.replacen(old, new, 1)
    });
    let wiring = include_bytes!("../fixtures/rig.wiring.toml");
    let loaded = loomwright_planfile::read_bytes(("rig.toml", plan.as_bytes()), Some(("rig.wiring.toml", wiring))).expect("the plan reads");
    let seen = Evidence::merged(case.files.iter().map(file));
    if !seen.complaints.is_empty() {
        wrong.push(format!("{kind}, case {n}: not read: {:?}", seen.complaints));
    }
    let comparison = compare_proved((&loaded.plan, &loaded.wiring), &seen, &proved());
    let told = comparison.differences.iter().filter(|one| one.code == kind);
    let told: Vec<String> = told.map(|one| one.items.first().map(ToString::to_string).unwrap_or_else(|| "?".to_owned())).collect();
    if told != case.expected {
        wrong.push(format!("{kind}, case {n}: told {told:?}, expected {:?}", case.expected));
    }
    let others: Vec<&str> = comparison.differences.iter().map(|one| one.code).filter(|code| *code != kind).collect();
    if !others.is_empty() {
        wrong.push(format!("{kind}, case {n}: also {others:?}"));
    }
    let is_whole = |one: &&Difference| !one.planned.is_empty() && !one.remedy.is_empty() && !one.seen.is_empty();
    wrong.extend(comparison.differences.iter().filter(|one| !is_whole(one)).map(|one| format!("{kind}, case {n}: {one:?}")));
    wrong
}

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/kinds")
}

#[test]
fn every_kind_is_told_where_it_is_and_only_there() {
    let mut wrong = Vec::new();
    for one in explanations() {
        let name = one.code.strip_prefix("seen/").expect("every code begins so");
        let path = fixtures().join(format!("{name}.txt"));
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let cases = cases(&text);
        assert!(cases.iter().any(|case| !case.expected.is_empty()), "{name} has no case where it is");
        assert!(cases.iter().any(|case| case.expected.is_empty()), "{name} has no case where it is not");
        wrong.extend(cases.iter().enumerate().flat_map(|(n, case)| check(one.code, n + 1, case)));
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn every_fixture_is_of_a_kind() {
    for entry in std::fs::read_dir(fixtures()).expect("the folder is there").flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        let code = format!("seen/{}", name.trim_end_matches(".txt"));
        assert!(explanations().iter().any(|one| one.code == code), "{name}");
    }
}
