//! Layer-2 domains: who hears whose broadcasts, over which tree, and where frames circle.

use crate::fabric::{CableIx, Fabric, NetworkIx, NodeIx};
use crate::removed::Alive;
use loomwright_model::Wiring;
use std::collections::{BTreeSet, VecDeque};

/// A loop that nothing breaks: frames circle in it for ever.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Storm {
    /// Cables of one loop, in order.
    pub cables: Vec<CableIx>,
}

/// A cable that spanning tree blocks though a network has no other way: the tree knows no networks,
/// and another cable that it kept does not carry this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CutByTree {
    /// The blocked cable.
    pub cable: CableIx,
    /// The network that it would have joined.
    pub network: NetworkIx,
}

/// No parent: the root of a domain.
pub(crate) const NO_NODE: u32 = u32::MAX;

/// A tree over every domain, rooted at its querier where it has one, so that a report travels
/// towards the root.
pub(crate) struct Forest {
    pub(crate) parent: Vec<u32>,
    pub(crate) parent_link: Vec<u32>,
    pub(crate) depth: Vec<u32>,
    pub(crate) domain: Vec<u32>,
    pub(crate) has_querier: Vec<bool>,
    /// Links that close a loop.
    surplus: Vec<u32>,
}

impl Forest {
    /// Breadth first from the queriers, then from the rest in node order. `passes` says for each link
    /// whether frames pass. O(nodes + links).
    pub(crate) fn new(fabric: &Fabric, alive: &Alive, passes: &[bool], wiring: &Wiring) -> Self {
        let count = fabric.nodes.len();
        let mut forest = Self {
            parent: vec![NO_NODE; count],
            parent_link: vec![NO_NODE; count],
            depth: vec![0; count],
            domain: vec![NO_NODE; count],
            has_querier: Vec::new(),
            surplus: Vec::new(),
        };
        let mut is_used = vec![false; fabric.links.len()];
        let queriers: Vec<u32> = queriers(fabric, wiring).into_iter().filter(|node| alive.nodes[*node as usize]).collect();
        let asking = queriers.len();
        for (at, root) in queriers.into_iter().chain(0..count as u32).enumerate() {
            if forest.domain[root as usize] == NO_NODE {
                forest.grow(fabric, NodeIx(root), Passes { links: passes, is_used: &mut is_used });
                forest.has_querier.push(at < asking);
            }
        }
        forest
    }

    fn grow(&mut self, fabric: &Fabric, root: NodeIx, passes: Passes) {
        let domain = self.has_querier.len() as u32;
        self.domain[root.0 as usize] = domain;
        let mut open = VecDeque::from([root]);
        while let Some(node) = open.pop_front() {
            for &(link, next) in fabric.neighbours(node) {
                if !passes.links[link as usize] || std::mem::replace(&mut passes.is_used[link as usize], true) {
                    continue;
                }
                let at = next.0 as usize;
                if self.domain[at] != NO_NODE {
                    self.surplus.push(link);
                    continue;
                }
                self.domain[at] = domain;
                self.parent[at] = node.0;
                self.parent_link[at] = link;
                self.depth[at] = self.depth[node.0 as usize] + 1;
                open.push_back(next);
            }
        }
    }

    /// One loop for each link that closes one; loops over the same cables are listed once.
    pub(crate) fn storms(&self, fabric: &Fabric) -> Vec<Storm> {
        let mut seen = BTreeSet::new();
        let mut storms = Vec::new();
        for link in &self.surplus {
            let cables = self.cycle(fabric, *link);
            let mut key = cables.clone();
            key.sort_unstable();
            if seen.insert(key) {
                storms.push(Storm { cables });
            }
        }
        storms
    }

    fn cycle(&self, fabric: &Fabric, link: u32) -> Vec<CableIx> {
        let cable = |link: u32| fabric.links[link as usize].cable;
        let [mut a, mut b] = fabric.links[link as usize].nodes.map(|node| node.0 as usize);
        let (mut from_a, mut from_b) = (Vec::new(), vec![cable(link)]);
        while a != b {
            let (deeper, list) = if self.depth[a] >= self.depth[b] { (&mut a, &mut from_a) } else { (&mut b, &mut from_b) };
            list.push(cable(self.parent_link[*deeper]));
            *deeper = self.parent[*deeper] as usize;
        }
        from_b.extend(from_a.into_iter().rev());
        from_b
    }
}

/// Which links pass frames, and which of them were taken already.
struct Passes<'a> {
    links: &'a [bool],
    is_used: &'a mut [bool],
}

/// Nodes that ask for members, in the order of the networks. A switch counts only on the network it
/// is named for, and only if its gear can ask.
fn queriers(fabric: &Fabric, wiring: &Wiring) -> Vec<u32> {
    let mut found = Vec::new();
    for (at, network) in fabric.networks.iter().enumerate() {
        let switch = wiring.querier.get(network).and_then(|switch| wiring.switches.get_index_of(switch));
        let Some(switch) = switch else { continue };
        let asks = |node: &usize| {
            let is_on = fabric.nodes[*node].network.is_none_or(|network| network.0 as usize == at);
            is_on && fabric.traits[*node].can_query
        };
        found.extend(fabric.nodes_of_switch(crate::SwitchIx(switch as u32)).find(asks).map(|node| node as u32));
    }
    found
}
