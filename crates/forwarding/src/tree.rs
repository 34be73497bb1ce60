//! Spanning tree: one tree for all networks, over cables and boxes as they physically are.
//!
//! Boxes that run no spanning tree pass its messages on, so all cables that meet in such boxes form
//! one **segment**. Steps, as in IEEE 802.1D clause 17 (root-port order read in an open bridge implementation):
//! 1. The best bridge of each connected part is its root.
//! 2. Every bridge learns its least cost to the root; cost is added on receipt.
//! 3. On every segment the bridge with the least (cost, bridge, port) is designated.
//! 4. Every bridge but the root takes as root port the port that hears the least
//!    (cost, designated bridge, designated port, own port).
//! 5. Every other port blocks.
//!
//! **Cost**: O((cables + bridges) log bridges).

use crate::fabric::{CableIx, Fabric, NodeKind};
use crate::removed::Alive;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What spanning tree decided.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tree {
    /// Ports that block, as cable and end, in the order of the cables.
    pub blocked_ports: Vec<(CableIx, usize)>,
    /// Those of them that hear their own box: the best port on their segment belongs to the same bridge. Such a port opens only
    /// once what it heard has aged out.
    pub backup_ports: Vec<(CableIx, usize)>,
    /// Ports towards the root, one for each bridge but the roots.
    pub root_ports: Vec<(CableIx, usize)>,
    /// The root of each connected part, as indexes into [`Fabric::bridges`].
    pub roots: Vec<u32>,
}

#[derive(Clone, Copy)]
struct Port {
    bridge: u32,
    cable: u32,
    end: usize,
    number: u32,
    cost: u64,
    segment: u32,
}

pub(crate) fn spanning_tree(fabric: &Fabric, alive: &Alive) -> Tree {
    if fabric.bridges.is_empty() {
        return Tree::default();
    }
    let ports = ports(fabric, alive);
    let by_bridge = Buckets::new(fabric.bridges.len(), ports.iter().map(|port| port.bridge));
    let by_segment = Buckets::new(fabric.cables.len(), ports.iter().map(|port| port.segment));
    let (cost, roots) = costs(&ports, &by_bridge, &by_segment);
    let offer = |port: &Port| (cost[port.bridge as usize], port.bridge, port.number);
    let mut designated = vec![u32::MAX; fabric.cables.len()];
    for (segment, best) in designated.iter_mut().enumerate() {
        let first = by_segment.of(segment).iter().min_by_key(|at| offer(&ports[**at as usize]));
        *best = first.copied().unwrap_or(u32::MAX);
    }
    let mut forwards = vec![false; ports.len()];
    designated.iter().filter(|at| **at != u32::MAX).for_each(|at| forwards[*at as usize] = true);
    let mut root_ports = Vec::new();
    for bridge in (0..fabric.bridges.len()).filter(|bridge| !roots.contains(&(*bridge as u32))) {
        let heard = by_bridge.of(bridge).iter().filter_map(|at| {
            let port = &ports[*at as usize];
            let from = &ports[designated[port.segment as usize] as usize];
            let (cost, sender, sender_port) = offer(from);
            (sender != port.bridge).then_some(((cost.saturating_add(port.cost), sender, sender_port, port.number), *at))
        });
        if let Some((_, at)) = heard.min() {
            forwards[at as usize] = true;
            root_ports.push((CableIx(ports[at as usize].cable), ports[at as usize].end));
        }
    }
    let blocked = ports.iter().zip(&forwards).filter(|(_, forwards)| !**forwards);
    let blocked: Vec<&Port> = blocked.map(|(port, _)| port).collect();
    let is_backup = |port: &&&Port| ports[designated[port.segment as usize] as usize].bridge == port.bridge;
    let named = |port: &Port| (CableIx(port.cable), port.end);
    Tree {
        blocked_ports: blocked.iter().map(|port| named(port)).collect(),
        backup_ports: blocked.iter().filter(is_backup).map(|port| named(port)).collect(),
        root_ports,
        roots,
    }
}

/// Ports of bridges, in the order of the cables.
fn ports(fabric: &Fabric, alive: &Alive) -> Vec<Port> {
    let segments = Segments::new(fabric, alive);
    let mut ports = Vec::new();
    for (at, cable) in fabric.cables.iter().enumerate() {
        let first = fabric.cable_start[at] as usize;
        if !alive.links[first] {
            continue;
        }
        for (end, node) in fabric.links[first].nodes.into_iter().enumerate() {
            if let Some(bridge) = fabric.traits[node.0 as usize].bridge {
                let tree = cable.tree[end];
                let (cost, segment) = (u64::from(tree.cost), segments.of[at]);
                ports.push(Port { bridge, cable: at as u32, end, number: tree.number, cost, segment });
            }
        }
    }
    ports
}

/// Least cost of every bridge to its root, and the roots. Ranks are in order of preference, so the
/// first bridge not yet reached is the root of a new part.
fn costs(ports: &[Port], by_bridge: &Buckets, by_segment: &Buckets) -> (Vec<u64>, Vec<u32>) {
    let mut cost = vec![u64::MAX; by_bridge.len()];
    let mut has_heard = vec![false; by_segment.len()];
    let mut roots = Vec::new();
    for root in 0..by_bridge.len() {
        if cost[root] != u64::MAX {
            continue;
        }
        roots.push(root as u32);
        cost[root] = 0;
        let mut open = BinaryHeap::from([Reverse((0u64, root as u32))]);
        while let Some(Reverse((so_far, bridge))) = open.pop() {
            if so_far > cost[bridge as usize] {
                continue;
            }
            for at in by_bridge.of(bridge as usize) {
                let segment = ports[*at as usize].segment as usize;
                if std::mem::replace(&mut has_heard[segment], true) {
                    continue;
                }
                for other in by_segment.of(segment).iter().map(|at| &ports[*at as usize]) {
                    let through = so_far.saturating_add(other.cost);
                    if through < cost[other.bridge as usize] {
                        cost[other.bridge as usize] = through;
                        open.push(Reverse((through, other.bridge)));
                    }
                }
            }
        }
    }
    (cost, roots)
}

/// Cables joined by boxes without spanning tree.
struct Segments {
    of: Vec<u32>,
}

impl Segments {
    fn new(fabric: &Fabric, alive: &Alive) -> Self {
        let mut joined: Vec<u32> = (0..fabric.cables.len() as u32).collect();
        for (node, traits) in fabric.traits.iter().enumerate() {
            let is_end = matches!(fabric.nodes[node].kind, NodeKind::Interface(..));
            if is_end || traits.bridge.is_some() {
                continue;
            }
            let mut first = None;
            for (link, _) in fabric.neighbours(crate::NodeIx(node as u32)) {
                let cable = fabric.links[*link as usize].cable.0;
                // Spanning-tree messages carry no tag: they travel in the first network of a cable.
                if !alive.links[*link as usize] || fabric.cable_start[cable as usize] != *link {
                    continue;
                }
                let with = *first.get_or_insert(cable);
                let (a, b) = (find(&mut joined, cable), find(&mut joined, with));
                joined[a.max(b) as usize] = a.min(b);
            }
        }
        let of = (0..joined.len() as u32).map(|cable| find(&mut joined, cable)).collect();
        Self { of }
    }
}

fn find(joined: &mut [u32], mut at: u32) -> u32 {
    while joined[at as usize] != at {
        joined[at as usize] = joined[joined[at as usize] as usize];
        at = joined[at as usize];
    }
    at
}

/// Indexes grouped by a key.
struct Buckets {
    start: Vec<u32>,
    members: Vec<u32>,
}

impl Buckets {
    fn new(count: usize, keys: impl Iterator<Item = u32> + Clone) -> Self {
        let mut start = vec![0u32; count + 1];
        keys.clone().for_each(|key| start[key as usize + 1] += 1);
        for at in 0..count {
            start[at + 1] += start[at];
        }
        let (mut next, mut members) = (start.clone(), vec![0; start[count] as usize]);
        for (at, key) in keys.enumerate() {
            members[next[key as usize] as usize] = at as u32;
            next[key as usize] += 1;
        }
        Self { start, members }
    }

    fn len(&self) -> usize {
        self.start.len() - 1
    }

    fn of(&self, key: usize) -> &[u32] {
        &self.members[self.start[key] as usize..self.start[key + 1] as usize]
    }
}
