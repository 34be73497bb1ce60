//! What the pages say when file and memory differ, or when the file has errors.

use super::part::Part;
use crate::engine::Problem;
use crate::store::{Trouble, View};
use maud::{Markup, html};
use std::collections::BTreeSet;

/// The strip at the top of every page; empty while all is well.
pub fn banner(view: &View) -> Part {
    let text = view.trouble.as_ref().map(|trouble| about(trouble, view));
    let errors = (view.now.plan.is_none()).then(|| file_errors(view));
    Part::new(
        "banner",
        html! { div #banner role="status" { @if let Some(text) = text { (text) } @if let Some(errors) = errors { (errors) } } },
    )
}

fn about(trouble: &Trouble, view: &View) -> Markup {
    match trouble {
        Trouble::Unsaved(reason) => html! {
            section.trouble {
                h2 { "Not saved: " (reason) }
                p { "Your edits are kept here and shown on these pages, but " code { (view.file) } " still holds the version before them. Do not close this program before they are saved or downloaded." }
                (ways_out("Try to save again"))
            }
        },
        Trouble::Gone => html! {
            section.trouble {
                h2 { "The plan file is gone" }
                p { code { (view.file) } " was removed or renamed while it was open. These pages show the copy in memory. Nothing is written until you say so." }
                (ways_out("Write the file again"))
            }
        },
        Trouble::Unreadable(reason) => html! {
            section.trouble {
                h2 { "The plan file cannot be read: " (reason) }
                p { "These pages show the copy in memory. Make " code { (view.file) } " readable again, or download the copy." }
                (ways_out("Write the copy over it"))
            }
        },
        Trouble::Diverged(theirs) => html! {
            section.trouble {
                h2 { "Two versions of the plan" }
                p { "Somebody else wrote " code { (view.file) } " while your edits could not be saved. Both are kept; choose one. The other stays within reach of Undo." }
                (side_by_side(&view.now.texts.plan, &theirs.plan))
                div.ways { (post("/file/write", "Keep mine")) (post("/file/take", "Take the one on disk")) a href="/file/copy" download { "Download mine" } }
            }
        },
    }
}

fn ways_out(write: &str) -> Markup {
    html! { div.ways { (post("/file/write", write)) a href="/file/copy" download { "Download a copy of the plan" } a href="/file/copy-wiring" download { "and of the wiring" } } }
}

fn post(action: &str, word: &str) -> Markup {
    html! { form method="post" action=(action) data-live { input type="hidden" name="back" value="/" data-here; button type="submit" { (word) } } }
}

/// Two texts beside each other, with the lines that differ marked.
pub fn side_by_side(mine: &str, theirs: &str) -> Markup {
    let column = |title: &str, text: &str, other: &str| {
        let known: BTreeSet<&str> = other.lines().collect();
        html! {
            div { h3 { (title) } pre.text tabindex="0" { @for line in text.lines() { @if known.contains(line) { (line) "\n" } @else { mark { (line) } "\n" } } } }
        }
    };
    html! { div.versions { (column("Yours", mine, theirs)) (column("Theirs", theirs, mine)) } }
}

fn file_errors(view: &View) -> Markup {
    html! {
        section.trouble {
            h2 { "The plan has " (super::figures::count(view.now.problems.len(), "error", "errors")) " and cannot be proved" }
            @if view.good.plan.is_some() { p { "Until it is repaired these pages show the last version that could be read. Edits wait until then." } }
            @for problem in view.now.problems.iter().take(FIRST) { (shown(problem)) }
            @if view.now.problems.len() > FIRST { details.more { summary { "and " (view.now.problems.len() - FIRST) " more" } @for problem in view.now.problems.iter().skip(FIRST) { (shown(problem)) } } }
            div.ways { a.button href="/file" { "Repair the text here" } }
        }
    }
}

/// How many errors stand open; the rest folds away, since the first ones often cause them. Own choice.
const FIRST: usize = 3;

/// One error of a file with its place.
pub fn shown(problem: &Problem) -> Markup {
    html! {
        div.problem {
            p { strong { (problem.line.says) } @if let Some(at) = &problem.line.at { " " span.at { (at.file) ", line " (at.line) ", column " (at.column) } } }
            pre.text tabindex="0" { (problem.snippet) }
            p.do { (problem.line.remedy) }
        }
    }
}
