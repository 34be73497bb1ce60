//! Turns plan and wiring into a [`Fabric`].

use crate::fabric::{
    Attachment, Bridge, CableIx, DeviceIx, Fabric, FabricCable, Join, Link, NetworkIx, Node, NodeIx, NodeKind, NodeTraits, SwitchIx,
    TreePort,
};
use loomwright_model::{
    BitRate, Cable, ClockSupport, Control, Gear, GearKind, Id, LatencyRange, Length, Medium, Pairing, Plan, PortRef, PortRole,
    SpanningTree, Time, Wiring,
};
use std::collections::HashMap;

/// Travel time per metre of copper. **Source**: common planning value; TIA-568 allows 5.38 to 5.70 ns
/// (cabling text-book table, read second-hand).
const COPPER_PICOSECONDS_PER_METRE: u64 = 5_000;
/// Travel time per metre of fibre: refractive index 1.468. **Source**: derived from the index.
const FIBRE_PICOSECONDS_PER_METRE: u64 = 4_900;

/// Bridge priority that switches leave the factory with. **Source**: IEEE 802.1D clause 17 (read second-hand).
const DEFAULT_BRIDGE_PRIORITY: u16 = 32_768;
/// Highest path cost. **Source**: IEEE 802.1Q (from memory).
const MOST_COST: u64 = 200_000_000;

/// What is plugged into at one end of a cable.
#[derive(Clone, Copy)]
struct End {
    /// First node of the owner; tells owners apart.
    owner: u32,
    port: u32,
    speed: BitRate,
    /// Path cost that the wiring sets for the port.
    cost: Option<u32>,
    seat: Seat,
}

/// How a port finds its node.
#[derive(Clone, Copy)]
enum Seat {
    /// Always this one.
    Node(NodeIx),
    /// The switch's node of the cable's network.
    Switch(SwitchIx),
}

/// A port found on a gear type.
struct FoundPort {
    index: u32,
    role: PortRole,
    speed: BitRate,
}

/// Builds a fabric step by step.
pub(crate) struct Compiler<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: Fabric,
    /// Networks of each switch, in node order.
    carried: Vec<Vec<NetworkIx>>,
    /// The cable in each port, by owner's first node and port index.
    plugged: HashMap<(u32, u32), Id>,
}

impl<'a> Compiler<'a> {
    pub(crate) fn new(plan: &'a Plan, wiring: &'a Wiring) -> Self {
        Self { plan, wiring, fabric: Fabric::default(), carried: Vec::new(), plugged: HashMap::new() }
    }

    pub(crate) fn compile(mut self) -> Fabric {
        self.fabric.networks = self.plan.networks.keys().cloned().collect();
        self.add_switches();
        self.add_devices();
        self.add_cables();
        self.fabric.joins = joins(&self.fabric);
        self.rank_bridges();
        self.index_neighbours();
        self.attach();
        self.fabric
    }

    fn add_node(&mut self, kind: NodeKind, network: Option<NetworkIx>, latency: LatencyRange) {
        self.fabric.nodes.push(Node { kind, network });
        self.fabric.latency.push(latency);
    }

    fn node_count(&self) -> u32 {
        self.fabric.nodes.len() as u32
    }

    fn network(&self, id: &Id) -> Option<NetworkIx> {
        self.plan.networks.get_index_of(id).map(|at| NetworkIx(at as u16))
    }

    fn add_switches(&mut self) {
        for (at, (id, switch)) in self.wiring.switches.iter().enumerate() {
            self.fabric.switches.push(id.clone());
            self.fabric.switch_start.push(self.node_count());
            let mut carried: Vec<NetworkIx> = switch.networks.iter().filter_map(|network| self.network(network)).collect();
            carried.sort_unstable();
            carried.dedup();
            let latency = self.plan.gear.get(&switch.gear).map_or(Gear::LATENCY, |gear| gear.latency);
            let kind = NodeKind::Switch(SwitchIx(at as u32));
            for network in &carried {
                self.add_node(kind, Some(*network), latency);
            }
            if carried.is_empty() {
                self.add_node(kind, None, latency);
            }
            self.carried.push(carried);
        }
        self.fabric.switch_start.push(self.node_count());
    }

    fn add_devices(&mut self) {
        for (at, (id, device)) in self.plan.devices.iter().enumerate() {
            self.fabric.devices.push(id.clone());
            self.fabric.device_start.push(self.node_count());
            let Some(gear) = self.plan.gear_of(device) else { continue };
            self.add_device(DeviceIx(at as u32), gear, self.wiring.pairing_of(id, device, gear));
        }
        self.fabric.device_start.push(self.node_count());
    }

    fn add_device(&mut self, device: DeviceIx, gear: &Gear, pairing: Option<Pairing>) {
        const NONE: LatencyRange = LatencyRange { least: Time::ZERO, most: Time::ZERO };
        if gear.is_switching() {
            return self.add_node(NodeKind::Router(device), None, gear.latency);
        }
        if pairing == Some(Pairing::Chained) {
            self.add_node(NodeKind::Chained(device), None, gear.latency);
        } else {
            for port in 0..gear.audio_ports.len() {
                self.add_node(NodeKind::Interface(device, port as u16), None, NONE);
            }
        }
        if matches!(gear.control, Some(Control::Own { .. })) {
            self.add_node(NodeKind::Interface(device, gear.audio_ports.len() as u16), None, NONE);
        }
    }

    /// The node of a device's port: nodes lie in the order that [`Self::add_device`] makes them.
    fn device_node(&self, device: DeviceIx, role: PortRole) -> NodeIx {
        let nodes = self.fabric.nodes_of_device(device);
        let last = nodes.end.saturating_sub(1);
        let at = match (role, self.fabric.nodes[nodes.start].kind) {
            (PortRole::Control, _) => last,
            (PortRole::Audio(n), NodeKind::Interface(..)) => nodes.start + n,
            _ => nodes.start,
        };
        NodeIx(at as u32)
    }

    fn end(&self, port: &PortRef) -> Result<End, String> {
        let gear = self.wiring.gear_at(self.plan, &port.item).ok_or_else(|| format!("`{}` or its gear type is not known", port.item))?;
        let found = find_port(gear, &port.port).ok_or_else(|| format!("there is no port `{port}`"))?;
        let (index, speed) = (found.index, found.speed);
        if let Some(at) = self.plan.devices.get_index_of(&port.item) {
            if self.fabric.nodes_of_device(DeviceIx(at as u32)).is_empty() {
                return Err(format!("`{}` has no interface", port.item));
            }
            let seat = Seat::Node(self.device_node(DeviceIx(at as u32), found.role));
            return Ok(End { owner: self.fabric.device_start[at], port: index, speed, cost: None, seat });
        }
        let (at, _, switch) = self.wiring.switches.get_full(&port.item).ok_or_else(|| format!("`{}` is not known", port.item))?;
        let cost = port.number().and_then(|number| switch.path_cost.get(&number).copied());
        Ok(End { owner: self.fabric.switch_start[at], port: index, speed, cost, seat: Seat::Switch(SwitchIx(at as u32)) })
    }

    fn add_cables(&mut self) {
        for (id, cable) in &self.wiring.cables {
            self.fabric.cable_start.push(self.fabric.links.len() as u32);
            if let Err(reason) = self.add_cable(id, cable) {
                self.fabric.left_out.push((id.clone(), reason));
                self.fabric.cable_start.pop();
            }
        }
        self.fabric.cable_start.push(self.fabric.links.len() as u32);
    }

    fn add_cable(&mut self, id: &Id, cable: &Cable) -> Result<(), String> {
        let ends = [self.end(&cable.ends[0])?, self.end(&cable.ends[1])?];
        if (ends[0].owner, ends[0].port) == (ends[1].owner, ends[1].port) {
            return Err(format!("both ends are in port `{}`", cable.ends[0]));
        }
        for (end, port) in ends.iter().zip(&cable.ends) {
            if let Some(other) = self.plugged.get(&(end.owner, end.port)) {
                return Err(format!("port `{port}` is taken by cable `{other}`"));
            }
        }
        let speed = ends[0].speed.min(ends[1].speed);
        if speed == BitRate::ZERO {
            return Err("a port without speed passes nothing".to_owned());
        }
        let networks: Vec<NetworkIx> = cable.networks.iter().filter_map(|network| self.network(network)).collect();
        if networks.is_empty() {
            return Err("it carries no network that the plan has".to_owned());
        }
        let propagation = propagation(cable.medium, cable.length);
        let compiled = FabricCable {
            id: id.clone(),
            ends: cable.ends.clone(),
            speed,
            propagation,
            networks,
            tree: ends.map(|end| tree_port(end, speed)),
        };
        if !self.add_links(&compiled, ends) {
            return Err("no network passes from one end to the other".to_owned());
        }
        for end in ends {
            self.plugged.insert((end.owner, end.port), id.clone());
        }
        self.fabric.cables.push(compiled);
        Ok(())
    }

    /// Adds a link for each network that finds a node at both ends; says whether there was one.
    fn add_links(&mut self, cable: &FabricCable, ends: [End; 2]) -> bool {
        let before = self.fabric.links.len();
        let cable_ix = CableIx(self.fabric.cables.len() as u32);
        for (at, &network) in cable.networks.iter().enumerate() {
            let sought = Sought { network, is_first: at == 0, is_alone: cable.networks.len() == 1 };
            match (self.node_at(ends[0], sought), self.node_at(ends[1], sought)) {
                (Ok(a), Ok(b)) => self.add_link(Link { cable: cable_ix, network, nodes: [a, b] }),
                (Err(reason), _) | (_, Err(reason)) => self.fabric.left_out.push((cable.id.clone(), reason)),
            }
        }
        self.fabric.links.len() > before
    }

    fn add_link(&mut self, link: Link) {
        for node in link.nodes {
            self.fabric.nodes[node.0 as usize].network.get_or_insert(link.network);
        }
        self.fabric.links.push(link);
    }

    fn node_at(&self, end: End, sought: Sought) -> Result<NodeIx, String> {
        let name = &self.fabric.networks[sought.network.0 as usize];
        let (switch, first) = match end.seat {
            Seat::Node(node) if sought.is_first => return Ok(node),
            Seat::Node(node) => {
                return Err(format!("`{}` takes one network from a cable: `{name}` does not pass", self.fabric.owner(node)));
            }
            Seat::Switch(switch) => (switch.0 as usize, end.owner),
        };
        let carried = &self.carried[switch];
        if carried.len() <= 1 && sought.is_alone {
            return Ok(NodeIx(first));
        }
        let position = carried.iter().position(|network| *network == sought.network);
        let at = position.ok_or_else(|| format!("switch `{}` does not carry network `{name}`", self.fabric.switches[switch]))?;
        Ok(NodeIx(first + at as u32))
    }

    /// Lists the boxes that run spanning tree, and what each node does with frames.
    fn rank_bridges(&mut self) {
        let mut bridges: Vec<Bridge> = Vec::new();
        let gear_of = |node: &Node| match node.kind {
            NodeKind::Switch(switch) => self.wiring.switches.get_index(switch.0 as usize).map(|(id, s)| (id, &s.gear, s.bridge_priority)),
            NodeKind::Router(device) | NodeKind::Chained(device) => {
                self.plan.devices.get_index(device.0 as usize).map(|(id, d)| (id, &d.gear, None))
            }
            NodeKind::Interface(..) => None,
        };
        let found: Vec<_> = self
            .fabric
            .nodes
            .iter()
            .map(|node| {
                let (id, gear, priority) = gear_of(node)?;
                Some((id, self.plan.gear.get(gear)?, priority.unwrap_or(DEFAULT_BRIDGE_PRIORITY)))
            })
            .collect();
        for (id, _, priority) in found.iter().flatten().filter(|(_, gear, _)| gear.spanning_tree != SpanningTree::None) {
            bridges.push(Bridge { priority: *priority, id: (*id).clone() });
        }
        bridges.sort_by(|a, b| (a.priority, &a.id).cmp(&(b.priority, &b.id)));
        bridges.dedup();
        let rank: HashMap<&Id, u32> = bridges.iter().enumerate().map(|(at, bridge)| (&bridge.id, at as u32)).collect();
        self.fabric.traits = found
            .iter()
            .map(|found| {
                found.map_or(NodeTraits::default(), |(id, gear, _)| NodeTraits {
                    bridge: rank.get(id).copied(),
                    is_snooping: gear.kind == GearKind::Switch && gear.snooping,
                    can_query: gear.kind == GearKind::Switch && gear.querier,
                    is_boundary_clock: gear.clock_support == ClockSupport::Boundary,
                })
            })
            .collect();
        self.fabric.bridges = bridges;
    }

    fn index_neighbours(&mut self) {
        let mut lists: Vec<Vec<(u32, NodeIx)>> = vec![Vec::new(); self.fabric.nodes.len()];
        for (at, link) in self.fabric.links.iter().enumerate() {
            let [a, b] = link.nodes;
            lists[a.0 as usize].push((at as u32, b));
            lists[b.0 as usize].push((at as u32, a));
        }
        self.fabric.adjacency_start.push(0);
        for list in lists {
            self.fabric.adjacency.extend(list);
            self.fabric.adjacency_start.push(self.fabric.adjacency.len() as u32);
        }
    }

    fn attach(&mut self) {
        for (at, (_, device)) in self.plan.devices.iter().enumerate() {
            let device_ix = DeviceIx(at as u32);
            let gear = self.plan.gear_of(device).filter(|gear| !gear.is_switching());
            let audio = gear.map_or(Vec::new(), |gear| self.audio_of(device_ix, gear));
            let control = gear.and_then(|gear| self.control_of(device_ix, gear));
            self.fabric.audio.push(audio);
            self.fabric.control.push(control);
        }
    }

    fn attachment(&self, node: NodeIx) -> Option<Attachment> {
        self.fabric.nodes[node.0 as usize].network.map(|network| Attachment { network, node })
    }

    fn audio_of(&self, device: DeviceIx, gear: &Gear) -> Vec<Attachment> {
        let mut found: Vec<Attachment> = Vec::new();
        for port in 0..gear.audio_ports.len() {
            let attachment = self.attachment(self.device_node(device, PortRole::Audio(port)));
            found.extend(attachment.filter(|new| found.iter().all(|old| old.network != new.network)));
        }
        found
    }

    fn control_of(&self, device: DeviceIx, gear: &Gear) -> Option<Attachment> {
        let role = match gear.control.as_ref()? {
            Control::Own { .. } => PortRole::Control,
            Control::MergedWith(port) => PortRole::Audio(gear.audio_ports.iter().position(|audio| audio.name == *port)?),
        };
        self.attachment(self.device_node(device, role))
    }
}

/// One network of a cable, looking for its node.
#[derive(Clone, Copy)]
struct Sought {
    network: NetworkIx,
    is_first: bool,
    is_alone: bool,
}

/// Finds a port without building the whole list of ports.
fn find_port(gear: &Gear, name: &Id) -> Option<FoundPort> {
    if let Some(at) = gear.audio_ports.iter().position(|port| port.name == *name) {
        return Some(FoundPort { index: at as u32, role: PortRole::Audio(at), speed: gear.audio_ports[at].speed });
    }
    let audio = gear.audio_ports.len() as u32;
    match &gear.control {
        Some(Control::Own { port, speed }) if port == name => {
            return Some(FoundPort { index: audio, role: PortRole::Control, speed: *speed });
        }
        _ => {}
    }
    if !gear.is_switching() {
        return None;
    }
    let text = name.as_str();
    let number: u32 = text.parse().ok().filter(|n| *n > 0 && text.starts_with(|c: char| ('1'..='9').contains(&c)))?;
    let mut last = 0u32;
    for group in &gear.ports {
        last = last.saturating_add(group.count);
        if number <= last {
            return Some(FoundPort { index: audio + number - 1, role: PortRole::Switch, speed: group.speed });
        }
    }
    None
}

/// Path cost in the long mode. **Source**: 20 Tb/s / rate, IEEE 802.1D-2004 and 802.1Q (read second-hand).
fn tree_port(end: End, speed: BitRate) -> TreePort {
    const COST_TIMES_RATE: u64 = 20_000_000_000_000;
    let by_speed = COST_TIMES_RATE.checked_div(speed.bits_per_second()).unwrap_or(MOST_COST).clamp(1, MOST_COST);
    TreePort { number: end.port + 1, cost: end.cost.unwrap_or(by_speed as u32) }
}

fn propagation(medium: Medium, length: Length) -> Time {
    let per_metre = if medium == Medium::Fibre { FIBRE_PICOSECONDS_PER_METRE } else { COPPER_PICOSECONDS_PER_METRE };
    Time::from_picoseconds(length.millimetres().saturating_mul(per_metre).div_ceil(1_000))
}

fn joins(fabric: &Fabric) -> Vec<Join> {
    let mut found = Vec::new();
    for link in &fabric.links {
        for (end, node) in link.nodes.into_iter().enumerate() {
            let meets = fabric.nodes[node.0 as usize].network.filter(|network| *network != link.network);
            found.extend(meets.map(|meets| Join { cable: link.cable, end, network: link.network, meets, node }));
        }
    }
    found
}
