//! Documents for the crew: preview and download.

use super::part::Part;
use super::tabs::tabs;
use crate::engine::{Document, documents};
use crate::store::View;
use maud::{Markup, html};

/// The page.
pub fn parts(view: &View) -> Vec<Part> {
    let all = documents(&view.good);
    let of = |pick: &dyn Fn(&str) -> bool| all.iter().filter(|document| pick(document.kind)).collect::<Vec<_>>();
    let is_drawing = |kind: &str| kind.starts_with("image/");
    let is_plain = |kind: &str| kind.starts_with("text/");
    let list = html! {
        section #sheets {
            p.lead { "Made anew from the plan as it is now. Each carries revision and digest, so that paper and plan can be told to belong together." }
            @if all.is_empty() { p.calm { "There is nothing to print before something is wired. " a href="/design" { "Design the wiring" } "." } }
            @else {
                ul.cards.main-cards { @for document in of(&|kind| !is_drawing(kind) && !is_plain(kind)) { (card(document)) } }
                h2 { "Drawings" }
                ul.cards.pictures { @for document in of(&is_drawing) { (card(document)) } }
                h2 { "Tables as CSV" }
                ul.plain-files { @for document in of(&is_plain) { li { a href={ "/sheets/" (document.file) } download { (document.title) } " " a.kind href={ "/sheets/" (document.file) "?look=1" } target="_blank" { "look" span.unseen { " at " (document.title) } } } } }
            }
        }
    };
    vec![tabs("Sheets", &[], ""), Part::new("sheets", list)]
}

fn card(document: &Document) -> Markup {
    let address = format!("/sheets/{}", document.file);
    let look = format!("{address}?look=1");
    html! {
        li {
            @if document.kind.starts_with("image/") { a.thumb href=(look) target="_blank" { img src=(look) alt={ "Preview of " (document.title) } loading="lazy"; } }
            p.kind-of { (document.file.rsplit('.').next().unwrap_or("").to_uppercase()) }
            h3 { (document.title) }
            p { (document.says) }
            div.ways {
                a.button href=(address) download { "Download" span.unseen { " " (document.title) } }
                @if !document.kind.contains("spreadsheet") { a href=(look) target="_blank" { "Look" span.unseen { " at " (document.title) } } }
            }
        }
    }
}
