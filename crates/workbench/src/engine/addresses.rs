//! Who has which address on which network.

use loomwright_model::{Id, InterfaceAddress, Plan, Wiring};

/// One interface.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AddressedPort {
    /// Its port; empty for a switch's own.
    pub port: String,
    /// The network whose subnet holds the address.
    pub network: Option<Id>,
    /// The address with its prefix.
    pub address: InterfaceAddress,
}

/// A device or switch with its addresses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Addressed {
    /// `device:..` or `switch:..`.
    pub item: String,
    /// Where it stands.
    pub place: Id,
    /// Its addresses in the order of the wiring.
    pub interfaces: Vec<AddressedPort>,
}

/// Devices in the order of the plan, then switches in the order of the wiring.
pub fn addresses(plan: &Plan, wiring: &Wiring) -> Vec<Addressed> {
    let network = |address: &InterfaceAddress| {
        let holds =
            |(_, network): &(&Id, &loomwright_model::Network)| network.subnet.is_some_and(|subnet| subnet.contains(address.address));
        plan.networks.iter().find(holds).map(|(id, _)| id.clone())
    };
    let port = |port: &str, address: InterfaceAddress| AddressedPort { port: port.to_owned(), network: network(&address), address };
    let devices = plan.devices.iter().map(|(id, device)| Addressed {
        item: format!("device:{id}"),
        place: device.place.clone(),
        interfaces: wiring
            .interfaces
            .iter()
            .filter(|(at, _)| at.item == *id)
            .map(|(at, set)| port(at.port.as_str(), set.address))
            .collect(),
    });
    let switches = wiring.switches.iter().map(|(id, switch)| Addressed {
        item: format!("switch:{id}"),
        place: switch.place.clone(),
        interfaces: switch.address.iter().map(|address| port("", *address)).collect(),
    });
    devices.chain(switches).collect()
}
