//! Commands on the plans of the project, compared with `plans/*/expected/`.
//!
//! `plans/NAME/expected/commands` lists them, one a line: `FILE: ARGUMENTS`. A `.txt` file holds a transcript, a
//! `.json` file what came out. `UPDATE_EXPECTED=1 cargo test -p loomwright` rewrites them; review the difference like code.

use crate::running::{Run, project, run};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// One command and the file that holds what it should print.
struct Case {
    file: PathBuf,
    arguments: Vec<String>,
}

fn cases() -> Vec<Case> {
    let plans = fs::read_dir(project().join("plans")).expect("the project has plans");
    let mut folders: Vec<PathBuf> = plans.flatten().map(|entry| entry.path().join("expected")).collect();
    folders.sort();
    let lines = |folder: &Path| fs::read_to_string(folder.join("commands")).unwrap_or_default();
    folders.iter().flat_map(|folder| lines(folder).lines().filter_map(|line| case(folder, line)).collect::<Vec<_>>()).collect()
}

fn case(folder: &Path, line: &str) -> Option<Case> {
    let (file, arguments) = line.split('#').next()?.split_once(':')?;
    Some(Case { file: folder.join(file.trim()), arguments: arguments.split_whitespace().map(str::to_owned).collect() })
}

/// What stands in the expected file after this run.
fn kept(case: &Case, run: &Run) -> String {
    if case.file.extension().is_some_and(|end| end == "json") {
        return run.out.clone();
    }
    let mut text = format!("$ loomwright {}\n{}", case.arguments.join(" "), run.out);
    if !run.err.is_empty() {
        let _ = write!(text, "-- standard error\n{}", run.err);
    }
    let _ = writeln!(text, "-- exit code {}", run.code);
    text
}

#[test]
fn commands_print_what_they_should() {
    let cases = cases();
    assert!(!cases.is_empty(), "no plan lists its commands");
    let is_update = std::env::var_os("UPDATE_EXPECTED").is_some_and(|value| value == "1");
    let mut differing = String::new();
    for case in cases {
        let arguments: Vec<&str> = case.arguments.iter().map(String::as_str).collect();
        let kept = kept(&case, &run(&project(), &arguments));
        if is_update {
            fs::write(&case.file, &kept).expect("the expected file can be written");
        }
        let expected = fs::read_to_string(&case.file).unwrap_or_default();
        if expected != kept {
            let _ = writeln!(differing, "{}: {}", case.file.display(), first_difference(&expected, &kept));
        }
    }
    assert!(differing.is_empty(), "rewrite with UPDATE_EXPECTED=1 and review:\n{differing}");
}

fn first_difference(expected: &str, found: &str) -> String {
    let pairs = expected.lines().map(Some).chain(std::iter::repeat(None)).zip(found.lines().map(Some).chain([None]));
    let differing = pairs.enumerate().find(|(_, (expected, found))| expected != found);
    differing.map_or("longer than what was found".to_owned(), |(n, (expected, found))| {
        format!("line {}: expected `{}`, found `{}`", n + 1, expected.unwrap_or("nothing"), found.unwrap_or("nothing"))
    })
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let proved = || run(&project(), &["check", "plans/meeting-room", "--json"]).out;
    assert_eq!(proved(), proved());
}

#[test]
fn every_json_proof_keeps_to_the_schema() {
    let schema = run(&project(), &["check", "--schema"]).out;
    let kept = fs::read_to_string(project().join("docs/report.schema.json")).unwrap_or_default();
    assert!(kept == schema, "docs/report.schema.json is old: run `cargo xtask schema`");
    let schema = serde_json::from_str(&schema).expect("the schema is JSON");
    let validator = jsonschema::validator_for(&schema).expect("the schema is one");
    for plan in ["plans/playhouse", "plans/meeting-room"] {
        let proved = run(&project(), &["check", plan, "--json"]);
        let report = serde_json::from_str(&proved.out).expect("the proof is JSON");
        assert_eq!(validator.iter_errors(&report).map(|error| error.to_string()).collect::<Vec<_>>(), Vec::<String>::new(), "{plan}");
    }
}

/// `plans/*/planted.txt` names what was spoilt, one `CODE ITEM` a line.
#[test]
fn every_planted_fault_is_named() {
    let mut missed = String::new();
    for plan in ["playhouse-faults", "meeting-room-faults"] {
        let planted = fs::read_to_string(project().join("plans").join(plan).join("planted.txt")).expect("the faults are listed");
        let proved = run(&project(), &["check", &format!("plans/{plan}"), "--json"]);
        let report: serde_json::Value = serde_json::from_str(&proved.out).expect("the proof is JSON");
        let Some(findings) = report["findings"].as_array() else {
            let _ = writeln!(missed, "{plan} cannot be read: {}", proved.err);
            continue;
        };
        for (code, item) in planted.lines().filter_map(|line| line.split_once(' ')) {
            let names =
                |finding: &serde_json::Value| finding["items"].as_array().is_some_and(|items| items.iter().any(|named| named == item));
            if !findings.iter().any(|finding| finding["code"] == code && names(finding)) {
                let _ = writeln!(missed, "{plan}: {code} {item}");
            }
        }
    }
    assert!(missed.is_empty(), "not named:\n{missed}");
}
