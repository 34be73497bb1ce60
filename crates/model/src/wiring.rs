//! What was decided: the content of `NAME.wiring.toml`.

use crate::gear::{Gear, Medium, Pairing};
use crate::id::{Id, PortRef};
use crate::net::InterfaceAddress;
use crate::plan::{Device, Plan};
use crate::units::Length;
use indexmap::IndexMap;
use std::net::Ipv4Addr;

/// The whole wiring. Maps keep the order of the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wiring {
    /// Switches by name.
    pub switches: IndexMap<Id, Switch>,
    /// Cables by name.
    pub cables: IndexMap<Id, Cable>,
    /// What was decided for a device.
    pub settings: IndexMap<Id, Setting>,
    /// Addresses by interface: `device/port`, where a chained device's one interface is its first
    /// audio port and a merged control function is the pseudo port `control`; switches have none here.
    pub interfaces: IndexMap<PortRef, Interface>,
    /// Multicast groups by stream and packet stream (from 1), then by network.
    pub groups: IndexMap<(Id, u32), IndexMap<Id, Ipv4Addr>>,
    /// Who should lead the clock.
    pub clock: ClockChoice,
    /// Which switch asks for group members, by network.
    pub querier: IndexMap<Id, Id>,
}

/// A switch that was placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Switch {
    /// Its gear type.
    pub gear: Id,
    /// Where it stands.
    pub place: Id,
    /// Networks it carries, kept apart by VLAN.
    pub networks: Vec<Id>,
    /// Power feeds; empty means the first feed of its place.
    pub feeds: Vec<Id>,
    /// Its own address for management.
    pub address: Option<InterfaceAddress>,
    /// Spanning-tree bridge priority: a multiple of 4096; `None` leaves 32768.
    pub bridge_priority: Option<u16>,
    /// Spanning-tree path cost of single ports, by port number, where not that of the speed.
    pub path_cost: IndexMap<u32, u32>,
    /// A later design keeps it.
    pub hold: bool,
}

/// A cable that was decided or lies there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cable {
    /// The ports it joins.
    pub ends: [PortRef; 2],
    /// Networks it carries: several only on trunks, told apart by VLAN.
    pub networks: Vec<Id>,
    /// What it is made of.
    pub medium: Medium,
    /// How long it is, as cut or chosen from stock.
    pub length: Length,
    /// Ordered routes between the two places; empty within one place.
    pub routes: Vec<Id>,
    /// A later design keeps it.
    pub hold: bool,
}

/// What was decided for a device.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Setting {
    /// How its two ports are set.
    pub pairing: Option<Pairing>,
    /// Its IEEE 1588 priority1; `None` leaves 128.
    pub clock_priority: Option<u8>,
    /// A later design keeps it.
    pub hold: bool,
}

/// One interface's address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interface {
    /// Address and mask.
    pub address: InterfaceAddress,
    /// A later design keeps it.
    pub hold: bool,
}

/// Who should lead the clock.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ClockChoice {
    /// First choice.
    pub leader: Option<Id>,
    /// Who takes over.
    pub backup: Option<Id>,
}

impl Wiring {
    /// How a device's two audio ports are set: the wiring's word, else the plan's, else as it leaves
    /// the factory (chained; common practice, no source). `None` with fewer than two audio ports.
    pub fn pairing_of(&self, id: &Id, device: &Device, gear: &Gear) -> Option<Pairing> {
        if gear.audio_ports.len() < 2 {
            return None;
        }
        let decided = self.settings.get(id).and_then(|setting| setting.pairing);
        Some(decided.or(device.pairing).unwrap_or(Pairing::Chained))
    }

    /// The gear type behind a port's item, device or switch.
    pub fn gear_at<'a>(&self, plan: &'a Plan, item: &Id) -> Option<&'a Gear> {
        let gear = match plan.devices.get(item) {
            Some(device) => &device.gear,
            None => &self.switches.get(item)?.gear,
        };
        plan.gear.get(gear)
    }

    /// The place of a device or switch.
    pub fn place_of<'a>(&'a self, plan: &'a Plan, item: &Id) -> Option<&'a Id> {
        plan.devices.get(item).map(|device| &device.place).or_else(|| self.switches.get(item).map(|switch| &switch.place))
    }
}
