//! Gives a redesigned wiring the names, lengths and marks that it had: a cable that moves one end is the same cable.

use crate::Designed;
use crate::draft::made_name;
use indexmap::IndexMap;
use loomwright_model::wiring::Setting;
use loomwright_model::{Cable, Id, Plan, PortRef, Wiring};
use std::collections::BTreeSet;

/// `designed` with holds as in `before`, cables under their old names, and queriers that stay where they can.
pub(super) fn restored(plan: &Plan, before: &Wiring, mut designed: Designed) -> Designed {
    let wiring = &mut designed.wiring;
    rename(before, wiring);
    for (id, cable) in &mut wiring.cables {
        cable.hold = before.cables.get(id).is_some_and(|old| old.hold);
    }
    for (id, switch) in &mut wiring.switches {
        switch.hold = before.switches.get(id).is_some_and(|old| old.hold);
    }
    for (id, setting) in &mut wiring.settings {
        setting.hold = before.settings.get(id).is_some_and(|old| old.hold);
    }
    for (port, interface) in &mut wiring.interfaces {
        interface.hold = before.interfaces.get(port).is_some_and(|old| old.hold);
    }
    restore_clock(plan, before, wiring);
    for (network, querier) in &before.querier {
        let asks = wiring.gear_at(plan, querier).is_some_and(|gear| gear.querier);
        let carries = wiring.switches.get(querier).is_some_and(|switch| switch.networks.contains(network));
        if asks && carries {
            wiring.querier.insert(network.clone(), querier.clone());
        }
    }
    designed
}

/// Leader and backup stay while both are in the plan and have an address: a change of clock is heard everywhere.
fn restore_clock(plan: &Plan, before: &Wiring, wiring: &mut Wiring) {
    let stays = |id: &Option<Id>| {
        let there = |id: &Id| plan.devices.contains_key(id) && wiring.interfaces.keys().any(|port| port.item == *id);
        id.as_ref().is_none_or(there)
    };
    if before.clock.leader.is_none() || !stays(&before.clock.leader) || !stays(&before.clock.backup) {
        return;
    }
    wiring.clock.clone_from(&before.clock);
    for (id, setting) in &mut wiring.settings {
        setting.clock_priority = before.settings.get(id).and_then(|old| old.clock_priority);
    }
    wiring.settings.retain(|id, setting| before.settings.contains_key(id) || *setting != Setting::default());
}

/// Cables that are where they were keep their name; of the others, one that shares an end with an old cable of its kind
/// and is no longer than it, is that cable moved over.
fn rename(before: &Wiring, wiring: &mut Wiring) {
    let mut old: Vec<(&Id, &Cable)> = before.cables.iter().collect();
    let mut named: Vec<(Id, Cable)> = Vec::new();
    let mut open: Vec<(Id, Cable)> = Vec::new();
    for (id, cable) in std::mem::take(&mut wiring.cables) {
        match old.iter().position(|(_, was)| same_ports(was, &cable)) {
            Some(at) => {
                let (id, was) = old.swap_remove(at);
                let length = if was.length >= cable.length || was.routes == cable.routes { was.length } else { cable.length };
                named.push((id.clone(), Cable { length, ends: was.ends.clone(), ..cable }));
            }
            None => open.push((id, cable)),
        }
    }
    old.sort_by(|one, other| one.0.cmp(other.0));
    // First those that keep the end at their device, then those that only keep the end at a switch.
    let at_device = |end: &PortRef| !wiring.switches.contains_key(&end.item);
    for counts in [&at_device as &dyn Fn(&PortRef) -> bool, &|_: &PortRef| true] {
        open = reused(open, (&mut old, &mut named), counts);
    }
    let new = open;
    let mut cables: IndexMap<Id, Cable> = named.into_iter().collect();
    // A name that an old cable had is not given to another: its label may still be on the reel.
    let mut taken: BTreeSet<Id> = before.cables.keys().cloned().collect();
    for (id, cable) in new {
        let id = unused(id, &taken);
        taken.insert(id.clone());
        cables.insert(id, cable);
    }
    cables.sort_keys();
    wiring.cables = cables;
}

/// Cables that are there and not yet taken up again.
type Standing<'a> = Vec<(&'a Id, &'a Cable)>;

/// Names the cables of `open` that are an old cable with one end moved, where `counts` says which ends may be shared; the
/// rest is given back.
fn reused(
    open: Vec<(Id, Cable)>,
    (old, named): (&mut Standing, &mut Vec<(Id, Cable)>),
    counts: &dyn Fn(&PortRef) -> bool,
) -> Vec<(Id, Cable)> {
    let mut rest = Vec::new();
    for (id, cable) in open {
        let alike = |was: &Cable| was.medium == cable.medium && was.networks == cable.networks && was.length >= cable.length;
        let shares = |was: &Cable| was.ends.iter().any(|end| counts(end) && cable.ends.contains(end));
        match old.iter().position(|(_, was)| !was.hold && alike(was) && shares(was)) {
            Some(at) => {
                let (id, was) = old.remove(at);
                named.push((id.clone(), Cable { length: was.length, ..cable }));
            }
            None => rest.push((id, cable)),
        }
    }
    rest
}

fn same_ports(one: &Cable, other: &Cable) -> bool {
    let [from, to] = &one.ends;
    other.ends == one.ends || other.ends == [to.clone(), from.clone()]
}

/// The name itself, or the next number after it that is free.
fn unused(id: Id, taken: &BTreeSet<Id>) -> Id {
    let Some((letter, number)) =
        id.as_str().rsplit_once('-').and_then(|(letter, number)| Some((letter.to_owned(), number.parse::<u32>().ok()?)))
    else {
        return id;
    };
    (number..).map(|number| made_name(&format!("{letter}-{number:03}"))).find(|id| !taken.contains(id)).unwrap_or(id)
}
