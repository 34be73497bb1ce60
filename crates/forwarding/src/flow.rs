//! Where every packet stream goes.

use crate::domain::{CutByTree, Forest, Storm};
use crate::fabric::{Direction, Fabric, NetworkIx, NodeIx};
use crate::packets::PacketStreams;
use crate::removed::{Alive, Removed};
use crate::trace::{Errand, Tracer};
use crate::tree::{Tree, spanning_tree};
use loomwright_model::plan::{Carries, Legs, Mode};
use loomwright_model::{Id, Item, Plan, Stream, Wiring};
use std::collections::{BTreeMap, BTreeSet};
use std::net::Ipv4Addr;

/// No parent: the first hop of a flow.
pub const NO_PARENT: u32 = u32::MAX;

/// One direction that a flow takes, wanted there or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlowHop {
    /// The cable and direction.
    pub direction: Direction,
    /// The hop before it in [`Flow::hops`], or [`NO_PARENT`].
    pub parent: u32,
    /// Whether a receiver of the stream lies behind it. False for flooding and for copies that only
    /// the querier's port gets.
    pub wanted: bool,
}

/// Where a flow reaches a receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Delivery {
    /// Index in the stream's `to`.
    pub receiver: u32,
    /// Index of the last hop in [`Flow::hops`].
    pub hop: u32,
}

/// One packet stream in one network: a tree of hops, parents before children. A unicast stream has
/// one flow per receiver.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flow {
    /// Index in [`PacketStreams::all`].
    pub packet_stream: u32,
    /// The network.
    pub network: NetworkIx,
    /// Where it starts.
    pub sender: NodeIx,
    /// The tree.
    pub hops: Vec<FlowHop>,
    /// Where it arrives.
    pub deliveries: Vec<Delivery>,
}

impl Flow {
    /// Hops to `delivery`, first to last, as indexes into [`Flow::hops`].
    pub fn hops_to(&self, delivery: Delivery) -> Vec<u32> {
        let mut path = Vec::new();
        let mut at = delivery.hop;
        while at != NO_PARENT {
            path.push(at);
            at = self.hops[at as usize].parent;
        }
        path.reverse();
        path
    }

    /// Directions to `delivery`, first to last.
    pub fn path(&self, delivery: Delivery) -> Vec<Direction> {
        self.hops_to(delivery).into_iter().map(|hop| self.hops[hop as usize].direction).collect()
    }

    /// Ports and cables to `delivery` in order: the sender's port, the cable, the port it goes into,
    /// the port it leaves from, and so on to the receiver's port.
    pub fn items_to(&self, fabric: &Fabric, delivery: Delivery) -> Vec<Item> {
        let items = self.path(delivery).into_iter().flat_map(|direction| {
            let cable = &fabric.cables[direction.cable().0 as usize];
            let [from, to] = [fabric.from_port(direction), fabric.to_port(direction)].map(|port| Item::Port(port.clone()));
            [from, Item::Cable(cable.id.clone()), to]
        });
        items.collect()
    }
}

/// What the fabric does with frames.
#[derive(Debug, Clone, Default)]
pub struct Forwarding {
    /// Packet streams of the plan.
    pub packets: PacketStreams,
    /// All flows: packet streams in order, within one the networks in order.
    pub flows: Vec<Flow>,
    /// For each link of the fabric: whether spanning tree blocks it.
    pub blocked: Vec<bool>,
    /// For each link: whether frames pass, because it is there and not blocked.
    pub passes: Vec<bool>,
    /// Loops that nothing breaks.
    pub storms: Vec<Storm>,
    /// Layer-2 domains: a number for each node; nodes with the same number hear each other's broadcasts.
    pub domain: Vec<u32>,
    /// Whether a querier asks in each domain.
    pub has_querier: Vec<bool>,
    /// What spanning tree decided.
    pub tree: Tree,
    /// Networks that spanning tree cuts though cables are there.
    pub cut: Vec<CutByTree>,
}

impl Forwarding {
    /// Domains in which devices of several networks hear each other, each with those networks.
    /// Nodes without a network (nothing plugged in) do not count.
    pub fn joined_networks(&self, fabric: &Fabric) -> BTreeMap<u32, BTreeSet<NetworkIx>> {
        let mut found: BTreeMap<u32, BTreeSet<NetworkIx>> = BTreeMap::new();
        for (node, domain) in fabric.nodes.iter().zip(&self.domain) {
            found.entry(*domain).or_default().extend(node.network);
        }
        found.retain(|_, networks| networks.len() > 1);
        found
    }
}

/// Decides where everything goes, for `fabric` whole.
pub fn forward(plan: &Plan, wiring: &Wiring, fabric: &Fabric) -> Forwarding {
    forward_without(plan, wiring, fabric, &Removed::default())
}

/// Decides where everything goes once `removed` is taken away and spanning tree has settled again.
///
/// Steps: spanning tree over what is left; a tree over each domain, rooted at its querier; then each
/// packet stream walks that tree. Where a loop is left, one tree of it is used, and the loop is in
/// [`Forwarding::storms`]. **Cost**: O(nodes + links + hops of all flows), plus the tree's heap.
pub fn forward_without(plan: &Plan, wiring: &Wiring, fabric: &Fabric, removed: &Removed) -> Forwarding {
    let alive = Alive::new(fabric, removed);
    let tree = spanning_tree(fabric, &alive);
    let mut blocked = vec![false; fabric.links.len()];
    for (cable, _) in &tree.blocked_ports {
        fabric.links_of(*cable).for_each(|link| blocked[link] = true);
    }
    let passes: Vec<bool> = alive.links.iter().zip(&blocked).map(|(alive, blocked)| *alive && !*blocked).collect();
    let forest = Forest::new(fabric, &alive, &passes, wiring);
    let cut = cuts(fabric, &alive, &blocked, &forest);
    let packets = PacketStreams::new(plan);
    let mut streams = Streams { plan, wiring, fabric, tracer: Tracer::new(fabric, &alive, &forest), flows: Vec::new() };
    for (at, (id, stream)) in plan.streams.iter().enumerate() {
        streams.add(id, stream, packets.first[at]..packets.first[at + 1]);
    }
    let flows = streams.flows;
    let storms = forest.storms(fabric);
    Forwarding { packets, flows, blocked, passes, storms, domain: forest.domain, has_querier: forest.has_querier, tree, cut }
}

/// Only the spanning tree once `removed` is taken away and it has settled again. O((cables + bridges) log bridges).
pub fn tree_without(fabric: &Fabric, removed: &Removed) -> Tree {
    spanning_tree(fabric, &Alive::new(fabric, removed))
}

fn cuts(fabric: &Fabric, alive: &Alive, blocked: &[bool], forest: &Forest) -> Vec<CutByTree> {
    let mut cuts = Vec::new();
    for (at, link) in fabric.links.iter().enumerate() {
        let [a, b] = link.nodes.map(|node| forest.domain[node.0 as usize]);
        if alive.links[at] && blocked[at] && a != b {
            cuts.push(CutByTree { cable: link.cable, network: link.network });
        }
    }
    cuts
}

/// Turns streams into flows.
struct Streams<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: &'a Fabric,
    tracer: Tracer<'a>,
    flows: Vec<Flow>,
}

impl Streams<'_> {
    fn add(&mut self, id: &Id, stream: &Stream, packets: std::ops::Range<u32>) {
        let ways: Vec<(NetworkIx, Errand)> = self.errands(stream);
        for packet_stream in packets.clone() {
            let number = packet_stream - packets.start + 1;
            let groups = self.wiring.groups.get(&(id.clone(), number));
            for (network, errand) in &ways {
                let group = groups.and_then(|groups| groups.get(&self.fabric.networks[network.0 as usize]));
                let mut add = |(hops, deliveries)| {
                    self.flows.push(Flow { packet_stream, network: *network, sender: errand.sender, hops, deliveries });
                };
                if stream.mode == Mode::Unicast {
                    errand.receivers.iter().for_each(|receiver| add(self.tracer.unicast(errand.sender, *receiver)));
                } else {
                    add(self.tracer.multicast(errand, group.is_some_and(|group| is_always_flooded(*group))));
                }
            }
        }
    }

    /// The networks a stream uses, each with its sender and receivers there.
    fn errands(&self, stream: &Stream) -> Vec<(NetworkIx, Errand)> {
        let Some(from) = self.plan.devices.get_index_of(&stream.from) else { return Vec::new() };
        let mut errands = Vec::new();
        for sender in &self.fabric.audio[from] {
            let network = sender.network.0 as usize;
            if !uses(self.plan, stream, network) {
                continue;
            }
            let mut receivers = Vec::new();
            for (at, to) in stream.to.iter().enumerate() {
                let device = self.plan.devices.get_index_of(to).filter(|to| *to != from);
                let audio = device.map_or(&[][..], |to| &self.fabric.audio[to]);
                let node = audio.iter().find(|audio| audio.network == sender.network).map(|audio| audio.node);
                receivers.extend(node.map(|node| (at as u32, node)));
            }
            if !receivers.is_empty() {
                errands.push((sender.network, Errand { sender: sender.node, receivers }));
            }
        }
        errands.sort_by_key(|(network, _)| *network);
        errands
    }
}

fn uses(plan: &Plan, stream: &Stream, network: usize) -> bool {
    let Some((id, network)) = plan.networks.get_index(network) else { return false };
    match &stream.legs {
        Legs::Both => network.carries == Carries::Audio,
        Legs::Only(networks) => networks.contains(id),
    }
}

/// Whether a group's MAC address is one of 224.0.0.0/24, which snooping switches pass everywhere.
/// **Source**: RFC 1112 section 6.4 (low 23 bits), RFC 4541 section 2.1.2 (2).
pub fn is_always_flooded(group: Ipv4Addr) -> bool {
    u32::from(group) & 0x007f_ff00 == 0
}
