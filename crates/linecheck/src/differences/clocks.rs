//! The clock: two domains, two leaders at a time, the wrong leader.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::Moment;
use loomwright_evidence::facts::{ClockIdentity, ClockSender};
use loomwright_model::{Id, Item};
use std::collections::{BTreeMap, BTreeSet};

/// Announce intervals that two clocks may lead together while they find each other. **Source**: receipt timeout of 3 intervals
/// (IEEE 1588-2008, from memory) and one more.
const INTERVALS: u64 = 4;

/// Everything about who leads.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let leaders = leaders(names);
    let mut found: Vec<Difference> = domains(names, &leaders).into_iter().collect();
    found.extend(two_leaders(names));
    found.extend(wrong_leader(names, &leaders));
    found
}

/// Leaders by domain, with where they were seen: what announcers say to the end, and whom others follow.
fn leaders(names: &Names<'_>) -> BTreeMap<u8, BTreeMap<ClockIdentity, Vec<Sighting>>> {
    let mut all: BTreeMap<u8, BTreeMap<ClockIdentity, Vec<Sighting>>> = BTreeMap::new();
    for row in names.evidence.clocks.iter().filter(|row| is_lasting(names, row)) {
        if let Some(announce) = row.announce {
            let says = format!("announces leader {} in domain {}", called(names, announce.leader), row.domain);
            let sighting = Sighting::new(names.evidence, &row.seen, format!("{} {says}", called(names, row.identity)));
            all.entry(row.domain).or_default().entry(announce.leader).or_default().push(sighting);
        }
    }
    // A good clock that lost names itself without being followed; only what others follow counts.
    for row in names.evidence.clock_states.iter().filter(|row| row.leader.is_some_and(|leader| leader != row.identity)) {
        if let (Some(leader), Some(domain)) = (row.leader, row.domain) {
            let says = format!("{} follows {} in domain {domain}", called(names, row.identity), called(names, leader));
            let sighting = Sighting::new(names.evidence, &row.seen, says);
            all.entry(domain).or_default().entry(leader).or_default().push(sighting);
        }
    }
    all
}

/// Whether a clock still announced shortly before its capture ended.
fn is_lasting(names: &Names<'_>, row: &ClockSender) -> bool {
    let end = names.evidence.source_of(&row.seen).and_then(|source| source.capture.as_ref()?.time).map(|(_, end)| end);
    row.announced.zip(end).is_some_and(|((_, last), end)| end.since(last) <= patience(row))
}

fn patience(row: &ClockSender) -> u64 {
    let exponent = u32::from(row.announce_interval.unwrap_or(1).clamp(0, 6).unsigned_abs());
    INTERVALS * (1_000_000_000 << exponent)
}

fn called(names: &Names<'_>, identity: ClockIdentity) -> String {
    names.by_clock(identity).map_or_else(|| identity.to_string(), ToString::to_string)
}

fn device(names: &Names<'_>, identity: ClockIdentity) -> Option<Item> {
    names.by_clock(identity).map(|id| Item::Device(id.clone()))
}

fn domains(names: &Names<'_>, leaders: &BTreeMap<u8, BTreeMap<ClockIdentity, Vec<Sighting>>>) -> Option<Difference> {
    if leaders.len() < 2 {
        return None;
    }
    let listed = leaders.iter().map(|(domain, all)| {
        let all: Vec<String> = all.keys().map(|one| called(names, *one)).collect();
        format!("domain {domain} by {}", all.join(" and "))
    });
    let says = format!("{} clock domains are led at once: {}", leaders.len(), listed.collect::<Vec<_>>().join(", "));
    let expected = names.wiring.clock.leader.as_ref();
    let items: BTreeSet<Item> = leaders.values().flat_map(BTreeMap::keys).filter_map(|one| device(names, *one)).collect();
    let planned = expected.map_or_else(|| "one domain".to_owned(), |id| format!("one domain, led by {id}"));
    let what = Difference::new("seen/two-domains", Certainty::Certain, items.into_iter().collect(), says)
        .told(planned, "Set every clock to the same domain; audio between domains slips and clicks.")
        .seen(leaders.values().flat_map(BTreeMap::values).flatten().cloned())
        .loud();
    Some(what)
}

fn two_leaders(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<(u8, ClockIdentity, ClockIdentity), Difference> = BTreeMap::new();
    let rows: Vec<&ClockSender> = names.evidence.clocks.iter().filter(|row| row.announce.is_some()).collect();
    for (n, one) in rows.iter().enumerate() {
        for other in rows.iter().skip(n + 1).filter(|other| are_rivals(names, one, other)) {
            let Some(overlap) = overlap(one, other).filter(|overlap| *overlap > patience(one).max(patience(other))) else { continue };
            let key = (one.domain, one.identity.min(other.identity), one.identity.max(other.identity));
            let sightings = [one, other].map(|row| {
                Sighting::new(
                    names.evidence,
                    &row.seen,
                    format!("{} announces, {} times", called(names, row.identity), row.messages.announce),
                )
            });
            let new = || rivals(names, key, overlap);
            let told = found.remove(&key).unwrap_or_else(new).seen(sightings);
            found.insert(key, told);
        }
    }
    found.into_values().collect()
}

/// Two that name different leaders at one place; a boundary clock names its leader's.
fn are_rivals(names: &Names<'_>, one: &ClockSender, other: &ClockSender) -> bool {
    let leader = |row: &ClockSender| row.announce.map(|announce| announce.leader);
    let is_same_place = one.seen.source == other.seen.source && names.networks_at(&one.seen).len() < 2 && one.vlan == other.vlan;
    is_same_place && one.domain == other.domain && one.identity != other.identity && leader(one) != leader(other)
}

fn overlap(one: &ClockSender, other: &ClockSender) -> Option<u64> {
    let ((a, b), (c, d)): ((Moment, Moment), (Moment, Moment)) = one.announced.zip(other.announced)?;
    Some(b.min(d).since(a.max(c)))
}

fn rivals(names: &Names<'_>, (domain, one, other): (u8, ClockIdentity, ClockIdentity), overlap: u64) -> Difference {
    let [one_name, other_name] = [one, other].map(|clock| called(names, clock));
    let items = [one, other].into_iter().filter_map(|clock| device(names, clock)).collect();
    let seconds = overlap / 1_000_000_000;
    let says = format!("Two clocks lead domain {domain} at once for {seconds} s: {one_name} and {other_name}");
    let planned = names.wiring.clock.leader.as_ref().map_or_else(|| "one leader".to_owned(), |id| format!("{id} alone leads"));
    Difference::new("seen/two-leaders", Certainty::Certain, items, says)
        .told(planned, "Find the one that should not lead: it is set to lead always, or it does not hear the other.")
        .loud()
}

fn wrong_leader(names: &Names<'_>, leaders: &BTreeMap<u8, BTreeMap<ClockIdentity, Vec<Sighting>>>) -> Vec<Difference> {
    let Some(planned) = &names.wiring.clock.leader else { return Vec::new() };
    // Each domain has a leader of its own; two domains are told as such.
    let is_led = |all: &BTreeMap<ClockIdentity, Vec<Sighting>>| all.keys().any(|one| names.by_clock(*one) == Some(planned));
    if leaders.values().any(is_led) {
        return Vec::new();
    }
    let all = leaders.iter().flat_map(|(domain, all)| all.iter().map(move |(one, seen)| (*domain, *one, seen)));
    all.map(|(domain, one, seen)| replaced(names, (planned, domain, one), seen)).collect()
}

fn replaced(names: &Names<'_>, (planned, domain, one): (&Id, u8, ClockIdentity), seen: &[Sighting]) -> Difference {
    let known = names.by_clock(one);
    let is_backup = known.is_some() && known == names.wiring.clock.backup.as_ref();
    let certainty = if known.is_some() { Certainty::Certain } else { Certainty::Hint };
    let backup = if is_backup { ", the planned backup" } else { "" };
    let mut items: Vec<Item> = device(names, one).into_iter().collect();
    items.push(Item::Device(planned.clone()));
    let says = format!("{}{backup} leads the clock in domain {domain}", called(names, one));
    Difference::new("seen/wrong-leader", certainty, items, says)
        .told(format!("{planned} leads"), format!("See that {planned} is there, and set the priorities as planned."))
        .seen(seen.iter().cloned())
}
