//! What was seen otherwise than planned, by place.

use super::{count, wrapped};
use crate::paint::{self, paint};
use loomwright_linecheck::{Certainty, Comparison, Difference};
use loomwright_model::{Id, Plan};
use std::fmt::Write;

/// Sightings of one difference that are shown. Own choice; JSON has all.
const SHOWN: usize = 4;

/// The line check in full.
pub fn comparison(comparison: &Comparison, plan: &Plan) -> String {
    let mut text = wrapped("", &comparison.says);
    let mut place: Option<&Option<Id>> = None;
    for one in &comparison.differences {
        if place != Some(&one.place) {
            let name = one.place.as_ref().map_or("anywhere".to_owned(), |id| named(id, plan));
            let _ = writeln!(text, "\n{}", paint(paint::STRONG, &name));
            place = Some(&one.place);
        }
        text.push_str(&of_difference(one));
    }
    text.push_str(&not_seen(comparison));
    text.push_str(&unread(comparison));
    text
}

fn named(id: &Id, plan: &Plan) -> String {
    plan.places.get(id).map(|place| place.name.clone()).filter(|name| !name.is_empty()).unwrap_or_else(|| id.to_string())
}

fn of_difference(one: &Difference) -> String {
    let sure = match one.certainty {
        Certainty::Certain => "certain",
        Certainty::Likely => "likely",
        Certainty::Hint => "hint",
    };
    let mut text = wrapped(&format!("  {sure:<8}"), &format!("{}. ({})", one.says, one.code));
    text.push_str(&wrapped("          planned: ", &one.planned));
    for sighting in one.seen.iter().take(SHOWN) {
        let time = sighting.time.as_ref().map_or_else(String::new, |time| format!(", at {time} s"));
        text.push_str(&wrapped("          seen: ", &format!("{} ({}{time})", sighting.says, sighting.at)));
    }
    if let Some(more) = one.seen.len().checked_sub(SHOWN).filter(|more| *more > 0) {
        text.push_str(&wrapped("          seen: ", &format!("and {} more", count(more, "sighting", "sightings"))));
    }
    text.push_str(&wrapped("          do: ", &one.remedy));
    if let Some(caution) = one.caution {
        text.push_str(&wrapped("          caution: ", caution));
    }
    text
}

fn not_seen(comparison: &Comparison) -> String {
    if comparison.not_seen.is_empty() {
        return String::new();
    }
    let title = format!("not seen: {}, neither right nor wrong", count(comparison.not_seen.len(), "item", "items"));
    let mut text = format!("\n{}\n", paint(paint::STRONG, &title));
    for one in &comparison.not_seen {
        text.push_str(&wrapped("  ", &format!("{}: {}", one.item, one.says)));
    }
    text
}

fn unread(comparison: &Comparison) -> String {
    if comparison.unread.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{}\n", paint(paint::STRONG, "not read"));
    for one in &comparison.unread {
        let times = if one.times > 1 { format!(" ({} times)", one.times) } else { String::new() };
        text.push_str(&wrapped("  ", &format!("{}: {}{times}", one.at, one.says)));
    }
    text
}
