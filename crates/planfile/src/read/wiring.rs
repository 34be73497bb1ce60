//! Reads the wiring file.

use super::place::{cable_medium, pair};
use super::plan::sections;
use crate::fields::{Fields, Header, list_of, refer};
use crate::log::{CableEnd, File, Log, Wants};
use crate::readable::{NAME_HELP, Readable, Value, whole, wrong_type};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::wiring::{ClockChoice, Setting};
use loomwright_model::{Cable, Id, Interface, PortRef, Switch, Wiring};
use std::net::Ipv4Addr;
use toml::de::{DeTable, DeValue};

/// Sections of the wiring file.
pub(crate) const SECTIONS: &[&str] = &["switch", "cable", "setting", "interface", "group", "clock", "querier"];

/// Reads as much of the wiring as can be read.
pub(crate) fn read(root: &DeTable<'_>, log: &mut Log) -> Wiring {
    let top = sections(root, File::Wiring, log);
    Wiring {
        switches: keep(root, "switch", log, switch),
        cables: keep(root, "cable", log, cable),
        settings: keep(root, "setting", log, setting),
        interfaces: interfaces(root, log),
        groups: groups(root, log),
        clock: clock(&top, log),
        querier: querier(root, log),
    }
}

fn keep<T>(root: &DeTable<'_>, section: &str, log: &mut Log, read: impl Fn(&Entry<'_, '_>, &mut Log) -> Option<T>) -> IndexMap<Id, T> {
    entries(root, section, log).iter().filter_map(|entry| Some((entry.id.clone(), read(entry, log)?))).collect()
}

fn switch(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Switch> {
    let known = &["gear", "place", "networks", "feeds", "address", "bridge-priority", "path-cost", "hold"];
    let fields = Fields::open(entry.value, Header::of("switch", entry), known, log)?;
    fields.require("gear", "\"switch-24\"", log);
    fields.require("place", "\"stage-left\"", log);
    fields.require("networks", "[\"a\"]", log);
    let gear = fields.refer("gear", Wants::Gear, log);
    let place = fields.refer("place", Wants::Place, log);
    Some(Switch {
        networks: fields.refer_list("networks", Wants::Network, log),
        feeds: fields.names("feeds", log),
        address: fields.maybe("address", log),
        bridge_priority: fields.raw("bridge-priority").and_then(|value| bridge_priority(value, log)),
        path_cost: fields.raw("path-cost").map(|value| path_costs(value, log)).unwrap_or_default(),
        hold: fields.or("hold", false, log),
        gear: gear?,
        place: place?,
    })
}

/// **Range**: 0 to 61440 in steps of 4096. **Source**: IEEE 802.1D-2004 clause 9.2.5 (from memory).
fn bridge_priority(value: &Value<'_>, log: &mut Log) -> Option<u16> {
    let found = whole(value, 0..=61_440, log)?;
    if found % 4_096 == 0 {
        return u16::try_from(found).ok();
    }
    let below = found - found % 4_096;
    let help = format!("write {below} or {}", below + 4_096);
    log.at(value.span()).add("plan/out-of-range", format!("bridge priority `{found}` is not a multiple of 4096"), help);
    None
}

/// Path costs by port number. **Range** of a cost: 1 to 200000000. **Source**: IEEE 802.1D-2004 table 17-3 (from memory).
fn path_costs(value: &Value<'_>, log: &mut Log) -> IndexMap<u32, u32> {
    let help = "write port numbers in quotes and their costs: `path-cost = { \"24\" = 200000 }`";
    let DeValue::Table(table) = value.get_ref() else {
        wrong_type(value, "a table of ports and costs", help, log);
        return IndexMap::new();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    let mut costs = IndexMap::new();
    for (key, value) in found {
        let port = key.get_ref().parse::<u32>().ok().filter(|port| *port > 0);
        let cost = whole(value, 1..=200_000_000, log).and_then(|cost| u32::try_from(cost).ok());
        match (port, cost) {
            (None, _) => log.at(key.span()).add("plan/no-such-port", format!("`{}` is not a port number", key.get_ref()), help),
            (Some(port), Some(cost)) => drop(costs.insert(port, cost)),
            _ => {}
        }
    }
    costs
}

fn cable(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Cable> {
    let known = &["ends", "network", "medium", "length", "routes", "hold"];
    let fields = Fields::open(entry.value, Header::of("cable", entry), known, log)?;
    fields.require("ends", "[\"box-sl/1\", \"sw-a/1\"]", log);
    fields.require("network", "\"a\"", log);
    fields.require("medium", "\"copper\"", log);
    let ends = fields.raw("ends").and_then(|value| pair(value, "a cable has two ends", log, |item, log| end(&entry.id, item, log)));
    let networks = fields.raw("network").map(|value| networks(value, log)).unwrap_or_default();
    let medium = fields.raw("medium").and_then(|value| cable_medium(value, log));
    let length = fields.need("length", "\"10 m\"", log);
    let routes = fields.raw("routes").map(|value| list_of(value, log, |item, log| refer(item, Wants::Route, log))).unwrap_or_default();
    let hold = fields.or("hold", false, log);
    Some(Cable { ends: ends?, networks, medium: medium?, length: length?, routes, hold })
}

fn end(cable: &Id, value: &Value<'_>, log: &mut Log) -> Option<PortRef> {
    let port = PortRef::read(value, log)?;
    log.refer(Wants::DeviceOrSwitch, &port.item, value.span());
    log.ends.push(CableEnd { cable: cable.clone(), port: port.clone(), span: value.span() });
    Some(port)
}

/// One network, or a list of those that a trunk keeps apart by VLAN.
fn networks(value: &Value<'_>, log: &mut Log) -> Vec<Id> {
    let DeValue::Array(items) = value.get_ref() else {
        return refer(value, Wants::Network, log).into_iter().collect();
    };
    let networks = list_of(value, log, |item, log| refer(item, Wants::Network, log));
    if items.is_empty() {
        log.at(value.span()).add("plan/out-of-range", "this cable carries no network", "name its network: `network = \"a\"`");
    }
    networks
}

fn setting(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Setting> {
    let known = &["pairing", "clock-priority", "hold"];
    let fields = Fields::open(entry.value, Header::of("setting", entry), known, log)?;
    log.refer(Wants::Device, &entry.id, entry.head.clone());
    Some(Setting {
        pairing: fields.maybe("pairing", log),
        clock_priority: fields.maybe("clock-priority", log),
        hold: fields.or("hold", false, log),
    })
}

fn interfaces(root: &DeTable<'_>, log: &mut Log) -> IndexMap<PortRef, Interface> {
    let Some(DeValue::Table(table)) = root.get("interface").map(|value| value.get_ref()) else {
        return entries(root, "interface", log).into_iter().filter_map(|_| None).collect();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    let mut all = IndexMap::new();
    for (key, value) in found {
        let help = "write the device, a slash and the port in quotes: `[interface.\"box-sl/1\"]`";
        let port = key.get_ref().parse::<PortRef>();
        match port {
            Err(error) => log.at(key.span()).add("plan/bad-port-name", error.to_string(), help),
            Ok(port) => {
                log.refer(Wants::DeviceOrSwitch, &port.item, key.span());
                let header = Header { section: "interface", name: key.get_ref(), span: key.span() };
                if let Some(interface) = interface(header, value, log) {
                    all.insert(port, interface);
                }
            }
        }
    }
    all
}

fn interface(header: Header<'_>, value: &Value<'_>, log: &mut Log) -> Option<Interface> {
    let fields = Fields::open(value, header, &["address", "hold"], log)?;
    let address = fields.need("address", "\"10.10.1.11/22\"", log);
    let hold = fields.or("hold", false, log);
    Some(Interface { address: address?, hold })
}

fn groups(root: &DeTable<'_>, log: &mut Log) -> IndexMap<(Id, u32), IndexMap<Id, Ipv4Addr>> {
    let mut all = IndexMap::new();
    for stream in entries(root, "group", log) {
        log.refer(Wants::Stream, &stream.id, stream.head.clone());
        let DeValue::Table(table) = stream.value.get_ref() else {
            wrong_type(stream.value, "a table", format!("write `[group.{}.1]` and one line for each network", stream.name), log);
            continue;
        };
        let mut found: Vec<_> = table.iter().collect();
        found.sort_by_key(|(key, _)| key.span().start);
        for (key, value) in found {
            let number = key.get_ref().parse::<u32>().ok().filter(|number| *number > 0);
            let Some(number) = number else {
                let help = format!("write `[group.{}.1]` for its first packet stream", stream.name);
                log.at(key.span()).add("plan/bad-name", format!("`{}` is not the number of a packet stream", key.get_ref()), help);
                continue;
            };
            all.insert((stream.id.clone(), number), group(value, log));
        }
    }
    all
}

fn group(value: &Value<'_>, log: &mut Log) -> IndexMap<Id, Ipv4Addr> {
    by_network(value, "write one line for each network: `a = \"239.192.10.1\"`", log, |value, log| {
        let address = Ipv4Addr::read(value, log)?;
        if address.is_multicast() {
            return Some(address);
        }
        let help = "choose one from 239.192.0.0 to 239.195.255.255, which is for use inside one site (RFC 2365)";
        log.at(value.span()).add("plan/bad-address", format!("`{address}` is not a multicast address"), help);
        None
    })
}

fn by_network<T>(value: &Value<'_>, help: &str, log: &mut Log, read: impl Fn(&Value<'_>, &mut Log) -> Option<T>) -> IndexMap<Id, T> {
    let DeValue::Table(table) = value.get_ref() else {
        wrong_type(value, "a table of networks", help, log);
        return IndexMap::new();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    let mut all = IndexMap::new();
    for (key, value) in found {
        match Id::new(key.get_ref()) {
            Err(error) => log.at(key.span()).add("plan/bad-name", error.to_string(), NAME_HELP),
            Ok(network) => {
                log.refer(Wants::Network, &network, key.span());
                if let Some(read) = read(value, log) {
                    all.insert(network, read);
                }
            }
        }
    }
    all
}

fn clock(top: &Fields<'_, '_>, log: &mut Log) -> ClockChoice {
    let Some(fields) = super::about::single(top, "clock", &["leader", "backup"], log) else { return ClockChoice::default() };
    ClockChoice { leader: fields.refer("leader", Wants::DeviceOrSwitch, log), backup: fields.refer("backup", Wants::DeviceOrSwitch, log) }
}

fn querier(root: &DeTable<'_>, log: &mut Log) -> IndexMap<Id, Id> {
    let Some(value) = root.get("querier") else { return IndexMap::new() };
    by_network(value, "write one line for each network: `a = \"sw-a-stage\"`", log, |value, log| refer(value, Wants::Switch, log))
}
