//! Who plugs in where, as wired: ports, plugs and interfaces, before any protocol.

use loomwright_model::gear::Control;
use loomwright_model::{Cable, Gear, Id, Pairing, Plan, PortRef, PortRole, PortSpec, Wiring};
use std::collections::HashMap;

/// One cable end at an item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plug {
    /// The item's own port.
    pub own: PortRef,
    /// The cable.
    pub cable: Id,
    /// The port at the cable's other end.
    pub far: PortRef,
}

/// What an interface is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InterfaceKind {
    /// Audio.
    Audio,
    /// Control on a jack of its own.
    Control,
    /// Control that shares an audio port but has its own address.
    MergedControl,
}

/// One interface that wants an address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Its name in the wiring's interfaces.
    pub port: PortRef,
    /// What it is for.
    pub kind: InterfaceKind,
    /// The network its cable carries; `None` where nothing is plugged in.
    pub network: Option<Id>,
}

/// The ports of one gear type, in the order of the panel.
#[derive(Debug, Clone, Default)]
struct Panel {
    specs: Vec<PortSpec>,
    /// The first port of each name.
    by_name: HashMap<Id, u32>,
}

impl Panel {
    fn of(gear: Option<&Gear>) -> Self {
        let specs = gear.map(Gear::port_specs).unwrap_or_default();
        let mut by_name = HashMap::with_capacity(specs.len());
        for (at, spec) in (0u32..).zip(&specs) {
            by_name.entry(spec.name.clone()).or_insert(at);
        }
        Self { specs, by_name }
    }
}

/// Ports and plugs of everything.
#[derive(Debug, Clone, Default)]
pub struct Layout {
    panels: Vec<Panel>,
    /// Number and panel of each device and switch, and number of whatever else a cable names.
    items: HashMap<Id, (u32, Option<u32>)>,
    /// Cable ends by number of the item.
    plugs: Vec<Vec<Plug>>,
    slots: Vec<(Id, Vec<Slot>)>,
}

impl Layout {
    /// Indexes `plan` and `wiring`. O(devices + cables).
    pub fn new(plan: &Plan, wiring: &Wiring) -> Self {
        let mut layout = Self::default();
        let mut panel_of: HashMap<&Id, u32> = HashMap::new();
        let devices = plan.devices.iter().map(|(id, device)| (id, &device.gear));
        let switches = wiring.switches.iter().map(|(id, switch)| (id, &switch.gear));
        for (id, gear) in devices.chain(switches) {
            let panel = *panel_of.entry(gear).or_insert_with(|| {
                layout.panels.push(Panel::of(plan.gear.get(gear)));
                layout.panels.len() as u32 - 1
            });
            let number = layout.number(id);
            layout.items.insert(id.clone(), (number, Some(panel)));
        }
        for (id, cable) in &wiring.cables {
            let [near, far] = &cable.ends;
            layout.plug(near, id, far);
            layout.plug(far, id, near);
        }
        layout.slots = plan.devices.keys().map(|id| (id.clone(), layout.slots_of(plan, wiring, id))).collect();
        layout
    }

    /// The number of an item; a new one for one not met before.
    fn number(&mut self, item: &Id) -> u32 {
        if let Some((number, _)) = self.items.get(item) {
            return *number;
        }
        let number = self.plugs.len() as u32;
        self.plugs.push(Vec::new());
        self.items.insert(item.clone(), (number, None));
        number
    }

    fn plug(&mut self, own: &PortRef, cable: &Id, far: &PortRef) {
        let plug = Plug { own: own.clone(), cable: cable.clone(), far: far.clone() };
        let number = self.number(&own.item);
        self.plugs[number as usize].push(plug);
    }

    fn panel(&self, item: &Id) -> Option<&Panel> {
        self.items.get(item)?.1.map(|panel| &self.panels[panel as usize])
    }

    /// What a port can do; `None` where there is no such port.
    pub fn spec(&self, port: &PortRef) -> Option<&PortSpec> {
        let panel = self.panel(&port.item)?;
        panel.by_name.get(&port.port).map(|at| &panel.specs[*at as usize])
    }

    /// Every port of an item, in the order of the panel.
    pub fn ports(&self, item: &Id) -> &[PortSpec] {
        self.panel(item).map_or(&[], |panel| panel.specs.as_slice())
    }

    /// Cable ends at an item, in the order of the cables.
    pub fn plugs(&self, item: &Id) -> &[Plug] {
        self.items.get(item).map_or(&[], |(number, _)| self.plugs[*number as usize].as_slice())
    }

    /// Cable ends at the audio ports of a device.
    pub fn audio_plugs<'a>(&'a self, device: &Id) -> impl Iterator<Item = &'a Plug> {
        self.plugs(device).iter().filter(|plug| matches!(self.spec(&plug.own).map(|spec| spec.role), Some(PortRole::Audio(_))))
    }

    /// The interfaces of every device, in the plan's order.
    pub fn slots(&self) -> impl Iterator<Item = (&Id, &Slot)> {
        self.slots.iter().flat_map(|(id, slots)| slots.iter().map(move |slot| (id, slot)))
    }

    fn slots_of(&self, plan: &Plan, wiring: &Wiring, id: &Id) -> Vec<Slot> {
        let Some((device, gear)) = plan.devices.get(id).and_then(|device| Some((device, plan.gear_of(device)?))) else { return Vec::new() };
        if gear.is_switching() {
            return Vec::new();
        }
        let chained = wiring.pairing_of(id, device, gear) == Some(Pairing::Chained);
        let owners = gear.audio_ports.iter().take(if chained { 1 } else { usize::MAX });
        let mut slots: Vec<Slot> = owners.map(|port| self.slot(wiring, (id, &port.name), chained)).collect();
        slots.extend(gear.control.as_ref().map(|control| match control {
            Control::Own { port, .. } => Slot { kind: InterfaceKind::Control, ..self.slot(wiring, (id, port), false) },
            Control::MergedWith(port) => {
                let merged = self.slot(wiring, (id, port), chained);
                Slot { port: PortRef::new(id.clone(), control_port()), kind: InterfaceKind::MergedControl, network: merged.network }
            }
        }));
        slots
    }

    fn slot(&self, wiring: &Wiring, (id, port): (&Id, &Id), any_audio: bool) -> Slot {
        let own = self.plugs(id).iter().find(|plug| plug.own.port == *port);
        let plug = own.or_else(|| self.audio_plugs(id).next().filter(|_| any_audio));
        let network = plug.and_then(|plug| wiring.cables.get(&plug.cable)).and_then(|cable| cable.networks.first().cloned());
        Slot { port: PortRef::new(id.clone(), port.clone()), kind: InterfaceKind::Audio, network }
    }
}

/// The pseudo port of a merged control function.
fn control_port() -> Id {
    Id::new("control").expect("a plain word is a valid name")
}

/// Networks that the switch at `port` puts frames of `cable` on: those of the cable that it carries,
/// else its only one, whatever the label says.
pub fn networks_at<'a>(wiring: &'a Wiring, cable: &'a Cable, port: &PortRef) -> Vec<&'a Id> {
    let Some(switch) = wiring.switches.get(&port.item) else { return cable.networks.iter().collect() };
    let carried: Vec<&Id> = cable.networks.iter().filter(|network| switch.networks.contains(network)).collect();
    match switch.networks.as_slice() {
        [only] if carried.is_empty() => vec![only],
        _ => carried,
    }
}

/// Chained devices plugged into each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chain {
    /// The devices, from one end to the other.
    pub devices: Vec<Id>,
    /// Where the chain plugs into something that is not a chained device: seen from the chain's own ports.
    pub ends: Vec<Plug>,
}

/// Every chain of `plan`, by its first device in the plan's order. O(devices + cables).
pub fn chains(plan: &Plan, wiring: &Wiring, layout: &Layout) -> Vec<Chain> {
    let is_chained = |id: &Id| {
        let device = plan.devices.get(id);
        device.and_then(|device| wiring.pairing_of(id, device, plan.gear_of(device)?)) == Some(Pairing::Chained)
    };
    let mut seen = std::collections::BTreeSet::new();
    let mut chains = Vec::new();
    for start in plan.devices.keys().filter(|id| is_chained(id)) {
        if !seen.insert(start.clone()) {
            continue;
        }
        let mut chain = Chain { devices: vec![start.clone()], ends: Vec::new() };
        for plug in layout.audio_plugs(start) {
            walk(layout, plug, &is_chained, (&mut seen, &mut chain));
            chain.devices.reverse();
        }
        chains.push(chain);
    }
    chains
}

/// Follows a chain from `plug` away from its owner, adding devices at the end of `chain`.
fn walk(layout: &Layout, plug: &Plug, is_chained: &impl Fn(&Id) -> bool, (seen, chain): (&mut std::collections::BTreeSet<Id>, &mut Chain)) {
    let mut plug = plug.clone();
    loop {
        let next = plug.far.item.clone();
        if !is_chained(&next) || !layout.audio_plugs(&next).any(|back| back.cable == plug.cable) {
            chain.ends.push(plug);
            return;
        }
        if !seen.insert(next.clone()) {
            return;
        }
        chain.devices.push(next.clone());
        match layout.audio_plugs(&next).find(|onward| onward.cable != plug.cable) {
            Some(onward) => plug = onward.clone(),
            None => return,
        }
    }
}
