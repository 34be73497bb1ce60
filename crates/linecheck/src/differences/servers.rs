//! Servers that give out addresses: one that is not planned.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::DhcpSaid;
use loomwright_model::{Id, Item};
use std::collections::BTreeMap;
use std::net::Ipv4Addr;

/// Every server that nobody planned.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut servers: BTreeMap<Ipv4Addr, Vec<&DhcpSaid>> = BTreeMap::new();
    for row in names.evidence.dhcp.iter().filter(|row| row.message.is_from_server()) {
        if let Some(server) = row.server {
            servers.entry(server).or_default().push(row);
        }
    }
    servers.iter().filter(|(server, _)| !is_planned(names, **server)).map(|(server, rows)| unplanned(names, *server, rows)).collect()
}

fn is_planned(names: &Names<'_>, server: Ipv4Addr) -> bool {
    let planned = names.plan.networks.values().filter_map(|network| network.dhcp_server.as_ref());
    names.by_address(server).is_some_and(|port| planned.clone().any(|id| *id == port.item))
}

fn unplanned(names: &Names<'_>, server: Ipv4Addr, rows: &[&DhcpSaid]) -> Difference {
    let owner = names.by_address(server).map(|port| &port.item).or_else(|| rows.iter().find_map(|row| names.by_mac(row.server_mac?)));
    let network = names.network_of(server);
    let planned = network.and_then(|(_, network)| network.dhcp_server.clone());
    let mut items: Vec<Item> = owner.map(|id| item(names, id)).into_iter().collect();
    items.extend(network.map(|(id, _)| Item::Network(id.clone())));
    let called = owner.map_or_else(|| format!("{server}, which is not in the plan,"), |id| format!("`{id}` ({server})"));
    let count = if planned.is_some() { "a second DHCP server" } else { "a DHCP server that is not planned" };
    let sightings = rows.iter().map(|row| {
        let address = row.address.map_or_else(String::new, |address| format!(" and offers {address}"));
        Sighting::new(names.evidence, &row.seen, format!("server {server} answers{address}"))
    });
    Difference::new("seen/dhcp-server", Certainty::Certain, items, format!("{called} is {count}"))
        .told(
            planned.map_or_else(|| "no server on this network".to_owned(), |id| format!("{id} alone gives out addresses")),
            "Switch its server off or unplug it; then restart what took an address from it.",
        )
        .seen(sightings)
}

fn item(names: &Names<'_>, id: &Id) -> Item {
    if names.wiring.switches.contains_key(id) { Item::Switch(id.clone()) } else { Item::Device(id.clone()) }
}
