//! Planned against heard, while it is listened.

use super::count;
use loomwright_linecheck::{Certainty, Comparison, Heard, LeaderHeard, QuerierHeard};
use std::fmt::Write;

/// Streams and differences that are listed. Own choice: a small terminal has 24 lines.
const SHOWN: usize = 6;

/// Everything at a glance, over several lines.
pub fn picture(heard: &Heard, comparison: &Comparison) -> String {
    let silent: Vec<_> = heard.streams.iter().filter(|one| one.packets == 0).collect();
    let mut text = format!(
        "{} s, {}, {} of {} boxes\n",
        heard.lasted / 1_000_000_000,
        count(usize::try_from(heard.frames).unwrap_or(usize::MAX), "frame", "frames"),
        heard.boxes.0,
        heard.boxes.1
    );
    let _ = writeln!(text, "streams   {} of {} heard{}", heard.streams.len() - silent.len(), heard.streams.len(), losses(heard));
    if !silent.is_empty() {
        let names: Vec<String> = silent.iter().take(SHOWN).map(|one| format!("{} ({})", one.stream, one.network)).collect();
        let more = silent.len().saturating_sub(SHOWN);
        let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
        let _ = writeln!(text, "          not yet: {}{rest}", names.join(", "));
    }
    if !heard.unplanned.is_empty() {
        let _ = writeln!(text, "          not planned: {}", count(heard.unplanned.len(), "group", "groups"));
    }
    let _ = writeln!(text, "clock     {}", listed(heard.leaders.iter().map(leader), "no leader heard yet"));
    let _ = writeln!(text, "queriers  {}", listed(heard.queriers.iter().map(querier), "none heard yet"));
    let _ = write!(text, "different {}", differences(comparison));
    for one in comparison.differences.iter().filter(|one| one.certainty != Certainty::Hint).take(SHOWN) {
        let _ = write!(text, "\n          {}", one.says);
    }
    text
}

/// The same in one line.
pub fn line(heard: &Heard, comparison: &Comparison) -> String {
    let streams = heard.streams.iter().filter(|one| one.packets > 0).count();
    format!(
        "{} s: {} of {} streams, leader {}, querier {}, {}",
        heard.lasted / 1_000_000_000,
        streams,
        heard.streams.len(),
        listed(heard.leaders.iter().map(leader), "none yet"),
        listed(heard.queriers.iter().map(querier), "none yet"),
        differences(comparison)
    )
}

fn losses(heard: &Heard) -> String {
    let lost = heard.streams.iter().map(|one| one.lost).fold(0, u64::saturating_add);
    if lost > 0 { format!(", {lost} packets lost") } else { String::new() }
}

fn listed(all: impl Iterator<Item = String>, nothing: &str) -> String {
    let all: Vec<String> = all.collect();
    if all.is_empty() { nothing.to_owned() } else { all.join(", ") }
}

fn leader(one: &LeaderHeard) -> String {
    format!("{} in domain {}{}", one.who, one.domain, planned(one.is_planned))
}

fn querier(one: &QuerierHeard) -> String {
    let who = one.who.as_ref().map_or_else(|| one.address.to_string(), ToString::to_string);
    format!("{who}{}", planned(one.is_planned))
}

const fn planned(is_planned: Option<bool>) -> &'static str {
    match is_planned {
        Some(true) => " as planned",
        Some(false) => " (not planned)",
        None => "",
    }
}

fn differences(comparison: &Comparison) -> String {
    let count = |certainty| comparison.differences.iter().filter(|one| one.certainty == certainty).count();
    let [certain, likely, hints] = [Certainty::Certain, Certainty::Likely, Certainty::Hint].map(count);
    format!("{certain} certain, {likely} likely, {hints} to look at")
}
