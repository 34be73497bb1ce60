//! Pages that belong together: their heading and the way between them.

use super::part::Part;
use maud::html;

/// The heading `title` and links to `pages` (address, name), with the one at `here` marked.
pub fn tabs(title: &str, pages: &[(&str, &str)], here: &str) -> Part {
    Part::new(
        "tabs",
        html! {
            div #tabs.heading {
                h1 { (title) }
                nav.tabs aria-label=(title) {
                    @for (address, name) in pages {
                        a href=(address) aria-current=[(*address == here).then_some("page")] { (name) }
                    }
                }
            }
        },
    )
}
