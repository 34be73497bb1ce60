//! Findings, the most harmful first.

use super::{count, wrapped};
use crate::paint::{self, paint};
use anstyle::Style;
use loomwright_model::{Finding, Item};
use loomwright_proof::report::{At, FindingLine};
use std::fmt::Write;

/// What each severity means to a crew, in the order of harm.
const GROUPS: &[(&str, &str, Style)] = &[
    ("stop", "stops the show", paint::STOP),
    ("warn", "a target is missed or a risk is open", paint::WARN),
    ("note", "good to know", paint::NOTE),
];

/// Every finding, grouped by harm.
pub fn text(findings: &[FindingLine]) -> String {
    let mut text = String::new();
    for (word, meaning, style) in GROUPS {
        let group: Vec<&FindingLine> = findings.iter().filter(|finding| finding.severity == *word).collect();
        if !group.is_empty() {
            let title = format!("{}: {}", word.to_uppercase(), count(group.len(), "finding", "findings"));
            let _ = writeln!(text, "\n{} ({meaning})", paint(*style, title));
            group.chunk_by(|a, b| a.code == b.code).for_each(|kind| text.push_str(&of_one_kind(kind, *style)));
        }
    }
    text
}

/// The first of a kind in full; of the others what differs.
fn of_one_kind(kind: &[&FindingLine], style: Style) -> String {
    let others = kind.iter().skip(1).map(|finding| wrapped("    also    ", &format!("{} {}", finding.says, place(finding))));
    kind.first().map_or(String::new(), |first| one(first, style)) + &others.collect::<String>()
}

/// `(file:line:column)`, or nothing.
fn place(finding: &FindingLine) -> String {
    finding.at.as_ref().map_or(String::new(), |at| format!("({}:{}:{})", at.file, at.line, at.column))
}

/// Findings that come from elsewhere than a proof, in the form of the report.
pub fn lines(findings: &[Finding]) -> Vec<FindingLine> {
    findings.iter().map(line).collect()
}

fn line(finding: &Finding) -> FindingLine {
    let at = finding.at.as_ref().map(|at| At { file: at.file.clone(), line: at.line, column: at.column });
    FindingLine {
        code: finding.code.to_owned(),
        severity: finding.severity.to_string(),
        items: finding.items.iter().map(Item::to_string).collect(),
        says: finding.says.clone(),
        value: finding.value.clone(),
        limit: finding.limit.clone(),
        source: finding.source.clone(),
        remedy: finding.remedy.clone(),
        at,
    }
}

fn one(finding: &FindingLine, style: Style) -> String {
    let title = paint(style, format!("{} [{}]", finding.severity, finding.code));
    let mut text = format!("\n  {title} {}", place(finding)).trim_end().to_owned() + "\n";
    text.push_str(&wrapped("    ", &finding.says));
    let parts = [("found", &finding.value), ("limit", &finding.limit), ("source", &finding.source)];
    for (name, part) in parts {
        if let Some(part) = part {
            text.push_str(&wrapped(&format!("    {:<8}", format!("{name}:")), part));
        }
    }
    if !finding.remedy.is_empty() {
        text.push_str(&wrapped("    do:     ", &finding.remedy));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(severity: &str) -> FindingLine {
        FindingLine {
            code: "wiring/loop".into(),
            severity: severity.into(),
            items: vec!["device:box".into()],
            says: "box is in a loop.".into(),
            value: Some("2 cables".into()),
            limit: Some("1 cable".into()),
            source: None,
            remedy: "Unplug one.".into(),
            at: Some(At { file: "a.toml".into(), line: 4, column: 2 }),
        }
    }

    #[test]
    fn most_harmful_first_with_place_figures_and_order() {
        let text = anstream::adapter::strip_str(&text(&[finding("note"), finding("stop")])).to_string();
        let expected = "\nSTOP: 1 finding (stops the show)\n\n  stop [wiring/loop] (a.toml:4:2)\n    box is in a loop.\n    found:  2 cables\n    limit:  1 cable\n    do:     Unplug one.\n";
        assert!(text.starts_with(expected) && text.contains("NOTE: 1 finding"), "{text}");
    }
}
