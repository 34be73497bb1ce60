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
            p.lead { "Everything that the proof can find, the line check can see and a design can remark, by its code." }
            ul.codes { @for (code, title) in explanations() { li { a href={ "/explain/" (code) } { code { (code) } } " " (title) } } }
        }
    };
    vec![tabs("What findings mean", &[], ""), Part::new("codes", list)]
}

/// The page of one code and the section that it belongs to; `None` if there is none.
pub fn parts(code: &str, view: &View) -> Option<(&'static str, Vec<Part>)> {
    let (title, paragraphs, source) = explanation(code)?;
    let now = now(code, view);
    let text = html! {
        section #explained.narrow {
            p { @if is_of_line_check(code) { a href="/linecheck/seen" { "Line check" } } @else { a href="/proof" { "Findings" } } " / " a href="/explain" { "all codes" } }
            h1 { (title) }
            p { code { (code) } }
            @for paragraph in paragraphs { p { (paragraph) } }
            @if !source.is_empty() { p.calm { "Source: " (source) } }
        }
    };
    let here = html! {
        section #here.narrow {
            h2 { @if is_of_line_check(code) { "Now" } @else { "In this plan" } }
            @if now.is_empty() { p.calm { "Not found here." } }
            ul { @for says in now { li { (says) } } }
        }
    };
    let section = if is_of_line_check(code) { "/linecheck" } else { "/proof" };
    Some((section, vec![Part::new("explained", text), Part::new("here", here)]))
}

fn is_of_line_check(code: &str) -> bool {
    ["seen/", "crew/"].iter().any(|area| code.starts_with(area))
}

/// Where this code is told now, in words.
fn now(code: &str, view: &View) -> Vec<String> {
    if is_of_line_check(code) {
        return super::linecheck::now(view, "").open.into_iter().filter(|open| open.code == code).map(|open| open.says).collect();
    }
    view.good.report.findings.iter().filter(|finding| finding.code == code).map(|finding| finding.says.clone()).collect()
}
