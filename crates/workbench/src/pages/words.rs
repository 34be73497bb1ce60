//! Why an edit was refused, in words.

use super::part::{Page, Part};
use super::shell::{self, Look};
use super::trouble::side_by_side;
use crate::store::{Refusal, View};
use axum::http::HeaderMap;
use maud::{Markup, html};

/// In one plain line, beside the cell.
pub fn plain(refusal: &Refusal) -> String {
    match refusal {
        Refusal::Wrong(text) | Refusal::Unkept(text) => text.clone(),
        Refusal::Conflict { what, mine, theirs } => {
            format!(
                "Not changed: somebody else changed {what} to \u{201c}{theirs}\u{201d} meanwhile. You wrote \u{201c}{mine}\u{201d}. Reload to see theirs, then decide."
            )
        }
    }
}

/// As a page of its own, for browsers without script.
pub fn document(refusal: &Refusal, back: &str, view: &View, headers: &HeaderMap) -> Markup {
    let text = html! {
        section #refusal {
            @match refusal {
                Refusal::Wrong(text) | Refusal::Unkept(text) => { h1 { "Not changed" } p { (text) } }
                Refusal::Conflict { what, mine, theirs } => {
                    h1 { "Two people changed " (what) }
                    p { "Nothing was overwritten. Here is what you wrote and what stands there now." }
                    (side_by_side(mine, theirs))
                }
            }
            p.ways { a.button href=(back) { "Back to the page as it is now" } }
        }
    };
    let page = Page { follows: false, ..shell::page("Not changed".to_owned(), "", vec![Part::new("refusal", text)], view) };
    shell::document(&page, &Look::of(headers), back).1
}
