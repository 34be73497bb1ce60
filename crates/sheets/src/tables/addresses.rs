//! The address sheet: every interface of every device and switch.

use super::{Source, walking_order};
use crate::cautions;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::plan::Addressing;
use loomwright_model::{Id, InterfaceAddress};

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Addresses,
        columns([
            ("Place", Role::Text),
            ("Device", Role::Name),
            ("Interface", Role::Text),
            ("Net", Role::Text),
            ("Address", Role::Name),
            ("Mask", Role::Text),
            ("VLAN", Role::Figure),
            ("Set by", Role::Text),
            ("Clock", Role::Text),
            ("Set", Role::Tick),
            ("Initials", Role::Write),
        ]),
    );
    table.note = "Audio and control addresses are two settings. Change the far devices first, your own way in last.".to_owned();
    table.grouped_by = Some(0);
    table.cautions = vec![cautions::SOUND];
    let scene = &source.scene;
    let order = walking_order(scene.plan);
    let rank = |item: &Id| scene.place_of(item).and_then(|place| order.iter().position(|other| *other == place)).unwrap_or(order.len());
    let devices = scene.plan.devices.keys().filter(|id| !scene.wiring.switches.contains_key(*id));
    let mut items: Vec<&Id> = scene.wiring.switches.keys().chain(devices).collect();
    items.sort_by_key(|item| rank(item));
    table.rows = items.into_iter().flat_map(|item| rows(source, item)).collect();
    table
}

fn rows(source: &Source<'_>, item: &Id) -> Vec<Row> {
    let own = source.scene.wiring.switches.get(item);
    if let Some(switch) = own {
        return vec![row(source, item, ("management", switch.address))];
    }
    let addresses = source.plugs.addresses_of(item);
    if addresses.is_empty() {
        return vec![row(source, item, ("", None))];
    }
    addresses.iter().map(|(port, address)| row(source, item, (port.port.as_str(), Some(*address)))).collect()
}

fn row(source: &Source<'_>, item: &Id, (interface, address): (&str, Option<InterfaceAddress>)) -> Row {
    let network = address.and_then(|address| source.scene.network_of(&address));
    let known = network.and_then(|id| source.scene.plan.networks.get(id));
    let set_by = match known.map(|network| network.addresses) {
        Some(Addressing::Fixed) => "hand, at the device",
        Some(Addressing::Dhcp) => "DHCP reservation",
        Some(Addressing::LinkLocal) => "itself, link-local",
        None if address.is_none() => "not decided",
        None => "hand, at the device",
    };
    Row::new(vec![
        source.place_name(item).into(),
        item.as_str().into(),
        interface.into(),
        network.map_or(String::new(), |network| source.networks(std::slice::from_ref(network))).into(),
        address.map_or(String::new(), |address| address.address.to_string()).into(),
        address.map_or(String::new(), |address| format!("{} (/{})", address.subnet.mask(), address.subnet.prefix())).into(),
        known.and_then(|network| network.vlan).map_or(String::new(), |vlan| vlan.to_string()).into(),
        set_by.into(),
        if interface == "control" { String::new() } else { clock(source, item) }.into(),
        Cell::default(),
        Cell::default(),
    ])
}

/// A device's part in the clock: leader, backup, and its priority1 where one was decided.
fn clock(source: &Source<'_>, item: &Id) -> String {
    let wiring = source.scene.wiring;
    let part = if wiring.clock.leader.as_ref() == Some(item) {
        "leader"
    } else if wiring.clock.backup.as_ref() == Some(item) {
        "backup"
    } else {
        ""
    };
    let priority = wiring.settings.get(item).and_then(|setting| setting.clock_priority);
    match (part, priority) {
        (part, None) => part.to_owned(),
        ("", Some(priority)) => format!("priority {priority}"),
        (part, Some(priority)) => format!("{part}, priority {priority}"),
    }
}
