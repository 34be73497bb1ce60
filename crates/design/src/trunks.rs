//! Joins the switches of each group: a tree from the core, and a second way round where one is wanted.

use crate::demand::Group;
use crate::draft::Draft;
use crate::lengths;
use crate::load::Loads;
use crate::racks::Rack;
use crate::switches::Placed;
use crate::ways::Way;
use loomwright_model::{BitRate, Id, Item, Medium, PortRef, SpanningTree};
use std::collections::{BTreeMap, BTreeSet};

/// A cable that has both its ends but no way yet.
#[derive(Debug, Clone)]
pub(crate) struct Run {
    pub ends: [PortRef; 2],
    /// Places of the two ends.
    pub places: [usize; 2],
    pub networks: Vec<Id>,
    pub group: usize,
    pub medium: Medium,
    pub trunk: bool,
    /// A trunk of a ring: lies apart from the other trunks where it can.
    pub second_way: bool,
}

/// The tree of one group while it grows.
struct Tree {
    group: usize,
    /// Depth below the core of each rack that is joined.
    depth: BTreeMap<usize, usize>,
}

/// Decides all trunks and takes their ports.
pub(crate) fn decide(draft: &mut Draft, groups: &[Group], placed: &mut Placed, ring: bool) -> Vec<Run> {
    let mut runs = Vec::new();
    let loads = Loads::new(draft);
    for (index, group) in groups.iter().enumerate() {
        let members: Vec<usize> = (0..placed.racks.len()).filter(|rack| placed.racks[*rack].switches[index].is_some()).collect();
        let core_place = placed.cores[index];
        let root = members.iter().copied().find(|rack| Some(placed.racks[*rack].place) == core_place).or(members.first().copied());
        let Some(root) = root else { continue };
        let mut tree = Tree { group: index, depth: BTreeMap::from([(root, 0)]) };
        join_held(draft, &placed.racks, &mut tree, root);
        for rack in order(draft, &placed.racks, &members, root) {
            if tree.depth.contains_key(&rack) {
                continue;
            }
            let inside = |device: usize| placed.racks[rack].jacks.iter().any(|jack| jack.device == device);
            let load = loads.trunk(group.main(), &inside);
            match join(draft, placed, &tree, rack, load) {
                Some((parent, run)) => {
                    tell(draft, &run, tree.depth[&parent] == 0);
                    runs.push(run);
                    tree.depth.insert(rack, tree.depth[&parent] + 1);
                    join_held(draft, &placed.racks, &mut tree, root);
                }
                None => cannot_join(draft, placed, index, rack, root),
            }
        }
        if ring {
            second_ways(draft, placed, &tree, root, &mut runs);
        }
    }
    runs
}

/// Racks in the order they are joined: first racks of their place, nearest to the core first, then the others.
fn order(draft: &Draft, racks: &[Rack], members: &[usize], root: usize) -> Vec<usize> {
    let far = draft.ways.distances_any(racks[root].place);
    let mut seen = BTreeSet::from([racks[root].place]);
    let mut order: Vec<(bool, u64, usize)> = Vec::new();
    for rack in members.iter().filter(|rack| **rack != root) {
        let place = racks[*rack].place;
        let further = !seen.insert(place);
        order.push((further, far[place].unwrap_or(u64::MAX), *rack));
    }
    order.sort_unstable();
    order.into_iter().map(|(_, _, rack)| rack).collect()
}

/// Racks that held cables already join to the tree count as joined.
fn join_held(draft: &Draft, racks: &[Rack], tree: &mut Tree, root: usize) {
    let at = |switch: &Id| racks.iter().position(|rack| rack.switches[tree.group].as_ref() == Some(switch));
    let pairs: Vec<[usize; 2]> =
        draft.done.wiring.cables.values().filter_map(|cable| Some([at(&cable.ends[0].item)?, at(&cable.ends[1].item)?])).collect();
    let mut grows = true;
    while grows {
        grows = false;
        for [one, other] in pairs.iter().flat_map(|[a, b]| [[*a, *b], [*b, *a]]) {
            if let (Some(depth), false) = (tree.depth.get(&one).copied(), tree.depth.contains_key(&other) || other == root) {
                tree.depth.insert(other, depth + 1);
                grows = true;
            }
        }
    }
}

/// Joins `rack` to the best rack of the tree: one in its own place, else as near to the core as ports allow.
fn join(draft: &Draft, placed: &mut Placed, tree: &Tree, rack: usize, load: BitRate) -> Option<(usize, Run)> {
    let place = placed.racks[rack].place;
    let mut parents: Vec<(bool, usize, u64, usize)> = Vec::new();
    for (parent, depth) in &tree.depth {
        let other = placed.racks[*parent].place;
        if let Some((_, way)) = media(draft, [place, other], true).first() {
            parents.push((other != place, *depth, way.length, *parent));
        }
    }
    parents.sort_unstable();
    let share = draft.plan.targets.link_load;
    // First a trunk that carries the load as planned, then any that carries it at all badly: a finding is better than silence.
    for fast_enough in [true, false] {
        for (_, _, _, parent) in &parents {
            let speed = if fast_enough { load } else { BitRate::ZERO };
            let need = |speed: BitRate| BitRate::from_bits_per_second(speed_that_carries(share.parts_per_million(), speed));
            if let Some(run) = lay(draft, placed, tree.group, [rack, *parent], need(speed)) {
                return Some((*parent, run));
            }
        }
    }
    None
}

/// The least link speed whose planned share carries `load`.
fn speed_that_carries(share: u32, load: BitRate) -> u64 {
    let speed = (u128::from(load.bits_per_second()) * 1_000_000).checked_div(u128::from(share)).unwrap_or(0);
    u64::try_from(speed).unwrap_or(u64::MAX)
}

/// Media that can run between two places, each with its shortest way. Copper first unless the trunk is `fast`.
fn media(draft: &Draft, [from, to]: [usize; 2], copper_first: bool) -> Vec<(Medium, Way)> {
    let order = if copper_first { [Medium::Copper, Medium::Fibre] } else { [Medium::Fibre, Medium::Copper] };
    let way = |medium| {
        let way = draft.ways.shortest(medium, from, to)?;
        lengths::within_reach(draft.plan, medium, way.length).then_some((medium, way))
    };
    order.into_iter().filter_map(way).collect()
}

/// Takes a port at both ends for a trunk of at least `speed`; `None` if there is none.
fn lay(draft: &Draft, placed: &mut Placed, group: usize, [child, parent]: [usize; 2], speed: BitRate) -> Option<Run> {
    let places = [placed.racks[child].place, placed.racks[parent].place];
    let gigabit = BitRate::from_bits_per_second(1_000_000_000);
    for (medium, _) in media(draft, places, speed <= gigabit) {
        let ports = [child, parent].map(|rack| placed.racks[rack].panels[group].as_ref()?.trunk_port(medium, speed.max(gigabit)));
        let slower = [child, parent].map(|rack| placed.racks[rack].panels[group].as_ref()?.trunk_port(medium, speed));
        let [Some(low), Some(high)] = [ports[0].or(slower[0]), ports[1].or(slower[1])] else { continue };
        let mut ends = Vec::new();
        for (rack, port) in [(child, low), (parent, high)] {
            let rack = &mut placed.racks[rack];
            let (Some(panel), Some(switch)) = (rack.panels[group].as_mut(), &rack.switches[group]) else { continue };
            panel.take_trunk(port);
            ends.push(PortRef::new(switch.clone(), panel.port(port).name.clone()));
        }
        let ends: [PortRef; 2] = ends.try_into().ok()?;
        let networks = common_networks(draft, &ends);
        return Some(Run { ends, places, networks, group, medium, trunk: true, second_way: false });
    }
    None
}

fn common_networks(draft: &Draft, ends: &[PortRef; 2]) -> Vec<Id> {
    let switches = &draft.done.wiring.switches;
    let of = |end: &PortRef| switches.get(&end.item).map_or(&[][..], |switch| &switch.networks);
    of(&ends[0]).iter().filter(|network| of(&ends[1]).contains(network)).cloned().collect()
}

fn tell(draft: &mut Draft, run: &Run, to_core: bool) {
    let [from, to] = &run.ends;
    let because = match (run.second_way, run.places[0] == run.places[1], to_core) {
        (true, ..) => "it closes a ring: the spanning tree opens it when another trunk fails",
        (_, true, _) => "both switches stand in one place",
        (_, _, true) => "a tree from the core keeps ways short and has no loop",
        _ => "the core has no trunk port left for it; this is the nearest switch that has",
    };
    draft.decide(Item::Switch(from.item.clone()), format!("{} is joined to {} by a {} trunk.", from.item, to.item, run.medium), because);
}

/// Says why a switch stays alone.
fn cannot_join(draft: &mut Draft, placed: &Placed, group: usize, rack: usize, root: usize) {
    let (own, core) = (&placed.racks[rack], &placed.racks[root]);
    let (Some(switch), Some(root)) = (&own.switches[group], &core.switches[group]) else { return };
    let (from, to) = (draft.place(own.place).clone(), draft.place(core.place).clone());
    let away = |medium| draft.ways.shortest(medium, own.place, core.place).map(|way| lengths::cut(draft.plan, medium, way.length).length);
    let (code, why, remedy) = match (away(Medium::Copper), away(Medium::Fibre)) {
        (None, None) => (
            "design/no-way",
            format!("no route leads from {from} to {to}"),
            format!("Add the route that a cable from {from} to {to} can take."),
        ),
        (Some(copper), None) if copper > lengths::COPPER_LIMIT => (
            "design/too-far",
            format!("{from} is {copper} of cable from {to}, copper ends at {}, and no way there takes fibre", lengths::COPPER_LIMIT),
            format!("Let a way between {from} and {to} take fibre."),
        ),
        (_, Some(fibre)) if fibre > lengths::FIBRE_LIMIT => (
            "design/too-far",
            format!("{from} is {fibre} of fibre from {to}, more than {}", lengths::FIBRE_LIMIT),
            format!("Put a switch half-way between {from} and {to}."),
        ),
        _ => (
            "design/no-trunk-port",
            "no free trunk ports of one medium are left at both ends".to_owned(),
            format!("Allow a switch type with more fibre or copper ports at {from} or {to}."),
        ),
    };
    let says = format!("{switch} cannot be joined to {root}: {why}.");
    draft.stop("design/switch-alone", vec![Item::Switch(switch.clone()), Item::Place(from)], [says, remedy]);
    if let Some(finding) = draft.done.findings.last_mut() {
        finding.code = code;
    }
}

/// Gives leaves of the tree a second way, in pairs: each new trunk closes one ring.
fn second_ways(draft: &mut Draft, placed: &mut Placed, tree: &Tree, root: usize, runs: &mut Vec<Run>) {
    let mut open: Vec<usize> = tree.depth.keys().copied().filter(|rack| *rack != root && is_leaf(placed, tree, *rack, runs)).collect();
    if open.is_empty() {
        return;
    }
    while let Some(rack) = open.first().copied() {
        open.remove(0);
        let place = placed.racks[rack].place;
        let far = draft.ways.distances_any(place);
        let candidates = || tree.depth.keys().copied().filter(|other| *other != rack && !is_parent(placed, tree, rack, *other, runs));
        let mut order: Vec<(bool, u64, usize)> =
            candidates().map(|other| (!open.contains(&other), far[placed.racks[other].place].unwrap_or(u64::MAX), other)).collect();
        order.sort_unstable();
        // Two switches only: a second trunk beside the first, on another way.
        order.extend(tree.depth.keys().copied().filter(|other| is_parent(placed, tree, rack, *other, runs)).map(|other| (true, 0, other)));
        let heals = |rack: usize| {
            let gear = placed.racks[rack].switches[tree.group].as_ref().and_then(|id| draft.done.wiring.gear_at(draft.plan, id));
            gear.is_some_and(|gear| gear.spanning_tree != SpanningTree::None)
        };
        let able: Vec<usize> = order.into_iter().map(|(_, _, other)| other).filter(|other| heals(*other) && heals(rack)).collect();
        let joined = able.into_iter().find_map(|other| Some((other, lay(draft, placed, tree.group, [rack, other], BitRate::ZERO)?)));
        match joined {
            Some((other, mut run)) => {
                run.second_way = true;
                tell(draft, &run, false);
                runs.push(run);
                open.retain(|left| *left != other);
            }
            None => no_second_way(draft, placed, tree.group, rack),
        }
    }
}

fn is_leaf(placed: &Placed, tree: &Tree, rack: usize, runs: &[Run]) -> bool {
    let Some(switch) = &placed.racks[rack].switches[tree.group] else { return false };
    !runs.iter().any(|run| run.ends[1].item == *switch)
}

fn is_parent(placed: &Placed, tree: &Tree, rack: usize, other: usize, runs: &[Run]) -> bool {
    let ids = [rack, other].map(|rack| placed.racks[rack].switches[tree.group].as_ref());
    runs.iter().any(|run| [Some(&run.ends[0].item), Some(&run.ends[1].item)] == ids)
}

fn no_second_way(draft: &mut Draft, placed: &Placed, group: usize, rack: usize) {
    let Some(switch) = placed.racks[rack].switches[group].clone() else { return };
    let says = format!("{switch} has one trunk only: no second way round could be made.");
    let remedy = "Use switches with rapid spanning tree and free trunk ports, and add a route apart from the first.".to_owned();
    draft.warn("design/no-second-way", vec![Item::Switch(switch)], [says, remedy]);
}
