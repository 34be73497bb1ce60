//! Chains inside a place: of the devices that stand together, one is plugged into the switch and the others follow it.
//!
//! Only devices that are set chained, take no power from the switch and have gigabit copper ports: a chain at 100 Mb/s
//! delays every packet by more than the usual limit. A device with one port can close a chain.

use crate::chain::LONGEST;
use crate::demand::Jack;
use crate::draft::{Draft, listed};
use crate::form::Form;
use crate::trunks::{GIGABIT, Run};
use loomwright_model::{Id, Item, Medium, Pairing, PortRef};
use loomwright_physical::ways::Way;
use std::collections::{BTreeMap, BTreeSet};

/// The jacks that still want a switch port, and the cables of the chains. Leaves all as it is in any other form.
pub(crate) fn decide(draft: &mut Draft, jacks: Vec<Jack>) -> (Vec<Jack>, Vec<Run>) {
    let mut runs = Vec::new();
    if draft.form != Form::ChainsInPlaces {
        return (jacks, runs);
    }
    let mut followers: BTreeSet<(usize, Id)> = BTreeSet::new();
    for (links, mut tails) in groups(draft, &jacks) {
        for chain in links.chunks(LONGEST) {
            let mut chain = chain.to_vec();
            if chain.len() < LONGEST {
                chain.extend(tails.pop());
            }
            if chain.len() < 2 {
                continue;
            }
            let names: Vec<&Id> = chain.iter().map(|jack| draft.device(jack.device)).collect();
            let says = format!("Chained behind one switch port: {}.", listed(&names, LONGEST));
            draft.decide(Item::Place(draft.place(chain[0].place).clone()), says, "they stand in one place and pass the network on");
            followers.extend(chain[1..].iter().map(|jack| (jack.device, jack.port.clone())));
            runs.extend(chain.windows(2).filter_map(|pair| join(draft, pair[0], pair[1])));
        }
    }
    let left = jacks.iter().filter(|jack| !followers.contains(&(jack.device, jack.port.clone()))).cloned().collect();
    (left, runs)
}

/// Jacks that can pass the network on, and jacks that can only end a chain.
type Links<'j> = (Vec<&'j Jack>, Vec<&'j Jack>);

/// Jacks that can pass the network on, and jacks that can only end a chain, by place and network, in device order.
fn groups<'j>(draft: &Draft, jacks: &'j [Jack]) -> Vec<Links<'j>> {
    let mut groups: BTreeMap<(usize, &Id), Links> = BTreeMap::new();
    for jack in jacks.iter().filter(|jack| !jack.control && jack.poe.is_none() && jack.medium == Medium::Copper && jack.speed >= GIGABIT) {
        let (links, tails) = groups.entry((jack.place, &jack.network)).or_default();
        match onward(draft, jack) {
            Some(_) => links.push(jack),
            None if is_single(draft, jack) => tails.push(jack),
            None => {}
        }
    }
    groups.into_values().map(|(links, tails)| (links, tails.into_iter().rev().collect())).collect()
}

/// The port by which a chained device passes the network on.
fn onward(draft: &Draft, jack: &Jack) -> Option<Id> {
    let (id, device) = draft.plan.devices.get_index(jack.device)?;
    let gear = draft.plan.gear_of(device).filter(|gear| !gear.is_switching())?;
    let second = gear.audio_ports.get(1).filter(|port| port.medium == Medium::Copper && port.speed >= GIGABIT)?;
    let chained = draft.done.wiring.pairing_of(id, device, gear) == Some(Pairing::Chained);
    (chained && gear.audio_ports[0].name == jack.port).then(|| second.name.clone())
}

fn is_single(draft: &Draft, jack: &Jack) -> bool {
    let gear = draft.plan.devices.get_index(jack.device).and_then(|(_, device)| draft.plan.gear_of(device));
    gear.is_some_and(|gear| !gear.is_switching() && gear.audio_ports.len() == 1)
}

fn join(draft: &Draft, from: &Jack, to: &Jack) -> Option<Run> {
    let end = |jack: &Jack, port: Id| PortRef::new(draft.device(jack.device).clone(), port);
    Some(Run {
        ends: [end(from, onward(draft, from)?), end(to, to.port.clone())],
        places: [from.place, to.place],
        networks: vec![from.network.clone()],
        group: from.group,
        medium: Medium::Copper,
        way: Way::default(),
        trunk: false,
        second_way: false,
    })
}
