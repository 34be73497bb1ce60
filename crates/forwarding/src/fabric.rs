//! Plan and wiring compiled into dense indexes.
//!
//! A **node** is where frames of one network are forwarded or end: a switch on one network, the
//! internal switch of a chained device (which ignores VLANs), or a single interface. A device with
//! two independent ports is two nodes that are not joined: it never forwards between them.
//! A **link** is one cable carrying one network between two nodes. A **direction** is one cable in one
//! direction: the queue at the sending port, shared by all networks on that cable.

use crate::compile::Compiler;
use loomwright_model::{BitRate, Id, LatencyRange, Plan, PortRef, Time, Wiring};
use std::ops::Range;

/// Index into [`Fabric::cables`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CableIx(pub u32);
/// Index of a device in the plan's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DeviceIx(pub u32);
/// Index of a switch in the wiring's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SwitchIx(pub u32);
/// Index of a network in the plan's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NetworkIx(pub u16);
/// Index into [`Fabric::nodes`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodeIx(pub u32);

/// One cable in one direction; the egress queue at the port it leaves from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Direction(pub u32);

impl Direction {
    /// From end `from` (0 or 1) of `cable` to the other end.
    pub const fn new(cable: CableIx, from: usize) -> Self {
        Self(cable.0 * 2 + from as u32)
    }

    /// Its cable.
    pub const fn cable(self) -> CableIx {
        CableIx(self.0 / 2)
    }

    /// Which end of the cable it leaves from, 0 or 1.
    pub const fn from_end(self) -> usize {
        (self.0 % 2) as usize
    }

    /// The same cable, the other way.
    pub const fn reversed(self) -> Self {
        Self(self.0 ^ 1)
    }
}

/// What a node is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NodeKind {
    /// A switch on one of its networks.
    Switch(SwitchIx),
    /// A Wi-Fi router (or any device of a switching kind), on all its ports.
    Router(DeviceIx),
    /// The internal switch of a chained device, with the device's own interface.
    Chained(DeviceIx),
    /// One interface that ends frames: a single or independent audio port, or a control jack. The
    /// number is the port's index in the gear's `port_specs`.
    Interface(DeviceIx, u16),
}

/// A node.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Node {
    /// What it is.
    pub kind: NodeKind,
    /// The network it belongs to as wired; `None` for something with no cable.
    pub network: Option<NetworkIx>,
}

/// One cable, compiled.
#[derive(Debug, Clone)]
pub struct FabricCable {
    /// Its name.
    pub id: Id,
    /// The ports it joins.
    pub ends: [PortRef; 2],
    /// The speed both ends agree on: the lower of the two.
    pub speed: BitRate,
    /// How long a bit travels in it.
    pub propagation: Time,
    /// Networks it carries.
    pub networks: Vec<NetworkIx>,
    /// What spanning tree sees of the port at each end.
    pub tree: [TreePort; 2],
}

/// A port as spanning tree sees it. All ports keep port priority 128.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TreePort {
    /// Its number on its box, from 1.
    pub number: u32,
    /// What a path through it costs.
    pub cost: u32,
}

/// A box that runs spanning tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bridge {
    /// Its priority; lower becomes root.
    pub priority: u16,
    /// Its name, which stands in for the MAC address that a plan does not know: of two bridges with
    /// the same priority the one first in the alphabet wins.
    pub id: Id,
}

/// What a node does with frames, beyond its kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct NodeTraits {
    /// It is part of this bridge: index into [`Fabric::bridges`].
    pub bridge: Option<u32>,
    /// Multicast goes only where it was asked for, while a querier asks.
    pub is_snooping: bool,
    /// It can ask who wants which group.
    pub can_query: bool,
    /// It ends the clock exchange and begins its own: a boundary clock.
    pub is_boundary_clock: bool,
}

impl FabricCable {
    /// Whether its frames carry a VLAN tag: so on cables that carry several networks.
    pub fn is_tagged(&self) -> bool {
        self.networks.len() > 1
    }
}

/// One cable carrying one network between two nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// The cable.
    pub cable: CableIx,
    /// The network.
    pub network: NetworkIx,
    /// The nodes at the cable's end 0 and end 1.
    pub nodes: [NodeIx; 2],
}

/// A cable whose network is not that of the node it is plugged into: two networks become one there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Join {
    /// The cable.
    pub cable: CableIx,
    /// Which of its ends, 0 or 1.
    pub end: usize,
    /// The network the cable is meant for.
    pub network: NetworkIx,
    /// The network of the node at that end.
    pub meets: NetworkIx,
    /// That node.
    pub node: NodeIx,
}

/// An interface of a device: where its frames of one network begin and end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Attachment {
    /// The network.
    pub network: NetworkIx,
    /// The node.
    pub node: NodeIx,
}

/// Plan and wiring, compiled. Never fails: what cannot be compiled (a port that is not there) is left
/// out and listed in [`Fabric::left_out`].
#[derive(Debug, Clone, Default)]
pub struct Fabric {
    /// Networks in plan order.
    pub networks: Vec<Id>,
    /// Devices in plan order.
    pub devices: Vec<Id>,
    /// Switches in wiring order.
    pub switches: Vec<Id>,
    /// Cables that could be compiled, in wiring order.
    pub cables: Vec<FabricCable>,
    /// All nodes.
    pub nodes: Vec<Node>,
    /// Forwarding latency of each node (zero for interfaces).
    pub latency: Vec<LatencyRange>,
    /// What each node does with frames.
    pub traits: Vec<NodeTraits>,
    /// Boxes that run spanning tree, the best root first.
    pub bridges: Vec<Bridge>,
    /// All links.
    pub links: Vec<Link>,
    /// Links of each node as `(link index, node at the other end)`, nodes in order; see [`Fabric::neighbours`].
    pub adjacency: Vec<(u32, NodeIx)>,
    /// Where each node's part of `adjacency` starts; one longer than `nodes`.
    pub adjacency_start: Vec<u32>,
    /// The interfaces of each device that carry audio, one per network, devices in order.
    pub audio: Vec<Vec<Attachment>>,
    /// The control interface of each device, if it has one and it is wired.
    pub control: Vec<Option<Attachment>>,
    /// Names of cables that could not be compiled, or not for all their networks, each with the reason.
    pub left_out: Vec<(Id, String)>,
    /// Where a cable joins two networks, in the order of the links.
    pub joins: Vec<Join>,
    /// First link of each cable, one longer than `cables`.
    pub cable_start: Vec<u32>,
    /// First node of each switch, one longer than `switches`.
    pub switch_start: Vec<u32>,
    /// First node of each device, one longer than `devices`.
    pub device_start: Vec<u32>,
}

impl Fabric {
    /// Compiles `plan` and `wiring`. O(devices + cables).
    ///
    /// A switch on one network takes a cable of any one network into it, as its ports do; where the
    /// names differ, see [`Fabric::joins`]. A switch on several networks, and a cable that carries
    /// several, are matched network by network. Devices take one network from a cable.
    pub fn new(plan: &Plan, wiring: &Wiring) -> Self {
        Compiler::new(plan, wiring).compile()
    }

    /// Indexes of the links that `cable` makes, one for each network it carries.
    pub fn links_of(&self, cable: CableIx) -> Range<usize> {
        range(&self.cable_start, cable.0)
    }

    /// Indexes of the nodes of `switch`, one for each of its networks.
    pub fn nodes_of_switch(&self, switch: SwitchIx) -> Range<usize> {
        range(&self.switch_start, switch.0)
    }

    /// Indexes of the nodes of `device`.
    pub fn nodes_of_device(&self, device: DeviceIx) -> Range<usize> {
        range(&self.device_start, device.0)
    }

    /// The cable with this name.
    pub fn cable(&self, id: &Id) -> Option<CableIx> {
        self.cables.iter().position(|cable| cable.id == *id).map(|at| CableIx(at as u32))
    }

    /// The device or switch that `node` is part of.
    pub fn owner(&self, node: NodeIx) -> &Id {
        match self.nodes[node.0 as usize].kind {
            NodeKind::Switch(switch) => &self.switches[switch.0 as usize],
            NodeKind::Router(device) | NodeKind::Chained(device) | NodeKind::Interface(device, _) => &self.devices[device.0 as usize],
        }
    }

    /// The port that frames in `direction` leave from.
    pub fn from_port(&self, direction: Direction) -> &PortRef {
        &self.cables[direction.cable().0 as usize].ends[direction.from_end()]
    }

    /// The port that frames in `direction` arrive at.
    pub fn to_port(&self, direction: Direction) -> &PortRef {
        self.from_port(direction.reversed())
    }

    /// Links of `node` and the nodes at their other ends.
    pub fn neighbours(&self, node: NodeIx) -> &[(u32, NodeIx)] {
        let at = node.0 as usize;
        &self.adjacency[self.adjacency_start[at] as usize..self.adjacency_start[at + 1] as usize]
    }
}

fn range(starts: &[u32], at: u32) -> Range<usize> {
    starts[at as usize] as usize..starts[at as usize + 1] as usize
}
