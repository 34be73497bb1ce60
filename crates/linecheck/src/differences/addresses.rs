//! Addresses: wrong ones, the same one twice, and ones outside the network's range.

use super::difference::{Certainty, Difference, Sighting};
use super::names::{Names, v4};
use loomwright_evidence::Mac;
use loomwright_evidence::facts::{Binding, BindingSource};
use loomwright_model::{Id, Item, PortRef};
use std::collections::{BTreeMap, BTreeSet};
use std::net::Ipv4Addr;

/// Everything about addresses.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found = duplicates(names);
    found.extend(wrong(names));
    found
}

fn duplicates(names: &Names<'_>) -> Vec<Difference> {
    let mut owners: BTreeMap<Ipv4Addr, BTreeMap<Mac, &Binding>> = BTreeMap::new();
    for row in names.evidence.bindings.iter().filter(|row| matches!(row.by, BindingSource::Arp | BindingSource::Own)) {
        if let Some((address, mac)) = v4(row.address).filter(|one| is_judged(*one)).zip(row.mac) {
            owners.entry(address).or_default().entry(mac).or_insert(row);
        }
    }
    owners.into_iter().filter(|(_, macs)| macs.len() > 1).map(|(address, macs)| duplicate(names, address, &macs)).collect()
}

fn is_judged(address: Ipv4Addr) -> bool {
    !address.is_loopback() && !address.is_unspecified() && !address.is_multicast() && !address.is_broadcast()
}

fn duplicate(names: &Names<'_>, address: Ipv4Addr, macs: &BTreeMap<Mac, &Binding>) -> Difference {
    let known: BTreeSet<&Id> = macs.keys().filter_map(|mac| names.by_mac(*mac)).collect();
    let planned = names.by_address(address);
    let mut items: Vec<Item> = planned.map(|port| Item::Port(port.clone())).into_iter().collect();
    items.extend(known.into_iter().cloned().map(Item::Device));
    let listed: Vec<String> = macs.keys().map(|mac| who(names, *mac)).collect();
    let says = format!("{} interfaces use the address {address}: {}", macs.len(), listed.join(", "));
    let sightings = macs.iter().map(|(mac, row)| Sighting::new(names.evidence, &row.seen, format!("{address} is at {mac}")));
    Difference::new("seen/duplicate-address", Certainty::Certain, items, says)
        .told(
            planned.map_or_else(|| format!("nobody has {address}"), |port| format!("{address} for {port} alone")),
            "Unplug the one that should not have it, set its planned address, restart it, and plug it in again.",
        )
        .seen(sightings)
        .loud()
}

fn who(names: &Names<'_>, mac: Mac) -> String {
    names.by_mac(mac).map_or_else(|| mac.to_string(), |id| format!("{id} ({mac})"))
}

/// What a box says of itself, or a host answers for, held against the plan.
fn wrong(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<(Id, Ipv4Addr), Difference> = BTreeMap::new();
    for row in names.evidence.bindings.iter().filter(|row| matches!(row.by, BindingSource::Own | BindingSource::Arp | BindingSource::Note))
    {
        let Some(address) = v4(row.address).filter(|one| is_judged(*one)) else { continue };
        let Some(owner) = owner(names, row) else { continue };
        let planned: Vec<(&PortRef, Ipv4Addr)> = planned(names, &owner);
        let is_right = planned.iter().any(|(_, one)| *one == address) || planned.is_empty() && is_in_range(names, &owner, address);
        if is_right {
            continue;
        }
        let sighting = Sighting::new(names.evidence, &row.seen, format!("{owner} has {address}"));
        let one = found.remove(&(owner.clone(), address)).unwrap_or_else(|| unlike(names, (&owner, address), &planned));
        found.insert((owner, address), one.seen([sighting]));
    }
    found.into_values().collect()
}

fn owner(names: &Names<'_>, row: &Binding) -> Option<Id> {
    let named = row.name.as_deref().or(row.system.as_deref()).filter(|_| row.by != BindingSource::Arp);
    named.and_then(|name| names.named(name)).or_else(|| names.by_mac(row.mac?)).cloned()
}

fn planned<'n>(names: &'n Names<'_>, owner: &Id) -> Vec<(&'n PortRef, Ipv4Addr)> {
    names.planned_addresses().filter(|(port, _)| port.item == *owner).collect()
}

fn is_in_range(names: &Names<'_>, owner: &Id, address: Ipv4Addr) -> bool {
    let mut own = names.ends_of(owner).flat_map(|(port, _)| names.networks_of(port));
    own.any(|network| names.plan.networks.get(network).is_some_and(|one| one.subnet.is_none_or(|subnet| subnet.contains(address))))
}

fn unlike(names: &Names<'_>, (owner, address): (&Id, Ipv4Addr), planned: &[(&PortRef, Ipv4Addr)]) -> Difference {
    let is_outside = !is_in_range(names, owner, address);
    let code = if is_outside { "seen/wrong-subnet" } else { "seen/wrong-address" };
    let reason = match (is_outside, address.is_link_local()) {
        (_, true) => ": it found no server and chose one itself",
        (true, _) => ", outside the range of its network",
        _ => "",
    };
    let says = format!("`{owner}` has the address {address}{reason}");
    let expected: Vec<String> = planned.iter().map(|(port, one)| format!("{one} at {port}")).collect();
    let expected = if expected.is_empty() { "an address of its network".to_owned() } else { expected.join(", ") };
    Difference::new(code, Certainty::Certain, vec![Item::Device(owner.clone())], says)
        .told(expected, format!("Set the planned address at {owner} and restart it if it asks for that."))
        .loud()
}
