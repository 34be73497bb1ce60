//! Why a shape cannot be built, in one sentence.

use super::Shape;
use crate::demand::{self, Jack};
use crate::draft::{Draft, listed};
use crate::{Designed, lengths, pairing};
use loomwright_model::{Id, Medium, Pairing, Plan, Severity, SpanningTree, Wiring};

/// The first thing that stopped the design of a shape.
pub(super) fn sentence(shape: Shape, designed: &Designed) -> String {
    let stop = designed.findings.iter().find(|finding| finding.severity == Severity::Stop);
    match (stop, shape) {
        (Some(stop), Shape::OneSwitch) => format!("One switch cannot serve everything: {}", stop.says),
        (Some(stop), _) => stop.says.clone(),
        (None, _) => "No wiring of this shape was found.".to_owned(),
    }
}

/// Whether a chain through everything can be built at all. **Errors**: what forbids it.
pub(super) fn chain(plan: &Plan, before: &Wiring, shape: Shape) -> Result<(), String> {
    let mut draft = Draft::new(plan, before);
    if let Some(held) = draft.done.wiring.switches.keys().chain(draft.done.wiring.cables.keys()).next() {
        return Err(format!("{held} is held, and a chain would have to be plugged anew."));
    }
    pairing::decide(&mut draft);
    let groups = demand::groups(plan, true);
    let jacks = demand::jacks(&mut draft, &groups);
    powered(&draft, &jacks)?;
    other_networks(&draft, &jacks)?;
    ends(&draft, &jacks, shape)?;
    ways(&draft, &jacks)
}

fn powered(draft: &Draft, jacks: &[Jack]) -> Result<(), String> {
    let names: Vec<&Id> = jacks.iter().filter(|jack| jack.poe.is_some()).map(|jack| draft.device(jack.device)).collect();
    if names.is_empty() {
        Ok(())
    } else {
        Err(format!("A chain gives no power over Ethernet, and these take theirs from a switch: {}.", listed(&names, 4)))
    }
}

fn other_networks(draft: &Draft, jacks: &[Jack]) -> Result<(), String> {
    let Some(first) = jacks.first() else { return Err("There is nothing to wire.".to_owned()) };
    let main = jacks.iter().find(|jack| !jack.control).unwrap_or(first);
    let names: Vec<String> = jacks
        .iter()
        .filter(|jack| jack.network != main.network)
        .map(|jack| format!("{}/{}", draft.device(jack.device), jack.port))
        .collect();
    if names.is_empty() {
        return Ok(());
    }
    Err(format!("A chain carries one network, {}; these ports belong to another: {}.", main.network, listed(&names, 4)))
}

fn ends(draft: &Draft, jacks: &[Jack], shape: Shape) -> Result<(), String> {
    let gear =
        |jack: &Jack| draft.plan.devices.get_index(jack.device).and_then(|(id, device)| Some((id, device, draft.plan.gear_of(device)?)));
    let passes = |jack: &&Jack| {
        gear(jack).is_some_and(|(id, device, gear)| {
            gear.is_switching() || draft.done.wiring.pairing_of(id, device, gear) == Some(Pairing::Chained)
        })
    };
    let single: Vec<&Id> = jacks.iter().filter(|jack| !passes(jack)).map(|jack| draft.device(jack.device)).collect();
    let most = if shape == Shape::Ring { 0 } else { 2 };
    if single.len() > most {
        let ends = if most == 0 { "A ring has no end" } else { "A chain has two ends" };
        return Err(format!("{ends}, and these devices cannot pass the network on: {}.", listed(&single, 4)));
    }
    if shape != Shape::Ring {
        return Ok(());
    }
    if jacks.len() < 3 {
        return Err("A ring takes three devices at least.".to_owned());
    }
    let dumb: Vec<&Id> = jacks
        .iter()
        .filter(|jack| gear(jack).is_none_or(|(_, _, gear)| gear.spanning_tree == SpanningTree::None))
        .map(|jack| draft.device(jack.device))
        .collect();
    if dumb.is_empty() {
        return Ok(());
    }
    Err(format!(
        "Only devices that run a ring or tree protocol may be closed to a ring, else it is a storm; these run none: {}.",
        listed(&dumb, 4)
    ))
}

fn ways(draft: &Draft, jacks: &[Jack]) -> Result<(), String> {
    let mut places: Vec<usize> = jacks.iter().map(|jack| jack.place).collect();
    places.sort_unstable();
    places.dedup();
    for at in places.iter().copied() {
        let near = |medium| {
            let far = draft.ways.distances(medium, at);
            places.iter().filter(|other| **other != at).filter_map(|other| far[*other]).min()
        };
        let copper = near(Medium::Copper);
        if places.len() > 1 && !copper.is_some_and(|way| lengths::within_reach(draft.plan, Medium::Copper, way)) {
            let away = copper.map_or("no way for copper leads to it".to_owned(), |way| {
                format!("{} of copper to the next place", lengths::cut(draft.plan, Medium::Copper, way).length)
            });
            return Err(format!("A chain is copper from device to device, and {} is out of its reach: {away}.", draft.place(at)));
        }
    }
    Ok(())
}
