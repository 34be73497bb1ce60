//! What a drawing or sheet shows, and the questions they all ask of it.

use crate::theme::Palette;
use loomwright_model::{Cable, Gear, Id, InterfaceAddress, Item, Network, Plan, PortRef, Wiring};
use loomwright_proof::Report;
use std::collections::BTreeMap;

/// What is shown: what was asked, what was decided, what was computed. The report may be empty.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// What is asked.
    pub plan: &'a Plan,
    /// What is decided.
    pub wiring: &'a Wiring,
    /// What is computed.
    pub report: &'a Report,
}

/// Which cable sits in which port.
#[derive(Debug, Clone, Default)]
pub struct Plugs<'a> {
    by_port: BTreeMap<&'a PortRef, &'a Id>,
    by_item: BTreeMap<&'a Id, Vec<&'a Id>>,
    addresses: BTreeMap<&'a Id, Vec<(&'a PortRef, InterfaceAddress)>>,
}

impl<'a> Plugs<'a> {
    /// Looks through every cable once.
    pub fn new(wiring: &'a Wiring) -> Self {
        let mut plugs = Self::default();
        for (id, cable) in &wiring.cables {
            for end in &cable.ends {
                plugs.by_port.insert(end, id);
                plugs.by_item.entry(&end.item).or_default().push(id);
            }
        }
        for (port, interface) in &wiring.interfaces {
            plugs.addresses.entry(&port.item).or_default().push((port, interface.address));
        }
        plugs
    }

    /// The cable in `port`.
    pub fn at(&self, port: &PortRef) -> Option<&'a Id> {
        self.by_port.get(port).copied()
    }

    /// The cables of a device or switch, in the wiring's order.
    pub fn of(&self, item: &Id) -> &[&'a Id] {
        self.by_item.get(item).map_or(&[], Vec::as_slice)
    }

    /// The addresses of a device's interfaces, in the wiring's order.
    pub fn addresses_of(&self, item: &Id) -> &[(&'a PortRef, InterfaceAddress)] {
        self.addresses.get(item).map_or(&[], Vec::as_slice)
    }
}

/// The end of `cable` that is not at `item`; the second end when both are.
pub fn far_end<'a>(cable: &'a Cable, item: &Id) -> &'a PortRef {
    if cable.ends[0].item == *item { &cable.ends[1] } else { &cable.ends[0] }
}

/// The end of `cable` at `item`; the first end when both are.
pub fn near_end<'a>(cable: &'a Cable, item: &Id) -> &'a PortRef {
    if cable.ends[0].item == *item { &cable.ends[0] } else { &cable.ends[1] }
}

impl<'a> Scene<'a> {
    /// How its networks look.
    pub fn palette(&self) -> Palette {
        Palette::new(self.plan)
    }

    /// The gear type of a device or switch.
    pub fn gear(&self, item: &Id) -> Option<&'a Gear> {
        self.wiring.gear_at(self.plan, item)
    }

    /// Whether `item` forwards between numbered ports: a switch, or a device such as a Wi-Fi router.
    pub fn is_switching(&self, item: &Id) -> bool {
        self.wiring.switches.contains_key(item) || self.gear(item).is_some_and(Gear::is_switching)
    }

    /// Whether `cable` joins two switches.
    pub fn is_trunk(&self, cable: &Cable) -> bool {
        cable.ends.iter().all(|end| self.is_switching(&end.item))
    }

    /// A device or switch as an item.
    pub fn item(&self, id: &Id) -> Item {
        if self.wiring.switches.contains_key(id) { Item::Switch(id.clone()) } else { Item::Device(id.clone()) }
    }

    /// What people call a place.
    pub fn place_name(&self, place: &'a Id) -> &'a str {
        match self.plan.places.get(place) {
            Some(known) if !known.name.is_empty() => &known.name,
            _ => place.as_str(),
        }
    }

    /// The place of a device or switch.
    pub fn place_of(&self, item: &Id) -> Option<&'a Id> {
        self.wiring.place_of(self.plan, item)
    }

    /// What people call a device: its title, else its gear's.
    pub fn title_of(&self, item: &Id) -> &'a str {
        let own = self.plan.devices.get(item).and_then(|device| device.title.as_deref());
        own.or_else(|| self.gear(item).map(|gear| gear.title.as_str())).unwrap_or("")
    }

    /// Everything that forwards between numbered ports: switches in the wiring's order, then such devices.
    pub fn switching_items(&self) -> Vec<&'a Id> {
        let devices = self.plan.devices.iter().filter(|(_, device)| self.plan.gear_of(device).is_some_and(Gear::is_switching));
        self.wiring.switches.keys().chain(devices.map(|(id, _)| id)).collect()
    }

    /// Networks a device or switch is on: those of its cables and, for a switch, those it was given; in plan order.
    pub fn networks_of(&self, item: &Id, plugs: &Plugs<'a>) -> Vec<Id> {
        let given = self.wiring.switches.get(item).map_or(&[][..], |switch| &switch.networks);
        let cabled = plugs.of(item).iter().filter_map(|id| self.wiring.cables.get(*id)).flat_map(|cable| &cable.networks);
        let all: Vec<&Id> = given.iter().chain(cabled).collect();
        self.plan.networks.keys().filter(|network| all.contains(network)).cloned().collect()
    }

    /// The network whose subnet holds `address`, if any.
    pub fn network_of(&self, address: &InterfaceAddress) -> Option<&'a Id> {
        let holds = |network: &Network| network.subnet.is_some_and(|subnet| subnet.contains(address.address));
        self.plan.networks.iter().find(|(_, network)| holds(network)).map(|(id, _)| id)
    }
}

/// What hangs on one item: what happens to deliveries (a stream at one receiver) when it alone fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hang {
    /// How many fall silent.
    pub silent: usize,
    /// How many carry on with a leg less.
    pub leg: usize,
    /// Whether an essential one is among the silent.
    pub is_grave: bool,
}

impl Hang {
    /// Both together.
    pub fn all(&self) -> usize {
        self.silent + self.leg
    }

    /// `19/51`, with a `!` where an essential stream falls silent.
    pub fn short(&self) -> String {
        format!("{}{}/{}", if self.is_grave { "!" } else { "" }, self.silent, self.leg)
    }

    /// The same in words.
    pub fn words(&self) -> String {
        format!("{} silent, {} leg less", self.silent, self.leg)
    }

    /// The larger of two, figure by figure.
    #[must_use]
    pub fn or_more(self, other: Self) -> Self {
        Self { silent: self.silent.max(other.silent), leg: self.leg.max(other.leg), is_grave: self.is_grave || other.is_grave }
    }
}

/// Figures of the report, by what they belong to.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    hang: BTreeMap<String, Hang>,
    most_hang: usize,
    load: BTreeMap<String, (u64, u64)>,
    delay: BTreeMap<String, u64>,
}

impl Figures {
    /// Looks through the report once.
    pub fn new(scene: &Scene<'_>) -> Self {
        let mut figures = Self::default();
        for link in &scene.report.links {
            let worst = figures.load.entry(link.cable.clone()).or_insert((0, link.speed_bps));
            if u128::from(link.load_bps) * u128::from(worst.1.max(1)) > u128::from(worst.0) * u128::from(link.speed_bps.max(1)) {
                *worst = (link.load_bps, link.speed_bps);
            }
        }
        for stream in &scene.report.streams {
            let Some(delay) = &stream.delay else { continue };
            let worst = figures.delay.entry(stream.to.to_string()).or_insert(0);
            *worst = (*worst).max(delay.worst_ns);
        }
        let is_essential = |stream: &str| scene.plan.streams.get(stream).is_some_and(|known| known.essential);
        for line in scene.report.failures.iter().filter(|line| !line.frozen) {
            let [item] = line.without.as_slice() else { continue };
            let is_grave = line.silent.iter().any(|silent| is_essential(&silent.stream));
            let hang = Hang { silent: line.silent.len(), leg: line.one_leg_left.len(), is_grave };
            figures.most_hang = figures.most_hang.max(hang.all());
            figures.hang.insert(item.clone(), hang);
        }
        figures
    }

    /// The busier direction of a cable, as a share of its speed; `None` where no stream runs.
    pub fn load_of(&self, cable: &Id) -> Option<f64> {
        self.load.get(cable.as_str()).map(|(load, speed)| *load as f64 / (*speed).max(1) as f64)
    }

    /// What hangs on an item; `None` where the report has no failure of it.
    pub fn hang_of(&self, item: &Item) -> Option<Hang> {
        self.hang.get(&item.to_string()).copied()
    }

    /// What hangs on an item as a share of the most that hangs on any.
    pub fn hang_share(&self, hang: Hang) -> f64 {
        hang.all() as f64 / self.most_hang.max(1) as f64
    }

    /// The worst delay of any stream into a device, nanoseconds.
    pub fn delay_of(&self, device: &Id) -> Option<u64> {
        self.delay.get(device.as_str()).copied()
    }
}

/// A share as people read it: whole per cent, with one decimal below ten.
pub fn per_cent(share: f64) -> String {
    let value = share * 100.0;
    if value == 0.0 || value >= 9.95 { format!("{value:.0} %") } else { format!("{value:.1} %") }
}

/// A time in microseconds, rounded up to one decimal so that a worst case never looks better than it is.
pub fn microseconds(nanoseconds: u64) -> String {
    let tenths = nanoseconds.div_ceil(100);
    format!("{}.{} us", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_read_as_people_write_them() {
        assert_eq!((per_cent(0.0).as_str(), per_cent(0.034).as_str(), per_cent(0.756).as_str()), ("0 %", "3.4 %", "76 %"));
        assert_eq!(microseconds(212_301), "212.4 us");
    }
}
