//! How long a stream is silent although the network still has a way for it.
//!
//! The spanning tree first finds the new way; then a switch that confines multicast must learn that members
//! lie behind it, which it does at the next membership query. Cable-pulling trials on software
//! bridges agree with that order: a stream stayed silent long after the tree had healed. The figures are
//! upper bounds from the standards' timers, not what a good day shows: with the rapid tree and a link that a
//! switch sees go, trials showed no gap at all; a cut in the middle of a chain of plain devices, 5 to 8 s.

use crate::graph::NONE;
use crate::loss::Wreck;
use crate::timers::Timers;
use loomwright_forwarding::{CableIx, Fabric, NodeKind, Tree};
use loomwright_model::{Gear, Plan, SpanningTree, Time, Wiring};

/// An upper bound of a silence that ends by itself, and its two parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gap {
    /// Until the spanning tree has found the new way.
    pub tree: Time,
    /// From then until its receivers hear multicast again; for unicast, until plain boxes have forgotten where the receiver was (seen
    /// on a kernel's bridges: a chained box sent nothing back the way it came, long after the tree had healed).
    pub members: Time,
}

impl Gap {
    /// Both together.
    pub fn whole(&self) -> Time {
        self.tree + self.members
    }
}

/// How a loss is noticed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Noticed {
    /// By every switch that lost its way to the root, and each has a blocked port that leads there too: it opens it at once. Not
    /// by the switch at the far end of a blocked link: with the classic tree its hellos are worse than what the blocked port
    /// heard, and count for nothing until that has aged out (IEEE 802.1D clause 8.6.2, from memory; seen on a
    /// kernel's bridges: 9.8 to 11.8 s instead of 7.1 s). Nor where a blocked port hears its own box through plain ones.
    AtSpareWay,
    /// By switches that see a link go down.
    Elsewhere,
    /// Only by hellos that stay away: every box that saw it is gone, frozen or runs no tree.
    ByAge,
}

/// What the fabric's boxes do about losses.
#[derive(Debug, Clone, Default)]
pub(crate) struct Healing {
    pub(crate) timers: Timers,
    /// Kind of tree and whether it snoops, by node.
    tree: Vec<SpanningTree>,
    /// Links by which a bridge reaches its root, as link and end.
    to_root: std::collections::BTreeSet<(u32, usize)>,
    /// Bridges that have a blocked port which leads to the root too.
    has_spare: std::collections::BTreeSet<u32>,
    /// The bridge that each node is part of; [`NONE`] for others.
    bridge: Vec<u32>,
    /// Whether frames end at a node.
    is_end: Vec<bool>,
    /// By component: the slowest kind of tree, how many boxes run one, whether any confines multicast.
    areas: std::collections::BTreeMap<u32, Area>,
    /// Nodes at both ends of each link.
    link_nodes: Vec<[u32; 2]>,
    /// Links of each node.
    links_at: Vec<Vec<u32>>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Area {
    is_classic: bool,
    boxes: u32,
    snoops: bool,
    has_plain: bool,
}

impl Healing {
    pub(crate) fn new((plan, wiring): (&Plan, &Wiring), fabric: &Fabric, component: &[u32]) -> Self {
        let mut healing = Self { link_nodes: fabric.links.iter().map(|link| link.nodes.map(|node| node.0)).collect(), ..Self::default() };
        healing.bridge = fabric.traits.iter().map(|traits| traits.bridge.unwrap_or(NONE)).collect();
        healing.is_end = fabric.nodes.iter().map(|node| matches!(node.kind, NodeKind::Interface(..))).collect();
        for (at, node) in fabric.nodes.iter().enumerate() {
            let gear = match node.kind {
                NodeKind::Interface(..) => None,
                NodeKind::Switch(switch) => wiring.gear_at(plan, &fabric.switches[switch.0 as usize]),
                NodeKind::Router(device) | NodeKind::Chained(device) => wiring.gear_at(plan, &fabric.devices[device.0 as usize]),
            };
            healing.add(gear, component[at]);
            // A plain box with one cable has no other way to learn.
            let is_passed = fabric.neighbours(loomwright_forwarding::NodeIx(at as u32)).len() > 1;
            let is_plain = gear.is_some_and(|gear| gear.spanning_tree == SpanningTree::None) && is_passed;
            healing.areas.entry(component[at]).or_default().has_plain |= is_plain;
            healing.links_at.push(fabric.neighbours(loomwright_forwarding::NodeIx(at as u32)).iter().map(|(link, _)| *link).collect());
        }
        healing
    }

    /// Learns what the spanning tree decided.
    pub(crate) fn know_tree(&mut self, fabric: &Fabric, tree: &Tree) {
        let spare = tree.blocked_ports.iter().filter(|port| !tree.backup_ports.contains(port));
        let bridge = |(cable, end): &(CableIx, usize)| self.bridge[fabric.links[fabric.links_of(*cable).start].nodes[*end].0 as usize];
        self.has_spare = spare.map(bridge).collect();
        let ports = tree.root_ports.iter();
        self.to_root = ports.flat_map(|(cable, end)| fabric.links_of(*cable).map(|link| (link as u32, *end))).collect();
    }

    /// How many nodes the fabric has.
    pub(crate) fn nodes(&self) -> usize {
        self.tree.len()
    }

    fn add(&mut self, gear: Option<&Gear>, component: u32) {
        let tree = gear.map_or(SpanningTree::None, |gear| gear.spanning_tree);
        self.tree.push(tree);
        let area = self.areas.entry(component).or_default();
        area.is_classic |= tree == SpanningTree::Classic;
        area.boxes += u32::from(tree != SpanningTree::None);
        area.snoops |= gear.is_some_and(|gear| gear.is_switching() && gear.snooping);
    }

    /// The gap of a stream in `area`, one of `component`, after `wreck`.
    pub(crate) fn gap(&self, wreck: &Wreck, (component, is_multicast): (&[u32], bool), area: u32) -> Gap {
        let kind = self.areas.get(&area).copied().unwrap_or_default();
        let noticed = self.noticed(wreck, |node| component[node as usize] == area);
        let timers = &self.timers;
        let both_delays = timers.forward_delay.times(2);
        let tree = match (kind.is_classic, noticed) {
            (true, Noticed::AtSpareWay) => timers.link_loss + both_delays,
            (true, _) => timers.max_age + both_delays,
            (false, Noticed::ByAge) => timers.three_hellos + both_delays,
            (false, _) => timers.rapid_ring(kind.boxes),
        };
        let members = match (is_multicast, kind.snoops, kind.has_plain) {
            (true, true, _) => timers.query_interval + timers.query_response,
            (false, _, true) => timers.ageing,
            _ => Time::ZERO,
        };
        Gap { tree, members }
    }

    /// Looks at the surviving ends of every link that went down.
    fn noticed(&self, wreck: &Wreck, is_here: impl Fn(u32) -> bool) -> Noticed {
        let first_link = self.tree.len() as u32;
        let mut lost: Vec<u32> = Vec::new();
        for &vertex in &wreck.vertices {
            match vertex.checked_sub(first_link) {
                Some(link) if (link as usize) < self.link_nodes.len() => lost.push(link),
                None if wreck.has_no_power(vertex) => lost.extend(&self.links_at[vertex as usize]),
                _ => {}
            }
        }
        let (mut is_seen, mut roots_lost, mut all_have_spare) = (false, false, true);
        for link in lost {
            for (end, node) in self.link_nodes[link as usize].into_iter().enumerate() {
                if wreck.has(node) || !is_here(node) || self.is_end[node as usize] {
                    continue;
                }
                if self.tree[node as usize] == SpanningTree::None {
                    // A plain box that forwards says nothing: whoever hears hellos through it waits until they stay away.
                    return Noticed::ByAge;
                }
                is_seen = true;
                if self.to_root.contains(&(link, end)) {
                    roots_lost = true;
                    all_have_spare &= self.has_spare.contains(&self.bridge[node as usize]);
                }
            }
        }
        match (is_seen, roots_lost && all_have_spare) {
            (true, true) => Noticed::AtSpareWay,
            (true, false) => Noticed::Elsewhere,
            (false, _) => Noticed::ByAge,
        }
    }
}
