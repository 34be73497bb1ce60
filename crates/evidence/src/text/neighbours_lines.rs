//! A neighbour daemon's table as lines: `key=value`, and as a person reads it.
//!
//! **Shape**: `lldp.PORT.chassis.name=..`; a port's name may itself hold dots; a second neighbour of one port begins again with `via`.

use super::words::{add_ability, identifier_kind, is_yes, medium, power};
use super::{complain, line_number};
use crate::evidence::Evidence;
use crate::facts::{Advertisement, IdentifierKind, LinkPower, Neighbour};
use crate::protocol::lldp::written;
use crate::seen::{Seen, Trust};

/// Reads the table.
pub fn key_value(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    let mut port = String::new();
    for (n, line) in text.lines().enumerate() {
        let spot = line_number(n);
        let Some((key, value)) = line.trim().strip_prefix("lldp.").and_then(|rest| rest.split_once('=')) else {
            if !line.trim().is_empty() {
                complain(&mut evidence, spot, "a line without `key=value`");
            }
            continue;
        };
        if let Some(name) = key.strip_suffix(".via") {
            name.clone_into(&mut port);
            evidence.neighbours.push(begin(Seen::at(spot, Trust::Remembered), name));
            continue;
        }
        let field = key.strip_prefix(port.as_str()).and_then(|rest| rest.strip_prefix('.'));
        match (field, evidence.neighbours.last_mut()) {
            (Some(field), Some(neighbour)) => set(&mut neighbour.says, field, value),
            _ => complain(&mut evidence, spot, "a line before its neighbour's `via` line"),
        }
    }
    evidence
}

fn begin(seen: Seen, port: &str) -> Neighbour {
    Neighbour {
        seen,
        system: None,
        local_port: Some(port.to_owned()),
        local_number: None,
        sender: None,
        vlan: None,
        says: Advertisement::default(),
    }
}

fn set(says: &mut Advertisement, field: &str, value: &str) {
    let own = || Some(value.to_owned());
    match field {
        "chassis.name" => says.name = own(),
        "chassis.descr" => says.description = own(),
        "chassis.mgmt-ip" => says.management.extend(value.parse::<std::net::IpAddr>().ok()),
        "port.descr" => says.port_description = own(),
        "port.ttl" => says.time_to_live = value.parse().ok(),
        "port.mfs" => says.longest_frame = value.parse().ok(),
        "port.aggregation" => says.aggregated = Some(value != "0"),
        "port.auto-negotiation.enabled" => says.negotiates = Some(is_yes(value)),
        "port.auto-negotiation.current" => medium(says, value),
        "vlan.vlan-id" => says.vlan_names.extend(value.parse().ok().map(|vlan| (vlan, String::new()))),
        "vlan.pvid" if is_yes(value) => says.untagged_vlan = says.vlan_names.last().map(|&(vlan, _)| vlan).filter(|&vlan| vlan != 0),
        "vlan" => {
            if let Some((_, name)) = says.vlan_names.last_mut() {
                value.clone_into(name);
            }
        }
        _ => set_by_kind(says, field, value),
    }
}

/// Fields whose name tells a kind.
fn set_by_kind(says: &mut Advertisement, field: &str, value: &str) {
    let kind_of = |field: &str| Some(identifier_kind(field)).filter(|kind| *kind != IdentifierKind::Other);
    if let Some(rest) = field.strip_prefix("chassis.") {
        match (rest.strip_suffix(".enabled"), kind_of(rest)) {
            (Some(ability), _) => add_ability(says, ability, is_yes(value)),
            (None, Some(kind)) => says.chassis = Some(written(kind, value.to_owned())),
            _ => {}
        }
    } else if let Some(key) = field.strip_prefix("port.power.") {
        power(says.power.get_or_insert_with(LinkPower::default), key, value);
    } else if let Some(kind) = field.strip_prefix("port.").and_then(kind_of) {
        says.port = Some(written(kind, value.to_owned()));
    }
}

/// Reads the table that is printed for people: `Interface:` begins a neighbour, then `Word: value` lines.
pub fn printed(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for (n, line) in text.lines().enumerate() {
        let Some((word, value)) = line.trim().split_once(':') else { continue };
        let value = value.trim();
        if word == "Interface" {
            let port = value.split(',').next().unwrap_or_default().trim();
            evidence.neighbours.push(begin(Seen::at(line_number(n), Trust::Remembered), port));
        } else if let Some(neighbour) = evidence.neighbours.last_mut() {
            set_printed(&mut neighbour.says, word, value);
        }
    }
    if evidence.neighbours.is_empty() && !text.contains("LLDP neighbors") {
        complain(&mut evidence, crate::Spot::Whole, "no neighbour in it");
    }
    evidence
}

fn set_printed(says: &mut Advertisement, word: &str, value: &str) {
    let id = || {
        let (kind, text) = value.split_once(' ').unwrap_or(("", value));
        Some(written(identifier_kind(kind), text.trim().to_owned()))
    };
    match word {
        "ChassisID" => says.chassis = id(),
        "PortID" => says.port = id(),
        "SysName" => says.name = Some(value.to_owned()),
        "SysDescr" => says.description = Some(value.to_owned()),
        "PortDescr" => says.port_description = Some(value.to_owned()),
        "MgmtIP" => says.management.extend(value.parse::<std::net::IpAddr>().ok()),
        "TTL" => says.time_to_live = value.parse().ok(),
        "MFS" => says.longest_frame = value.parse().ok(),
        "MAU oper type" => medium(says, value),
        "Capability" => {
            if let Some((ability, is)) = value.split_once(',') {
                add_ability(says, ability.trim(), is_yes(is.trim()));
            }
        }
        "VLAN" => {
            let number = value.split([',', ' ']).next().and_then(|vlan| vlan.parse().ok()).filter(|&vlan: &u16| vlan != 0);
            if let Some(vlan) = number {
                says.vlan_names.push((vlan, value.rsplit_once(' ').map(|(_, name)| name.to_owned()).unwrap_or_default()));
                says.untagged_vlan = Some(vlan).filter(|_| value.contains("pvid: yes")).or(says.untagged_vlan);
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ports_may_have_dots_and_several_neighbours() {
        let text = "lldp.eth0.10.via=LLDP\nlldp.eth0.10.chassis.mac=02:00:5e:10:00:01\nlldp.eth0.10.chassis.Bridge.enabled=on\n\
                    lldp.eth0.10.port.ifname=p1\nlldp.eth0.10.vlan.vlan-id=7\nlldp.eth0.10.vlan.pvid=yes\nlldp.eth0.10.vlan=a\n\
                    lldp.eth0.10.via=LLDP\nlldp.eth0.10.chassis.name=b\nnonsense\n";
        let evidence = key_value(text);
        assert_eq!(evidence.neighbours.len(), 2);
        let says = &evidence.neighbours[0].says;
        assert_eq!(evidence.neighbours[0].local_port.as_deref(), Some("eth0.10"));
        assert_eq!((says.untagged_vlan, says.vlan_names.clone()), (Some(7), vec![(7, "a".to_owned())]));
        assert_eq!(says.chassis_mac(), "02:00:5e:10:00:01".parse().ok());
        assert_eq!((evidence.complaints.len(), evidence.complaints[0].spot), (1, line_number(9)));
    }
}
