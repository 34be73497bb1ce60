//! Joins the switches of each group as a tree from the core, on copper or fibre.

use crate::alone;
use crate::demand::Group;
use crate::draft::Draft;
use crate::lanes::{Cable, Choice, Lane};
use crate::lengths;
use crate::load::Loads;
use crate::rings;
use crate::sockets;
use crate::switches::Placed;
use loomwright_model::{BitRate, Id, Item, Length, Medium, PortRef};
use loomwright_physical::ways::Way;
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
    /// From the place with the lower index to the other.
    pub way: Way,
    pub trunk: bool,
    /// A trunk of a ring: lies apart from the other trunks where it can.
    pub second_way: bool,
}

/// Slower trunks are not planned (common practice). Copper is planned up to this speed, faster trunks take fibre. Own
/// choice: 10 Gb/s over copper needs better cable than most trucks hold.
pub(crate) const GIGABIT: BitRate = BitRate::from_bits_per_second(1_000_000_000);

/// Decides all trunks and takes their ports.
pub(crate) fn decide(draft: &mut Draft, groups: &[Group], placed: &mut Placed, ring: bool) -> Vec<Run> {
    let loads = Loads::new(draft);
    let mut runs = Vec::new();
    for (index, group) in groups.iter().enumerate() {
        let members: Vec<usize> = (0..placed.racks.len()).filter(|rack| placed.racks[*rack].switches[index].is_some()).collect();
        let at_core = |rack: &usize| Some(placed.racks[*rack].place) == placed.cores[index];
        let Some(root) = members.iter().copied().find(at_core).or(members.first().copied()) else { continue };
        let depth = BTreeMap::from([(root, 0)]);
        let mut tree = Tree { draft, placed, group: index, root, depth, parent: BTreeMap::new(), runs: Vec::new() };
        tree.join_all(&members, &loads, group.main());
        tree.tell_overload(&loads, group.main());
        if ring {
            rings::close(&mut tree);
        }
        runs.extend(tree.runs);
    }
    runs
}

/// The tree of one group while it grows.
pub(crate) struct Tree<'t, 'a> {
    pub draft: &'t mut Draft<'a>,
    pub placed: &'t mut Placed,
    pub group: usize,
    /// The rack at the core.
    pub root: usize,
    /// Depth below the core of each rack that is joined.
    pub depth: BTreeMap<usize, usize>,
    /// The rack above each joined one, with the index of the run between them.
    pub parent: BTreeMap<usize, (usize, usize)>,
    pub runs: Vec<Run>,
}

impl Tree<'_, '_> {
    /// The switch of this group in a rack.
    pub fn switch(&self, rack: usize) -> Option<&Id> {
        self.placed.racks[rack].switches[self.group].as_ref()
    }

    /// The place of a rack.
    pub fn place(&self, rack: usize) -> usize {
        self.placed.racks[rack].place
    }

    fn join_all(&mut self, members: &[usize], loads: &Loads, network: &Id) {
        self.join_held();
        for (rack, further) in self.order(members) {
            if self.depth.contains_key(&rack) {
                continue;
            }
            let place = self.place(rack);
            let racks = self.placed.racks.iter().enumerate().filter(|(at, other)| *at == rack || !further && other.place == place);
            let inside: BTreeSet<usize> = racks.flat_map(|(_, rack)| &rack.jacks).map(|jack| jack.device).collect();
            let load = loads.trunk(network, &|device| inside.contains(&device));
            if self.join(rack, load) {
                self.join_held();
            } else {
                alone::tell(self, rack);
            }
        }
    }

    /// Racks in the order they are joined: first racks of their place, nearest to the core first, then the further
    /// ones of each place.
    fn order(&self, members: &[usize]) -> Vec<(usize, bool)> {
        let far = self.draft.ways.distances_any(self.place(self.root));
        let mut seen = BTreeSet::from([self.place(self.root)]);
        let mut order: Vec<(bool, u64, usize)> = Vec::new();
        for rack in members.iter().copied().filter(|rack| *rack != self.root) {
            let further = !seen.insert(self.place(rack));
            order.push((further, far[self.place(rack)].unwrap_or(u64::MAX), rack));
        }
        order.sort_unstable();
        order.into_iter().map(|(further, _, rack)| (rack, further)).collect()
    }

    /// Racks that held cables already join to the tree count as joined.
    fn join_held(&mut self) {
        let at = |switch: &Id| (0..self.placed.racks.len()).find(|rack| self.switch(*rack) == Some(switch));
        let cables = self.draft.done.wiring.cables.values();
        let pairs: Vec<[usize; 2]> = cables.filter_map(|cable| Some([at(&cable.ends[0].item)?, at(&cable.ends[1].item)?])).collect();
        let mut grows = true;
        while grows {
            grows = false;
            for [one, other] in pairs.iter().flat_map(|[a, b]| [[*a, *b], [*b, *a]]) {
                if let (Some(depth), false) = (self.depth.get(&one).copied(), self.depth.contains_key(&other)) {
                    self.depth.insert(other, depth + 1);
                    grows = true;
                }
            }
        }
    }

    /// Joins `rack` to the best rack of the tree: one in its own place, else as near to the core as ports allow.
    /// First by a trunk that carries `load` as planned, then by any: a finding is better than silence.
    fn join(&mut self, rack: usize, load: BitRate) -> bool {
        let place = self.place(rack);
        let far = [Medium::Copper, Medium::Fibre].map(|medium| (medium, self.draft.ways.distances(medium, place)));
        let mut parents: Vec<(bool, usize, u64, usize)> = Vec::new();
        for (parent, depth) in &self.depth {
            let other = self.place(*parent);
            let reached =
                far.iter().filter_map(|(medium, far)| far[other].filter(|way| lengths::within_reach(self.draft.plan, *medium, *way)));
            if let Some(length) = reached.min() {
                parents.push((other != place, *depth, length, *parent));
            }
        }
        parents.sort_unstable();
        let wanted = self.speed_for(load);
        for speed in [wanted, BitRate::ZERO] {
            for (_, depth, _, parent) in &parents {
                if let Some(run) = self.lay([rack, *parent], speed, false) {
                    tell(self.draft, &run, *depth == 0);
                    self.parent.insert(rack, (*parent, self.runs.len()));
                    self.depth.insert(rack, depth + 1);
                    self.runs.push(run);
                    return true;
                }
            }
        }
        false
    }

    /// The least link speed whose planned share carries `load`.
    fn speed_for(&self, load: BitRate) -> BitRate {
        let share = u128::from(self.draft.plan.targets.link_load.parts_per_million());
        let speed = (u128::from(load.bits_per_second()) * 1_000_000).checked_div(share).unwrap_or(0);
        BitRate::from_bits_per_second(u64::try_from(speed).unwrap_or(u64::MAX))
    }

    /// Takes a port at both ends for a trunk of at least `speed`; `None` if there is none.
    pub fn lay(&mut self, racks: [usize; 2], speed: BitRate, second_way: bool) -> Option<Run> {
        let places = racks.map(|rack| self.place(rack));
        if racks.iter().any(|rack| self.placed.racks[*rack].panels[self.group].is_none()) {
            return None;
        }
        let lane = Lane { group: self.group, places, second: second_way };
        let mut choices = self.draft.choices(lane);
        if speed > GIGABIT {
            choices.sort_by_key(|choice| choice.cable == Cable::Copper);
        }
        let panels = racks.map(|rack| self.placed.racks[rack].panels[self.group].as_ref());
        let [Some(low), Some(high)] = panels else { return None };
        let cut = |choice: &Choice| lengths::cut(self.draft.plan, choice.cable.medium(), choice.way.length).length;
        let ways: Vec<(Medium, Length)> = choices.iter().map(|choice| (choice.cable.medium(), cut(choice))).collect();
        let (medium, ports) = sockets::pair([low, high], &ways, speed)?;
        let choice = choices.into_iter().find(|choice| choice.cable.medium() == medium)?;
        self.draft.take_lane(lane, &choice);
        let ends = [self.take(racks[0], ports[0])?, self.take(racks[1], ports[1])?];
        let networks = common_networks(self.draft, &ends);
        Some(Run { ends, places, networks, group: self.group, medium, way: choice.way, trunk: true, second_way })
    }

    fn take(&mut self, rack: usize, port: usize) -> Option<PortRef> {
        let switch = self.switch(rack)?.clone();
        let panel = self.placed.racks[rack].panels[self.group].as_mut()?;
        panel.take_trunk(port);
        Some(PortRef::new(switch, panel.port(port).name.clone()))
    }

    /// Says which trunks carry more than planned, everything below them counted.
    fn tell_overload(&mut self, loads: &Loads, network: &Id) {
        let share = self.draft.plan.targets.link_load;
        for (rack, (_, run)) in self.parent.clone() {
            let inside: BTreeSet<usize> =
                self.below(rack).into_iter().flat_map(|rack| self.placed.racks[rack].jacks.iter().map(|jack| jack.device)).collect();
            let load = loads.trunk(network, &|device| inside.contains(&device));
            let run = &self.runs[run];
            let wiring = &self.draft.done.wiring;
            let speed_at = |end: &PortRef| {
                let specs = wiring.gear_at(self.draft.plan, &end.item)?.port_specs();
                specs.iter().find(|spec| spec.name == end.port).map(|spec| spec.speed)
            };
            let speed = run.ends.iter().filter_map(speed_at).min().unwrap_or_default();
            let allowed = BitRate::from_bits_per_second(share.of(speed.bits_per_second()));
            if load > allowed {
                let [from, to] = run.ends.clone();
                let says = format!("The trunk from {from} to {to} carries {load} of streams, more than {share} of its {speed}.");
                let remedy = "Allow a switch type with faster trunk ports, or move streams to devices on the same switch.".to_owned();
                self.draft.warn("design/trunk-load", vec![Item::Port(from), Item::Port(to)], [says, remedy]);
            }
        }
    }

    /// A rack and all that hang below it.
    fn below(&self, rack: usize) -> Vec<usize> {
        let mut found = vec![rack];
        let mut at = 0;
        while let Some(above) = found.get(at).copied() {
            found.extend(self.parent.iter().filter(|(_, (parent, _))| *parent == above).map(|(child, _)| *child));
            at += 1;
        }
        found
    }
}

fn common_networks(draft: &Draft, ends: &[PortRef; 2]) -> Vec<Id> {
    let switches = &draft.done.wiring.switches;
    let of = |end: &PortRef| switches.get(&end.item).map_or(&[][..], |switch| &switch.networks);
    of(&ends[0]).iter().filter(|network| of(&ends[1]).contains(network)).cloned().collect()
}

/// Notes the decision for a trunk.
pub(crate) fn tell(draft: &mut Draft, run: &Run, to_core: bool) {
    let [from, to] = &run.ends;
    let because = match (run.second_way, run.places[0] == run.places[1], to_core) {
        (true, ..) => "it closes a ring: the spanning tree opens it when another trunk fails",
        (_, true, _) => "both switches stand in one place",
        (_, _, true) => "a tree from the core keeps ways short and has no loop",
        _ => "the core has no trunk port left for it; this is the nearest switch that has",
    };
    draft.decide(Item::Switch(from.item.clone()), format!("{} is joined to {} by a {} trunk.", from.item, to.item, run.medium), because);
}
