//! What a finding means, why it matters, and where the rule comes from.

use super::part::Part;
use super::tabs::tabs;
use crate::engine::{explanation, explanations};
use crate::store::View;
use maud::html;

/// The list of all codes.
pub fn index() -> Vec<Part> {
    let list = html! {
        section #codes {
            p.lead { "Everything the proof can find, by its code." }
            ul.codes { @for (code, title) in explanations() { li { a href={ "/explain/" (code) } { code { (code) } } " " (title) } } }
        }
    };
    vec![tabs("What findings mean", &[], ""), Part::new("codes", list)]
}

/// The page of one code; `None` if there is none.
pub fn parts(code: &str, view: &View) -> Option<Vec<Part>> {
    let (title, paragraphs, source) = explanation(code)?;
    let now: Vec<_> = view.good.report.findings.iter().filter(|finding| finding.code == code).collect();
    let text = html! {
        section #explained.narrow {
            p { a href="/proof" { "Findings" } " / " a href="/explain" { "all codes" } }
            h1 { (title) }
            p { code { (code) } }
            @for paragraph in paragraphs { p { (paragraph) } }
            @if !source.is_empty() { p.calm { "Source: " (source) } }
        }
    };
    let here = html! {
        section #here.narrow {
            h2 { "In this plan" }
            @if now.is_empty() { p.calm { "Not found here." } }
            ul { @for finding in now { li { (finding.says) } } }
        }
    };
    Some(vec![Part::new("explained", text), Part::new("here", here)])
}
