//! What a failure does to the delays of everything that still arrives.

use super::figures::{count, item_link, time};
use super::proof::streams::net;
use crate::store::View;
use loomwright_proof::{DelayChange, DelaysAfter};
use maud::{Markup, html};

/// How many later arrivals stand open; all others are folded. Own choice: the side panel holds them without scrolling.
const OPEN: usize = 3;

/// The sentence, and who comes later than before.
pub fn delays(after: &DelaysAfter, view: &View) -> Markup {
    let later: Vec<&DelayChange> = after.changed.iter().filter(|change| change.is_later()).collect();
    let late = after.changed.iter().filter(|change| change.is_too_late_now()).count();
    html! {
        h3 { "Delays" }
        @if after.arriving == 0 { p #delays { "Nothing arrives any more." } }
        @else if after.changed.is_empty() { p #delays { "All that still arrives has the delays that it had." } }
        @else {
            p #delays {
                @if later.is_empty() { "None of " (count(after.arriving, "arrival", "arrivals")) " can come later than before. " }
                @else { (later.len()) " of " (count(after.arriving, "arrival", "arrivals")) " can come later than before. " }
                @if late == 0 { "None is newly over what is allowed." } @else { strong.effect.silent { (late) " may now be too late." } }
            }
            (list(later.iter().take(OPEN).copied(), view))
            @if later.len() > OPEN { details { summary { (later.len() - OPEN) " more" } (list(later.iter().skip(OPEN).copied(), view)) } }
        }
    }
}

fn list<'a>(changes: impl Iterator<Item = &'a DelayChange>, view: &View) -> Markup {
    let words = |delay: Option<u64>| delay.map_or_else(|| "without bound".to_owned(), time);
    html! {
        ul { @for change in changes { li {
            (item_link(&format!("stream:{}", change.stream))) " at " (change.to) " " (net(view, &change.network)) ": "
            strong { (words(change.after_ns)) } ", was " (words(change.before_ns))
            @if change.is_too_late_now() { ", allowed " (time(change.allowed_ns)) }
        } } }
    }
}
