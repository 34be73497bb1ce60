//! Who, when, and what is wrong with the log.

use super::super::part::Part;
use crate::store::View;
use loomwright_crewlog::Entry;
use maud::{Markup, html};

/// Who said it and when; the script shows the time of the phone's own zone.
pub fn by(entry: &Entry) -> Markup {
    html! { (name(entry)) ", " (clock(entry.when())) @if entry.made.is_some() { " (sent later)" } }
}

/// What somebody calls themselves.
pub fn name(entry: &Entry) -> String {
    match (entry.who.as_str(), entry.hand.as_str()) {
        ("", "") => "somebody at the engineer\u{2019}s desk".to_owned(),
        ("", hand) => format!("phone {hand}"),
        (who, _) => who.to_owned(),
    }
}

/// A moment of the log, short.
pub fn clock(time: &str) -> Markup {
    let short = time.get(11..16).unwrap_or(time);
    html! { time datetime=(time) data-clock { (short) " UTC" } }
}

/// A moment of the log with its day.
pub fn day(time: &str) -> Markup {
    let (day, short) = (time.get(..10).unwrap_or(time), time.get(11..16).unwrap_or(""));
    html! { time datetime=(time) data-day { (day) " " (short) " UTC" } }
}

/// A digest, short enough to be compared by eye.
pub fn digest(sha256: &str) -> Markup {
    html! { code title=(sha256) { (sha256.get(..12).unwrap_or(sha256)) } }
}

/// What is wrong with the log or the folder of evidence; empty if nothing is.
pub fn trouble(view: &View) -> Part {
    let (crew, seen) = (&view.crew, &view.seen);
    let is_well = crew.trouble.is_none() && crew.unreadable.is_empty() && seen.trouble.is_none();
    Part::new(
        "crew-trouble",
        html! {
            div #crew-trouble { @if !is_well { div.trouble {
                @if let Some(why) = &crew.trouble { h2 { "The crew\u{2019}s log cannot be read" } p { code { (crew.file) } ": " (why) ". What is ticked now is refused and waits on the phones." } }
                @if let Some(why) = &seen.trouble { h2 { "The evidence cannot be read" } p { code { (seen.folder) } ": " (why) "." } }
                @for line in crew.unreadable.iter() { p { code { (crew.file) } ", line " (line.line) ", " (line.says) ". It stays in the file; every other line counts." } }
            } } }
        },
    )
}
