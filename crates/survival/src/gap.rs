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
use loomwright_forwarding::{Fabric, NodeKind};
use loomwright_model::{Gear, Plan, SpanningTree, Time, Wiring};

/// An upper bound of a silence that ends by itself, and its two parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gap {
    /// Until the spanning tree has found the new way.
    pub tree: Time,
    /// From then until its receivers hear multicast again.
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
    /// By the switch that holds the spare way itself.
    AtSpareWay,
    /// By another switch, which sees its link go down.
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
    /// Whether a node is at the end of a blocked link.
    has_spare: Vec<bool>,
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
}

impl Healing {
    pub(crate) fn new((plan, wiring): (&Plan, &Wiring), fabric: &Fabric, blocked: &[bool], component: &[u32]) -> Self {
        let mut healing = Self { link_nodes: fabric.links.iter().map(|link| link.nodes.map(|node| node.0)).collect(), ..Self::default() };
        healing.has_spare = vec![false; fabric.nodes.len()];
        for (link, _) in fabric.links.iter().zip(blocked).filter(|(_, blocked)| **blocked) {
            for node in link.nodes {
                healing.has_spare[node.0 as usize] = true;
            }
        }
        for (at, node) in fabric.nodes.iter().enumerate() {
            let gear = match node.kind {
                NodeKind::Interface(..) => None,
                NodeKind::Switch(switch) => wiring.gear_at(plan, &fabric.switches[switch.0 as usize]),
                NodeKind::Router(device) | NodeKind::Chained(device) => wiring.gear_at(plan, &fabric.devices[device.0 as usize]),
            };
            healing.add(gear, component[at]);
            healing.links_at.push(fabric.neighbours(loomwright_forwarding::NodeIx(at as u32)).iter().map(|(link, _)| *link).collect());
        }
        healing
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
        let members = if is_multicast && kind.snoops { timers.query_interval + timers.query_response } else { Time::ZERO };
        Gap { tree, members }
    }

    /// Looks at the surviving ends of every link that went down.
    fn noticed(&self, wreck: &Wreck, is_here: impl Fn(u32) -> bool) -> Noticed {
        let nodes = self.link_nodes.len();
        let mut best = Noticed::ByAge;
        let mut look = |node: u32| {
            if node != NONE && !wreck.has(node) && is_here(node) && self.tree[node as usize] != SpanningTree::None {
                best = best.min(if self.has_spare[node as usize] { Noticed::AtSpareWay } else { Noticed::Elsewhere });
            }
        };
        let first_link = self.tree.len() as u32;
        for &vertex in &wreck.vertices {
            match vertex.checked_sub(first_link) {
                Some(link) if (link as usize) < nodes => self.link_nodes[link as usize].into_iter().for_each(&mut look),
                Some(_) => {}
                None if wreck.has_no_power(vertex) => {
                    for &link in &self.links_at[vertex as usize] {
                        self.link_nodes[link as usize].into_iter().for_each(&mut look);
                    }
                }
                None => {}
            }
        }
        best
    }
}
