//! Every value in `checks/` that no engine crate owns, through the project's real functions.

mod network;
mod row;
mod rules;
mod wire;

use row::Row;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Files evaluated here; every other one must say in `checks/README.md` who evaluates it.
const OWN: [&str; 3] = ["wire.csv", "network.csv", "practice.csv"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

#[allow(clippy::disallowed_methods, reason = "a test reads the outside values at run time")]
fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// What the project says; `None` for a topic that nothing here evaluates.
fn evaluate(row: &Row) -> Option<String> {
    wire::evaluate(row).or_else(|| network::evaluate(row)).or_else(|| rules::evaluate(row))
}

fn not_built() -> BTreeMap<String, String> {
    let text = text(&root().join("checks/not-built.csv"));
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.records().map(|row| row.expect("a row")).map(|row| (row[0].to_owned(), row[1].to_owned())).collect()
}

#[test]
fn every_value_is_met_or_says_why_not() {
    let mut waiting = not_built();
    let mut wrong = Vec::new();
    let mut met = 0;
    for file in OWN {
        for row in Row::read(&text(&root().join("checks").join(file))) {
            match (evaluate(&row), not_built().get(&row.topic)) {
                (Some(found), None) if found == row.expected => met += 1,
                (Some(found), None) => wrong.push(format!("{} {} {}: {found}, published {}", row.id, row.topic, row.input, row.expected)),
                (Some(_), Some(_)) => wrong.push(format!("{} is evaluated and listed as not built", row.topic)),
                (None, Some(_)) => drop(waiting.remove(&row.topic)),
                (None, None) => wrong.push(format!("{} {}: nothing evaluates this topic", row.id, row.topic)),
            }
        }
    }
    wrong.extend(waiting.keys().map(|topic| format!("{topic} is listed as not built, but no value waits for it")));
    assert_eq!(wrong, Vec::<String>::new());
    assert!(met >= 80, "only {met} values were met: were rows lost?");
}

#[test]
fn every_row_says_where_it_is_from() {
    for file in OWN {
        for row in Row::read(&text(&root().join("checks").join(file))) {
            assert!(!row.source.is_empty() && !row.confidence.is_empty(), "{} in {file}", row.id);
        }
    }
}

#[test]
fn every_other_file_has_a_test_that_reads_it() {
    let readme = text(&root().join("checks/README.md"));
    let names = std::fs::read_dir(root().join("checks")).expect("the folder is there").map(|entry| entry.expect("an entry").file_name());
    let names = names.map(|name| name.to_string_lossy().into_owned()).filter(|name| name.ends_with(".csv"));
    for name in names.filter(|name| !OWN.contains(&name.as_str()) && name != "not-built.csv") {
        let line = readme
            .lines()
            .find(|line| line.starts_with(&format!("| `{name}`")))
            .unwrap_or_else(|| panic!("README.md does not speak of {name}"));
        let test = line.rsplit('`').nth(1).expect("a test in the last column");
        assert!(text(&root().join(test)).contains(&name), "{test} does not read {name}");
    }
}
