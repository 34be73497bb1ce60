//! The way of a first evening: start, design, check, take something away, hand out.

use crate::running::{project, run, with_starter};
use std::fs;

#[test]
fn from_nothing_to_documents() {
    let folder = with_starter();
    let at = folder.path();
    for arguments in [
        &["design", "hall.toml"][..],
        &["check", "hall.toml"],
        &["check", "hall.toml", "--failures"],
        &["check", "hall.toml", "--stream", "microphones"],
        &["sheets", "hall.toml", "--to", "paper", "--only", "csv,svg"],
        &["diff", "hall.toml", "hall.toml"],
    ] {
        let done = run(at, arguments);
        assert_eq!(done.code, 0, "{arguments:?}: {}{}", done.out, done.err);
        assert!(!done.out.is_empty(), "{arguments:?} prints nothing");
    }
    assert!(fs::read_dir(at.join("paper")).expect("sheets made it").count() > 1);
}

#[test]
fn a_second_design_keeps_what_is_held_and_changes_nothing_else() {
    let folder = with_starter();
    let wiring = folder.path().join("hall.wiring.toml");
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    let first = fs::read_to_string(&wiring).expect("it was written");
    let with_a_note = format!("# pulled on Tuesday\n{first}");
    fs::write(&wiring, &with_a_note).expect("it can be written");
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    assert_eq!(fs::read_to_string(&wiring).ok(), Some(with_a_note), "comments and decisions stay");
}

#[test]
fn a_dry_run_writes_nothing() {
    let folder = with_starter();
    let done = run(folder.path(), &["design", "hall.toml", "--dry-run", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&done.out).expect("standard output holds JSON");
    assert!(told["wiring"].as_str().is_some_and(|wiring| wiring.contains("[cable.")));
    assert!(!folder.path().join("hall.wiring.toml").exists());
}

#[test]
fn taking_away_an_only_way_silences_and_says_so() {
    let folder = with_starter();
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    let lost = run(folder.path(), &["whatif", "hall.toml", "floor"]);
    assert_eq!(lost.code, 1, "{}{}", lost.out, lost.err);
    assert!(lost.out.contains("route:floor") && lost.out.contains("microphones at desk"), "{}", lost.out);
    let unknown = run(folder.path(), &["whatif", "hall.toml", "cable:Z-999"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("Z-999"), "{}", unknown.err);
}

#[test]
fn every_finding_that_is_printed_can_be_explained() {
    for plan in ["plans/playhouse", "plans/meeting-room"] {
        let checked = run(&project(), &["check", plan, "--json"]);
        let report: serde_json::Value = serde_json::from_str(&checked.out).expect("standard output holds JSON");
        for finding in report["findings"].as_array().expect("a list of findings") {
            let code = finding["code"].as_str().expect("every finding has a code");
            let explained = run(&project(), &["explain", code]);
            assert_eq!(explained.code, 0, "{code}: {}", explained.err);
            assert!(explained.out.contains(code));
        }
    }
    assert_eq!(run(&project(), &["explain", "no/such-code"]).code, 2);
    assert!(run(&project(), &["explain"]).out.lines().count() > 10);
}

#[test]
fn import_says_row_by_row_what_it_could_not_read() {
    let folder = with_starter();
    let list = |name: &str, text: &str| fs::write(folder.path().join(name), text).expect("it can be written");
    list("good.csv", "name,gear,place\nbox-2,stage-box-32,stage\n");
    list("mixed.csv", "name,gear,place\nbox-3,stage-box-32,stage\nbox-4,no-such-gear,stage\n");
    list("bad.csv", "colour,weather\nred,rain\n");
    for (name, code, says) in
        [("good.csv", 0, "box-2"), ("mixed.csv", 1, "no-such-gear"), ("bad.csv", 2, "bad.csv"), ("gone.csv", 2, "gone.csv")]
    {
        let done = run(folder.path(), &["import", name, "--into", "hall.toml"]);
        assert_eq!(done.code, code, "{name}: {}{}", done.out, done.err);
        assert!(done.out.contains(says) || done.err.contains(says), "{name}: {}{}", done.out, done.err);
    }
    let plan = fs::read_to_string(folder.path().join("hall.toml")).expect("the plan is there");
    assert!(plan.contains("box-2") && plan.contains("box-3") && !plan.contains("box-4"));
}

#[test]
fn completions_and_manual_pages_name_every_command() {
    let folder = tempfile::tempdir().expect("a scratch folder");
    assert!(run(folder.path(), &["completions", "bash"]).out.contains("whatif"));
    assert_eq!(run(folder.path(), &["man", "pages"]).code, 0);
    for page in ["loomwright.1", "loomwright-check.1", "loomwright-whatif.1"] {
        assert!(folder.path().join("pages").join(page).is_file(), "{page}");
    }
}
