//! A Linux bridge's own tables and a machine's own addresses, as its tools print them in JSON.
//!
//! **Shape**: the tables may stand alone (an array of rows) or together under `link`, `fdb`, `mdb`; addresses may stand for one
//! machine (an array) or under the names of several.

use super::{complain, entry_number};
use crate::evidence::Evidence;
use crate::facts::{Binding, BindingSource, Learned, LearnedKind, Member, Port, TreeState};
use crate::mac::Mac;
use crate::seen::{Seen, Spot, Trust};
use loomwright_model::multicast::hardware_address;
use serde_json::Value;
use std::net::Ipv4Addr;

/// Reads the tables of a bridge.
pub fn tables(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for value in super::json(text, &mut evidence) {
        match &value {
            Value::Object(object) if ["link", "fdb", "mdb"].iter().any(|key| object.contains_key(*key)) => {
                for table in object.values() {
                    rows(table, &mut evidence);
                }
            }
            table => rows(table, &mut evidence),
        }
    }
    evidence
}

fn rows(table: &Value, evidence: &mut Evidence) {
    let alone = std::slice::from_ref(table);
    for (n, row) in table.as_array().map_or(alone, Vec::as_slice).iter().enumerate() {
        let spot = entry_number(n);
        match () {
            () if row.get("mac").is_some() => learned(row, spot, evidence),
            () if row.get("mdb").is_some() || row.get("router").is_some() => groups(row, spot, evidence),
            () if row.get("state").is_some() && row.get("ifname").is_some() => port(row, spot, evidence),
            () if row.get("ifname").is_some() => {}
            () => complain(evidence, spot, "an entry of a kind that is not known here"),
        }
    }
}

fn word<'a>(row: &'a Value, key: &str) -> Option<&'a str> {
    row.get(key)?.as_str().filter(|word| !word.is_empty())
}

fn number<T: TryFrom<u64>>(row: &Value, key: &str) -> Option<T> {
    T::try_from(row.get(key)?.as_u64()?).ok()
}

fn flag(row: &Value, flag: &str) -> bool {
    row.get("flags").and_then(Value::as_array).is_some_and(|flags| flags.iter().any(|one| one.as_str() == Some(flag)))
}

fn port(row: &Value, spot: Spot, evidence: &mut Evidence) {
    let Some(name) = word(row, "ifname") else { return };
    let mut port = Port::new(Seen::at(spot, Trust::Reported), None, name.to_owned());
    port.index = number(row, "ifindex");
    port.longest_packet = number(row, "mtu");
    port.is_enabled = Some(flag(row, "UP"));
    port.is_up = Some(flag(row, "LOWER_UP"));
    port.tree_cost = number(row, "cost");
    port.tree = match word(row, "state") {
        Some("disabled") => Some(TreeState::Disabled),
        Some("blocking") => Some(TreeState::Blocking),
        Some("listening") => Some(TreeState::Listening),
        Some("learning") => Some(TreeState::Learning),
        Some("forwarding") => Some(TreeState::Forwarding),
        _ => None,
    };
    evidence.ports.push(port);
}

fn learned(row: &Value, spot: Spot, evidence: &mut Evidence) {
    let Some(mac) = word(row, "mac").and_then(|mac| mac.parse::<Mac>().ok()) else {
        complain(evidence, spot, "a row whose hardware address makes no sense");
        return;
    };
    // Groups that the machine itself listens to are no part of the forwarding table.
    if mac.is_group() {
        return;
    }
    let kind = match word(row, "state") {
        Some("permanent") => LearnedKind::Own,
        Some("static") => LearnedKind::Static,
        Some("stale") => LearnedKind::Other,
        _ => LearnedKind::Learned,
    };
    let port = word(row, "ifname").or_else(|| word(row, "dev")).map(str::to_owned);
    let seen = Seen::at(spot, Trust::Remembered);
    evidence.learned.push(Learned { seen, system: None, port, mac, vlan: number(row, "vlan"), kind });
}

fn groups(row: &Value, spot: Spot, evidence: &mut Evidence) {
    let seen = Seen::at(spot, Trust::Remembered);
    for entry in row.get("mdb").and_then(Value::as_array).into_iter().flatten() {
        // The bridge's own memberships name itself as the port.
        let Some((port, group)) = word(entry, "port").zip(word(entry, "grp")) else { continue };
        let Ok(group) = group.parse::<Ipv4Addr>() else { continue };
        evidence.members.push(Member {
            seen,
            system: None,
            port: port.to_owned(),
            mac: Mac(hardware_address(group)),
            group: Some(group),
            vlan: number(entry, "vid"),
            is_permanent: word(entry, "state") == Some("permanent"),
            is_router_port: false,
        });
    }
    for ports in row.get("router").and_then(Value::as_object).into_iter().flat_map(serde_json::Map::values) {
        for port in ports.as_array().into_iter().flatten().filter_map(|port| word(port, "port").or_else(|| port.as_str())) {
            evidence.members.push(Member {
                seen,
                system: None,
                port: port.to_owned(),
                mac: Mac::ZERO,
                group: None,
                vlan: None,
                is_permanent: false,
                is_router_port: true,
            });
        }
    }
}

/// Reads a machine's own interfaces with their addresses.
pub fn addresses(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for value in super::json(text, &mut evidence) {
        match &value {
            Value::Object(object) => {
                for (name, interfaces) in object {
                    interfaces.as_array().into_iter().flatten().for_each(|row| interface(Some(name), row, &mut evidence));
                }
            }
            list => list.as_array().into_iter().flatten().for_each(|row| interface(None, row, &mut evidence)),
        }
    }
    evidence
}

fn interface(system: Option<&String>, row: &Value, evidence: &mut Evidence) {
    let spot = entry_number(evidence.bindings.len());
    let Some(name) = word(row, "ifname").filter(|_| word(row, "link_type") != Some("loopback")) else { return };
    let mac = word(row, "address").and_then(|mac| mac.parse().ok());
    for address in row.get("addr_info").and_then(Value::as_array).into_iter().flatten() {
        if let Some(address) = word(address, "local").and_then(|address| address.parse().ok()) {
            evidence.bindings.push(Binding {
                seen: Seen::at(spot, Trust::Reported),
                by: BindingSource::Own,
                address,
                mac,
                name: system.cloned(),
                system: system.cloned(),
                port: Some(name.to_owned()),
                vlan: None,
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_together_and_alone() {
        let fdb =
            r#"[{"mac": "02:00:5e:10:00:01", "ifname": "p1", "vlan": 10, "state": ""}, {"mac": "33:33:00:00:00:01", "ifname": "p1"}]"#;
        let mdb = r#"[{"mdb": [{"port": "p2", "grp": "239.69.0.1", "state": "temp"}, {"port": "p2", "grp": "ff02::1"}],
                      "router": {"br0": [{"port": "p24"}]}}]"#;
        let link = r#"[{"ifname": "p1", "ifindex": 2, "flags": ["UP", "LOWER_UP"], "state": "blocking", "cost": 4}]"#;
        let evidence = tables(&format!(r#"{{"link": {link}, "fdb": {fdb}, "mdb": {mdb}}}"#));
        assert_eq!(evidence.ports[0].tree, Some(TreeState::Blocking));
        assert_eq!((evidence.learned.len(), evidence.learned[0].vlan), (1, Some(10)));
        assert_eq!(
            evidence.members.iter().map(|m| (m.port.as_str(), m.is_router_port)).collect::<Vec<_>>(),
            [("p2", false), ("p24", true)]
        );
        assert_eq!(tables(fdb).learned, evidence.learned);
    }
}
