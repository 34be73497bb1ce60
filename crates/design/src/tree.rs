//! Puts querier and spanning-tree root at the core, and keeps chains from becoming the main way.

use crate::demand::Group;
use crate::draft::Draft;
use crate::racks::Rack;
use crate::switches::Placed;
use loomwright_model::{GearKind, Id, Item, Pairing, SpanningTree};
use std::collections::{BTreeMap, BTreeSet};

/// Bridge priority of the root and of the one that takes over: the lowest steps above 0 that IEEE 802.1D allows.
const ROOT: u16 = 4_096;
const NEXT_ROOT: u16 = 8_192;

/// Path cost of a switch port that a chain of devices hangs on, where the chain joins two switches: a hundred times
/// that of a gigabit link (20 000, IEEE 802.1D-2004 table 17-3), so that the trunk stays the main way.
const CHAIN_COST: u32 = 2_000_000;

/// Names queriers and sets bridge priorities.
pub(crate) fn decide(draft: &mut Draft, groups: &[Group], placed: &Placed) {
    for (index, group) in groups.iter().enumerate() {
        let at_core = |rack: &&Rack| Some(rack.place) == placed.cores[index];
        let in_group: Vec<&Rack> = placed.racks.iter().filter(|rack| rack.switches[index].is_some()).collect();
        let core = in_group.iter().copied().find(at_core).or(in_group.first().copied());
        let Some(root) = core.and_then(|rack| rack.switches[index].clone()) else { continue };
        set_queriers(draft, group, &root);
        let mut best: Vec<(std::cmp::Reverse<usize>, Id)> = in_group
            .iter()
            .filter_map(|rack| rack.switches[index].clone())
            .filter(|id| *id != root)
            .map(|id| (std::cmp::Reverse(trunks(draft, &id)), id))
            .collect();
        best.sort();
        set_priority(draft, &root, ROOT);
        if let Some((_, next)) = best.first() {
            let next = next.clone();
            set_priority(draft, &next, NEXT_ROOT);
        }
    }
    raise_chain_ends(draft);
}

/// How many cables join a switch to other switches.
fn trunks(draft: &Draft, id: &Id) -> usize {
    let switches = &draft.done.wiring.switches;
    let is_trunk = |ends: &[loomwright_model::PortRef; 2]| {
        ends.iter().all(|end| switches.contains_key(&end.item)) && ends.iter().any(|end| end.item == *id)
    };
    draft.done.wiring.cables.values().filter(|cable| is_trunk(&cable.ends)).count()
}

fn set_queriers(draft: &mut Draft, group: &Group, root: &Id) {
    let carried = draft.done.wiring.switches.get(root).map_or(Vec::new(), |switch| switch.networks.clone());
    for network in group.networks.iter().filter(|network| carried.contains(network)) {
        let asks = |id: &Id| draft.done.wiring.gear_at(draft.plan, id).is_some_and(|gear| gear.querier);
        let others = draft.done.wiring.switches.iter().filter(|(_, switch)| switch.networks.contains(network)).map(|(id, _)| id);
        let Some(querier) = std::iter::once(root).chain(others).find(|id| asks(id)).cloned() else {
            let says =
                format!("No switch on network {network} can ask who wants which stream: streams stop or flood minutes after the start.");
            let remedy = "Use a switch type with a querier.".to_owned();
            draft.warn("design/no-querier", vec![Item::Network(network.clone())], [says, remedy]);
            continue;
        };
        let because = if querier == *root { "it is the core: streams then go towards the middle only" } else { "the core cannot" };
        draft.decide(Item::Network(network.clone()), format!("{querier} is the querier of network {network}."), because);
        draft.done.wiring.querier.insert(network.clone(), querier);
    }
}

fn set_priority(draft: &mut Draft, id: &Id, priority: u16) {
    let runs = draft.done.wiring.gear_at(draft.plan, id).is_some_and(|gear| gear.spanning_tree != SpanningTree::None);
    if let Some(switch) = draft.done.wiring.switches.get_mut(id).filter(|switch| runs && !switch.hold) {
        switch.bridge_priority = Some(priority);
    }
}

/// Raises the cost of switch ports whose chain of devices ends on another switch port: a chain of devices that run no
/// spanning tree counts as one hop, and port numbers would then decide against the trunk.
fn raise_chain_ends(draft: &mut Draft) {
    let mut ends: BTreeMap<Id, BTreeSet<(Id, u32)>> = BTreeMap::new();
    let chained = |id: &Id| {
        let device = draft.plan.devices.get(id)?;
        let gear = draft.plan.gear_of(device).filter(|gear| gear.kind == GearKind::Endpoint)?;
        (draft.done.wiring.pairing_of(id, device, gear) == Some(Pairing::Chained)).then_some(())
    };
    let mut part: BTreeMap<&Id, &Id> = BTreeMap::new();
    let cables = || draft.done.wiring.cables.values();
    for cable in cables() {
        let [one, other] = cable.ends.each_ref().map(|end| &end.item);
        if chained(one).is_some() && chained(other).is_some() {
            let (from, to) = (root_of(&part, one), root_of(&part, other));
            if from != to {
                part.insert(from, to);
            }
        }
    }
    for cable in cables() {
        for (switch, device) in [(&cable.ends[0], &cable.ends[1]), (&cable.ends[1], &cable.ends[0])] {
            if let (true, Some(()), Some(number)) =
                (draft.done.wiring.switches.contains_key(&switch.item), chained(&device.item), switch.number())
            {
                ends.entry(root_of(&part, &device.item).clone()).or_default().insert((switch.item.clone(), number));
            }
        }
    }
    let raised: Vec<(Id, u32)> = ends.into_values().filter(|ports| ports.len() > 1).flatten().collect();
    for (switch, port) in raised {
        if let Some(switch) = draft.done.wiring.switches.get_mut(&switch).filter(|switch| !switch.hold) {
            switch.path_cost.insert(port, CHAIN_COST);
        }
    }
}

fn root_of<'i>(part: &BTreeMap<&'i Id, &'i Id>, mut id: &'i Id) -> &'i Id {
    while let Some(above) = part.get(id) {
        id = above;
    }
    id
}
