//! All findings, most harmful first.

use super::super::figures::{count, items, micro, severity};
use super::super::part::Part;
use crate::store::View;
use loomwright_proof::report::FindingLine;
use maud::{Markup, html};

/// The list.
pub fn part(view: &View) -> Part {
    let findings = &view.good.report.findings;
    Part::new(
        "findings",
        html! {
            section #findings {
                p.lead { @if findings.is_empty() { "Nothing found." } @else { (summary(findings)) } }
                p.calm { (loomwright_proof::findings::all().len()) " kinds of trouble were looked for. " a href="/explain" { "What each of them is" } }
                @for word in ["stop", "warn", "note"] {
                    @let of_this: Vec<&FindingLine> = findings.iter().filter(|finding| finding.severity == word).collect();
                    @if !of_this.is_empty() {
                        h2 { (severity(word)) " " span.count { (of_this.len()) } " " span.meaning { (meaning(word)) } }
                        @for finding in of_this { (shown(finding)) }
                    }
                }
            }
        },
    )
}

fn summary(findings: &[FindingLine]) -> String {
    let of = |word: &str| findings.iter().filter(|finding| finding.severity == word).count();
    format!(
        "{}: {} stop the show, {} to watch, {} good to know.",
        count(findings.len(), "finding", "findings"),
        of("stop"),
        of("warn"),
        of("note")
    )
}

fn meaning(word: &str) -> &'static str {
    match word {
        "stop" => "the show must not start like this",
        "warn" => "it may run, but a target is missed or a risk is open",
        _ => "good to know",
    }
}

fn shown(finding: &FindingLine) -> Markup {
    html! {
        article class={ "finding " (finding.severity) } {
            p.says { (micro(&finding.says)) }
            p.do { (micro(&finding.remedy)) }
            @if finding.value.is_some() || finding.limit.is_some() || finding.source.is_some() {
                dl.facts {
                    @if let Some(value) = &finding.value { div { dt { "Found" } dd { (micro(value)) } } }
                    @if let Some(limit) = &finding.limit { div { dt { "Allowed" } dd { (micro(limit)) } } }
                    @if let Some(source) = &finding.source { div { dt { "Source" } dd { (source) } } }
                }
            }
            p.where {
                (items(&finding.items))
                @if let Some(at) = &finding.at { " " a.at href={ "/file#line-" (at.line) } { (at.file) ":" (at.line) } }
                " " a.code href={ "/explain/" (finding.code) } { "Why: " (finding.code) }
            }
        }
    }
}
