//! The parts that a failure splits off, without looking at what stays together.
//!
//! From every neighbour of what is gone a search goes out, all by turns, one link each time; where two meet they are one. As
//! soon as only one of a network is still under way, the others have found all there is of their parts and the last is never
//! walked. So a failure costs about as much as what it splits off, not as much as the whole network or the largest switch.

use crate::dataset::Dataset;
use crate::leaders::{ClockDomain, best, carries_audio};
use loomwright_forwarding::{DeviceIx, Fabric, NetworkIx, NodeIx};
use loomwright_model::Plan;
use std::collections::{BTreeMap, BTreeSet};

/// What hangs together while nothing has failed, and who listens where.
#[derive(Debug, Clone, Default)]
pub struct Splits {
    component: Vec<u32>,
    /// Devices with audio at each node, and the network.
    at_node: Vec<Vec<(DeviceIx, NetworkIx)>>,
}

/// What a failure takes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Gone {
    /// Nodes of the fabric.
    pub nodes: BTreeSet<u32>,
    /// Links of the fabric.
    pub links: BTreeSet<u32>,
}

/// One search under way.
#[derive(Default)]
struct Front {
    seen: Vec<u32>,
    /// Nodes to look on from, and which of their links is next.
    open: Vec<(u32, usize)>,
}

impl Splits {
    /// Gets ready. O(nodes + links).
    pub fn new(plan: &Plan, fabric: &Fabric) -> Self {
        let mut at_node = vec![Vec::new(); fabric.nodes.len()];
        for (device, attachments) in fabric.audio.iter().enumerate() {
            for attachment in attachments.iter().filter(|attachment| carries_audio(plan, attachment.network)) {
                at_node[attachment.node.0 as usize].push((DeviceIx(device as u32), attachment.network));
            }
        }
        Self { component: components(fabric), at_node }
    }

    /// Nodes of every part that is cut off, all parts of a network but one: that one may be the largest or not.
    pub fn off(&self, fabric: &Fabric, gone: &Gone) -> Vec<Vec<u32>> {
        Search::new(self, fabric, gone).run()
    }

    /// The part made of `nodes`, with its leader.
    pub fn domain(&self, datasets: &[Option<Dataset>], nodes: &[u32]) -> ClockDomain {
        let here =
            nodes.iter().flat_map(|node| self.at_node[*node as usize].iter().map(|(device, network)| (*device, NodeIx(*node), *network)));
        let mut here: Vec<_> = here.collect();
        here.sort_unstable();
        let networks: BTreeSet<NetworkIx> = here.iter().map(|(_, _, network)| *network).collect();
        here.dedup_by_key(|(device, _, _)| *device);
        let members: Vec<_> = here.into_iter().map(|(device, node, _)| (device, node)).collect();
        let domain = nodes.first().copied().unwrap_or_default();
        ClockDomain { domain, networks: networks.into_iter().collect(), leader: best(&members, datasets), members }
    }
}

struct Search<'a> {
    fabric: &'a Fabric,
    gone: &'a Gone,
    component: &'a [u32],
    fronts: Vec<Front>,
    /// The front that a front has become part of; itself while it is one.
    root: Vec<usize>,
    owner: BTreeMap<u32, usize>,
    /// Fronts under way in each component.
    active: BTreeMap<u32, usize>,
}

impl<'a> Search<'a> {
    fn new(splits: &'a Splits, fabric: &'a Fabric, gone: &'a Gone) -> Self {
        let beside = gone.nodes.iter().flat_map(|node| fabric.neighbours(NodeIx(*node)).iter().map(|(_, next)| next.0));
        let ends = gone.links.iter().flat_map(|link| fabric.links[*link as usize].nodes.map(|node| node.0));
        let seeds: BTreeSet<u32> = beside.chain(ends).filter(|node| !gone.nodes.contains(node)).collect();
        let mut active = BTreeMap::new();
        seeds.iter().for_each(|seed| *active.entry(splits.component[*seed as usize]).or_insert(0) += 1);
        Self {
            fabric,
            gone,
            component: &splits.component,
            root: (0..seeds.len()).collect(),
            owner: seeds.iter().copied().zip(0..).collect(),
            fronts: seeds.iter().map(|seed| Front { seen: vec![*seed], open: vec![(*seed, 0)] }).collect(),
            active,
        }
    }

    fn run(mut self) -> Vec<Vec<u32>> {
        let mut parts = Vec::new();
        let mut under_way: Vec<usize> = (0..self.fronts.len()).collect();
        while self.active.values().any(|count| *count > 1) {
            under_way.retain(|at| self.root[*at] == *at && !self.fronts[*at].seen.is_empty());
            for at in under_way.iter().copied() {
                if self.root[at] == at && self.is_contested(at) {
                    parts.extend(self.step(at));
                }
            }
        }
        parts
    }

    /// Whether another search is under way in the same component.
    fn is_contested(&self, at: usize) -> bool {
        let first = self.fronts[at].seen.first();
        first.is_some_and(|first| self.active[&self.component[*first as usize]] > 1)
    }

    /// Looks along one link; gives the part if it is complete.
    fn step(&mut self, at: usize) -> Option<Vec<u32>> {
        let Some((node, turn)) = self.fronts[at].open.pop() else {
            let part = std::mem::take(&mut self.fronts[at].seen);
            self.retire(part[0]);
            return Some(part);
        };
        let (link, next) = self.fabric.neighbours(NodeIx(node)).get(turn)?;
        self.fronts[at].open.push((node, turn + 1));
        if self.gone.links.contains(link) || self.gone.nodes.contains(&next.0) {
            return None;
        }
        match self.owner.get(&next.0).copied() {
            Some(other) => self.join(at, other),
            None => {
                self.owner.insert(next.0, at);
                self.fronts[at].seen.push(next.0);
                self.fronts[at].open.push((next.0, 0));
            }
        }
        None
    }

    /// Two searches have met: `other` becomes part of `at`.
    fn join(&mut self, at: usize, mut other: usize) {
        while self.root[other] != other {
            other = self.root[other];
        }
        if other == at {
            return;
        }
        let Front { seen, open } = std::mem::take(&mut self.fronts[other]);
        self.retire(seen[0]);
        self.fronts[at].seen.extend(seen);
        self.fronts[at].open.extend(open);
        self.root[other] = at;
    }

    fn retire(&mut self, node: u32) {
        if let Some(count) = self.active.get_mut(&self.component[node as usize]) {
            *count -= 1;
        }
    }
}

/// A number for each node: equal ones hang together.
fn components(fabric: &Fabric) -> Vec<u32> {
    let mut component = vec![u32::MAX; fabric.nodes.len()];
    for start in 0..fabric.nodes.len() {
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            if component[node] != u32::MAX {
                continue;
            }
            component[node] = start as u32;
            open.extend(
                fabric.neighbours(NodeIx(node as u32)).iter().map(|(_, next)| next.0 as usize).filter(|next| component[*next] == u32::MAX),
            );
        }
    }
    component
}
