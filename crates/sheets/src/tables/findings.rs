//! What the proof found, most harmful first.

use super::Source;
use crate::table::{Kind, Role, Row, Table, columns};
use loomwright_proof::report::FindingLine;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Findings,
        columns([
            ("Harm", Role::Name),
            ("What was found", Role::Text),
            ("Do this", Role::Text),
            ("Figure", Role::Text),
            ("Limit", Role::Text),
            ("Source of the limit", Role::Text),
            ("Code", Role::Text),
        ]),
    );
    let findings = &source.scene.report.findings;
    let count = |severity: &str| findings.iter().filter(|finding| finding.severity == severity).count();
    table.note = format!("Stop the show: {}. Warnings: {}. Notes: {}.", count("stop"), count("warn"), count("note"));
    let mut sorted: Vec<&FindingLine> = findings.iter().collect();
    sorted.sort_by_key(|finding| harm(&finding.severity));
    table.rows = sorted.into_iter().map(row).collect();
    table
}

fn harm(severity: &str) -> u8 {
    match severity {
        "stop" => 0,
        "warn" => 1,
        _ => 2,
    }
}

fn row(finding: &FindingLine) -> Row {
    let text = |value: &Option<String>| value.clone().unwrap_or_default().into();
    let mut row = Row::new(vec![
        finding.severity.to_uppercase().into(),
        finding.says.as_str().into(),
        finding.remedy.as_str().into(),
        text(&finding.value),
        text(&finding.limit),
        text(&finding.source),
        finding.code.as_str().into(),
    ]);
    row.is_strong = finding.severity == "stop";
    row
}
