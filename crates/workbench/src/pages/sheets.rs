//! Documents for the crew: preview and download.

use super::part::Part;
use super::tabs::tabs;
use crate::engine::documents;
use crate::store::View;
use maud::html;

/// The page.
pub fn parts(view: &View) -> Vec<Part> {
    let all = documents(&view.good);
    let list = html! {
        section #sheets {
            p.lead { "Made anew from the plan as it is now. Each carries revision and digest, so that paper and plan can be told to belong together." }
            @if all.is_empty() { p.calm { "There is nothing to print before something is wired. " a href="/design" { "Design the wiring" } "." } }
            ul.cards { @for document in &all { li {
                p.kind-of { (document.file.rsplit('.').next().unwrap_or("").to_uppercase()) }
                h3 { (document.title) }
                p { (document.says) }
                div.ways {
                    a.button href={ "/sheets/" (document.file) } download { "Download" span.unseen { " " (document.title) } }
                    @if matches!(document.kind, "application/pdf" | "image/svg+xml" | "text/csv") { a href={ "/sheets/" (document.file) "?look=1" } target="_blank" { "Look" span.unseen { " at " (document.title) } } }
                }
            } } }
        }
    };
    vec![tabs("Sheets", &[], ""), Part::new("sheets", list)]
}
