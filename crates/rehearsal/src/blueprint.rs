//! What to build: plan and wiring as namespaces, bridges and cables. Pure.
//!
//! Every device and switch is a **space** of its own (a network namespace). A switch on one network is a bridge; this kernel's
//! bridges may know no VLANs, so a switch on several networks is several bridges, and a cable that carries several is
//! several **leads**, one for each network. A chained device is a bridge over its two ports with a host behind a
//! third one: an address on the bridge itself would hide the way that packets take inside the device.

use crate::cost::scale;
use loomwright_forwarding::{CableIx, Fabric, NetworkIx, NodeIx, NodeKind};
use loomwright_model::net::{InterfaceAddress, Subnet};
use loomwright_model::{Control, Id, Plan, PortRef, Wiring};
use std::collections::BTreeMap;
use std::net::Ipv4Addr;

/// Interfaces are numbered from here in every space. Own choice: above the loopback's 1 and what a kernel makes by itself.
const FIRST_INDEX: u32 = 100;
/// Where made-up addresses come from. **Source**: RFC 2544 appendix C.2.2, 198.18.0.0/15, kept for tests.
const MADE_UP: Ipv4Addr = Ipv4Addr::new(198, 18, 0, 0);

/// Spanning tree of a bridge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TreeSetting {
    /// Bridge priority.
    pub priority: u16,
}

/// A bridge: a switch on one network, a router, or the inside of a chained device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BridgeBox {
    /// The node it stands for.
    pub node: NodeIx,
    /// Its space.
    pub space: u32,
    /// Its interface.
    pub port: Interface,
    /// Spanning tree, if it runs one.
    pub tree: Option<TreeSetting>,
    /// Whether multicast goes only where it was asked for.
    pub is_snooping: bool,
    /// Whether it asks who wants what.
    pub asks: bool,
    /// Its own address, if planned in this network.
    pub address: Option<InterfaceAddress>,
}

/// One network interface inside a space.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interface {
    /// Its number in the space.
    pub index: u32,
    /// Its name there.
    pub name: String,
    /// Its hardware address: locally administered, made from the numbers of space and interface.
    pub mac: [u8; 6],
}

/// One end of a lead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeadEnd {
    /// The space it ends in.
    pub space: u32,
    /// Its interface there.
    pub port: Interface,
    /// The bridge it is a port of; `None` where packets begin and end.
    pub bridge: Option<u32>,
    /// The planned port's number, which breaks ties in the spanning tree.
    pub number: u32,
    /// Path cost as this kernel takes it; 0 leaves it alone.
    pub cost: u32,
}

/// One network's way through a cable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lead {
    /// The cable.
    pub cable: CableIx,
    /// The network.
    pub network: NetworkIx,
    /// Its two ends, in the order of the cable's.
    pub ends: [LeadEnd; 2],
}

/// Where packets begin and end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Host {
    /// The node it stands for.
    pub node: NodeIx,
    /// Its space.
    pub space: u32,
    /// Its interface.
    pub port: Interface,
    /// Its addresses; the first is the audio address.
    pub addresses: Vec<InterfaceAddress>,
    /// For chained devices: the device's own bridge and the interface in it that faces the host.
    pub behind: Option<(u32, Interface)>,
}

/// Everything to build.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Blueprint {
    /// Devices and switches by name, one space each.
    pub spaces: Vec<Id>,
    /// Cables by name, in the order of the fabric's.
    pub cables: Vec<Id>,
    /// Networks by name, in the order of the plan.
    pub networks: Vec<Id>,
    /// All bridges.
    pub bridges: Vec<BridgeBox>,
    /// All leads, in the order of the fabric's links.
    pub leads: Vec<Lead>,
    /// All hosts.
    pub hosts: Vec<Host>,
    /// What had to be made up or changed, in sentences.
    pub notes: Vec<String>,
}

impl Blueprint {
    /// Draws up what to build. O(devices + cables).
    pub fn new(plan: &Plan, wiring: &Wiring, fabric: &Fabric) -> Self {
        let mut drafter = Drafter { plan, wiring, fabric, next: Vec::new(), at_node: BTreeMap::new(), made_up: 0, drawn: Self::default() };
        drafter.drawn.spaces = fabric.devices.iter().chain(&fabric.switches).cloned().collect();
        drafter.drawn.networks = fabric.networks.clone();
        drafter.drawn.cables = fabric.cables.iter().map(|cable| cable.id.clone()).collect();
        drafter.next = vec![FIRST_INDEX; drafter.drawn.spaces.len()];
        drafter.bridges();
        drafter.leads();
        drafter.inner_hosts();
        drafter.notes();
        drafter.drawn
    }

    /// The space of a device or switch.
    pub fn space_of(&self, id: &Id) -> Option<u32> {
        self.spaces.iter().position(|space| space == id).map(|at| at as u32)
    }

    /// Ports of a bridge as indexes of leads and ends, lowest planned port first.
    pub fn ports_of(&self, bridge: u32) -> Vec<(usize, usize)> {
        let ends = self.leads.iter().enumerate().flat_map(|(at, lead)| lead.ends.iter().enumerate().map(move |(n, end)| (at, n, end)));
        let mut ports: Vec<(u32, usize, usize)> =
            ends.filter(|(_, _, end)| end.bridge == Some(bridge)).map(|(at, n, end)| (end.number, at, n)).collect();
        ports.sort_unstable();
        ports.into_iter().map(|(_, at, n)| (at, n)).collect()
    }

    /// The host that stands for a node.
    pub fn host_at(&self, node: NodeIx) -> Option<u32> {
        self.hosts.iter().position(|host| host.node == node).map(|at| at as u32)
    }

    /// How many interfaces there are in all.
    pub fn interfaces(&self) -> usize {
        self.bridges.len() + 2 * self.leads.len() + 2 * self.hosts.iter().filter(|host| host.behind.is_some()).count()
    }
}

struct Drafter<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: &'a Fabric,
    /// Next free interface number of each space.
    next: Vec<u32>,
    /// The bridge at each node that is one.
    at_node: BTreeMap<NodeIx, u32>,
    /// How many addresses were made up.
    made_up: u32,
    drawn: Blueprint,
}

impl Drafter<'_> {
    fn space_of(&self, node: NodeIx) -> u32 {
        let devices = self.fabric.devices.len() as u32;
        match self.fabric.nodes[node.0 as usize].kind {
            NodeKind::Switch(switch) => devices + switch.0,
            NodeKind::Router(device) | NodeKind::Chained(device) | NodeKind::Interface(device, _) => device.0,
        }
    }

    fn interface(&mut self, space: u32, name: impl FnOnce(u32) -> String) -> Interface {
        let index = self.next[space as usize];
        self.next[space as usize] += 1;
        let [_, _, high, low] = space.to_be_bytes();
        // 02: locally administered, single address. **Source**: IEEE 802 (from memory).
        Interface { index, name: name(index), mac: [0x02, 0x10, high, low, (index >> 8) as u8, index as u8] }
    }

    fn bridges(&mut self) {
        for at in 0..self.fabric.nodes.len() as u32 {
            let node = NodeIx(at);
            let (kind, traits) = (self.fabric.nodes[at as usize], self.fabric.traits[at as usize]);
            if matches!(kind.kind, NodeKind::Interface(..)) {
                continue;
            }
            let space = self.space_of(node);
            let mut port = self.interface(space, |index| format!("br{index}"));
            let rank = traits.bridge;
            if let Some(rank) = rank {
                // Of two bridges with the same priority the lower address wins: the plan's order, made visible to the kernel.
                let [_, second, third, fourth] = rank.to_be_bytes();
                port.mac = [0x02, 0x00, second, third, fourth, port.index as u8];
            }
            let tree = rank.map(|rank| TreeSetting { priority: self.fabric.bridges[rank as usize].priority });
            let asks = traits.can_query && self.is_querier(node);
            let address = self.switch_address(node);
            self.at_node.insert(node, self.drawn.bridges.len() as u32);
            self.drawn.bridges.push(BridgeBox { node, space, port, tree, is_snooping: traits.is_snooping, asks, address });
        }
    }

    fn is_querier(&self, node: NodeIx) -> bool {
        let network = self.fabric.nodes[node.0 as usize].network;
        let named = network.and_then(|network| self.wiring.querier.get(&self.fabric.networks[network.0 as usize]));
        named.is_some_and(|switch| switch == self.fabric.owner(node))
    }

    /// The switch's own address, on the bridge of the network that it lies in.
    fn switch_address(&self, node: NodeIx) -> Option<InterfaceAddress> {
        let switch = self.wiring.switches.get(self.fabric.owner(node))?;
        let network = self.fabric.nodes[node.0 as usize].network?;
        let subnet = self.plan.networks.get_index(network.0 as usize)?.1.subnet?;
        switch.address.filter(|address| subnet.contains(address.address))
    }

    fn leads(&mut self) {
        let costs = scale(self.fabric.cables.iter().flat_map(|cable| cable.tree.map(|port| port.cost)));
        for (at, link) in self.fabric.links.clone().into_iter().enumerate() {
            let mut end = |n: usize| {
                let node = link.nodes[n];
                let space = self.space_of(node);
                let port = self.interface(space, |_| format!("l{at}{}", ["a", "b"][n]));
                let planned = self.fabric.cables[link.cable.0 as usize].tree[n];
                let bridge = self.at_node.get(&node).copied();
                let is_in_tree = bridge.is_some_and(|bridge| self.drawn.bridges[bridge as usize].tree.is_some());
                let cost = if is_in_tree { costs.of(planned.cost) } else { 0 };
                if bridge.is_none() {
                    let addresses = self.addresses(node);
                    self.drawn.hosts.push(Host { node, space, port: port.clone(), addresses, behind: None });
                }
                LeadEnd { space, port, bridge, number: planned.number, cost }
            };
            let ends = [end(0), end(1)];
            self.drawn.leads.push(Lead { cable: link.cable, network: link.network, ends });
        }
        self.drawn.notes.extend(costs.note());
    }

    /// The own interfaces of chained devices.
    fn inner_hosts(&mut self) {
        for at in 0..self.drawn.bridges.len() {
            let (node, space) = (self.drawn.bridges[at].node, self.drawn.bridges[at].space);
            if !matches!(self.fabric.nodes[node.0 as usize].kind, NodeKind::Chained(_)) {
                continue;
            }
            let inner = self.interface(space, |index| format!("c{index}"));
            let port = self.interface(space, |index| format!("h{index}"));
            let addresses = self.addresses(node);
            self.drawn.hosts.push(Host { node, space, port, addresses, behind: Some((at as u32, inner)) });
        }
    }

    /// Planned addresses of a host, or one that is made up.
    fn addresses(&mut self, node: NodeIx) -> Vec<InterfaceAddress> {
        let names = self.port_names(node);
        let owner = self.fabric.owner(node).clone();
        let planned = names.into_iter().filter_map(|port| self.wiring.interfaces.get(&PortRef::new(owner.clone(), port)));
        let planned: Vec<InterfaceAddress> = planned.map(|interface| interface.address).collect();
        if !planned.is_empty() {
            return planned;
        }
        self.made_up += 1;
        let address = Ipv4Addr::from(u32::from(MADE_UP) + self.made_up);
        Subnet::containing(address, 15).map(|subnet| InterfaceAddress { address, subnet }).into_iter().collect()
    }

    /// Names under which the wiring keeps the addresses of a host: its port, then a control function that is merged into it.
    fn port_names(&self, node: NodeIx) -> Vec<Id> {
        let (device, port) = match self.fabric.nodes[node.0 as usize].kind {
            NodeKind::Chained(device) => (device, 0),
            NodeKind::Interface(device, port) => (device, usize::from(port)),
            NodeKind::Switch(_) | NodeKind::Router(_) => return Vec::new(),
        };
        let gear = self.plan.devices.get_index(device.0 as usize).and_then(|(_, device)| self.plan.gear_of(device));
        let Some(gear) = gear else { return Vec::new() };
        let is_chained = matches!(self.fabric.nodes[node.0 as usize].kind, NodeKind::Chained(_));
        match (gear.audio_ports.get(port), &gear.control) {
            (Some(audio), Some(Control::MergedWith(with))) if is_chained || audio.name == *with => {
                [Some(audio.name.clone()), Id::new("control").ok()].into_iter().flatten().collect()
            }
            (Some(audio), _) => vec![audio.name.clone()],
            (None, Some(Control::Own { port, .. })) => vec![port.clone()],
            (None, _) => Vec::new(),
        }
    }

    fn notes(&mut self) {
        if self.made_up > 0 {
            let says = format!("{} of the interfaces have no planned address: they got made-up ones from 198.18.0.0/15.", self.made_up);
            self.drawn.notes.push(says);
        }
        for (cable, reason) in &self.fabric.left_out {
            self.drawn.notes.push(format!("Cable {cable} was left out, or a network of it: {reason}."));
        }
    }
}
