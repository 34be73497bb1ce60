//! The two files as text, to read and to repair.

use super::Query;
use super::part::Part;
use super::tabs::tabs;
use super::trouble::shown;
use crate::store::View;
use maud::html;

const PAGES: [(&str, &str); 2] = [("/file", "Plan file"), ("/file?which=wiring", "Wiring file")];

/// The page.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let is_wiring = query.get("which") == Some("wiring");
    let here = PAGES[usize::from(is_wiring)].0;
    vec![tabs("Files", &PAGES, here), text(is_wiring, view)]
}

fn text(is_wiring: bool, view: &View) -> Part {
    let (name, text) = match is_wiring {
        true => (&view.wiring_file, view.now.texts.wiring.as_deref().unwrap_or("")),
        false => (&view.file, view.now.texts.plan.as_str()),
    };
    let problems = view.now.problems.iter().filter(|problem| problem.line.at.as_ref().is_some_and(|at| at.file == *name));
    Part::new(
        "text",
        html! {
            section #text {
                p.lead { code { (name) } " as it is now. Save writes the whole text; if somebody else changed it meanwhile, both versions are shown and nothing is overwritten." }
                @for problem in problems { (shown(problem)) }
                form method="post" action="/file/text" {
                    input type="hidden" name="based" value=(view.now.digest);
                    input type="hidden" name="which" value=(if is_wiring { "wiring" } else { "plan" });
                    input type="hidden" name="back" value=(if is_wiring { "/file?which=wiring" } else { "/file" });
                    label.unseen for="file-text" { "Text of " (name) }
                    textarea #file-text.whole name="text" spellcheck="false" wrap="off" { "\n" (text) }
                    p.ways { button type="submit" { "Save" } a href=(if is_wiring { "/file/copy-wiring" } else { "/file/copy" }) download { "Download" } }
                }
            }
        },
    )
}
