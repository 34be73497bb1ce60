//! The box itself. **Source**: RFC 3418, RFC 4188, IEEE LLDP-MIB.

use super::names::{BRIDGE, LLDP, POWER, SYSTEM, below};
use super::ports::Ports;
use super::tree::{Tree, Value};
use crate::facts::System;
use crate::mac::Mac;
use crate::protocol::lldp::network_address;
use crate::seen::{Spot, Trust};

/// What the box says about itself; `None` if the walk holds nothing of it.
pub fn read(tree: &Tree) -> Option<System> {
    let spot = [SYSTEM, LLDP, BRIDGE, POWER].iter().filter_map(|part| tree.place(part)).min();
    let mut system = System::new(super::seen(spot.unwrap_or(Spot::Whole), Trust::Reported));
    let single = |part: &[u32], rest: &[u32]| tree.single(&below(part, rest));
    let words = |part: &[u32], rest: &[u32]| single(part, rest).and_then(Value::text);
    let number = |rest: &[u32]| single(BRIDGE, rest).and_then(Value::number).and_then(|number| u32::try_from(number).ok());
    system.name = words(SYSTEM, &[5]).or_else(|| words(LLDP, &[3, 3]));
    system.description = words(SYSTEM, &[1]).or_else(|| words(LLDP, &[3, 4]));
    system.location = words(SYSTEM, &[6]);
    system.uptime = single(SYSTEM, &[3]).and_then(Value::number);
    for value in [single(LLDP, &[3, 2]), single(BRIDGE, &[1, 1])].into_iter().flatten() {
        system.macs.extend(value.mac().filter(|mac| !system.macs.contains(mac)));
    }
    // Kind, length, then the address itself stand in the index of the table of own addresses.
    for (index, ..) in tree.column(&below(LLDP, &[3, 8, 1, 3])) {
        system.addresses.extend(index_address(index));
    }
    system.tree_root = single(BRIDGE, &[2, 5]).and_then(Value::octets).and_then(bridge_id);
    system.tree_priority = number(&[2, 2]).and_then(|priority| u16::try_from(priority).ok());
    system.root_cost = number(&[2, 6]);
    system.root_port = number(&[2, 7]).filter(|&port| port != 0).and_then(|port| Ports::new(tree).bridge_port(port));
    system.tree_timers = number(&[2, 9]).zip(number(&[2, 8])).zip(number(&[2, 11])).map(|((hello, oldest), delay)| [hello, oldest, delay]);
    system.tree_changes = single(BRIDGE, &[2, 4]).and_then(Value::number);
    system.ageing = number(&[4, 2]);
    system.power_budget = budget(tree);
    let is_something = system != System::new(system.seen);
    is_something.then_some(system)
}

/// `KIND.LENGTH.OCTETS` at the end of an index.
pub fn index_address(index: &[u32]) -> Option<std::net::IpAddr> {
    let (&[family, length], rest) = index.split_first_chunk::<2>()?;
    let octets: Vec<u8> = rest.iter().map(|&number| u8::try_from(number).ok()).collect::<Option<_>>()?;
    (u32::try_from(octets.len()) == Ok(length)).then(|| network_address(u8::try_from(family).ok()?, &octets)).flatten()
}

fn bridge_id(octets: &[u8]) -> Option<(u16, Mac)> {
    let (priority, mac) = octets.split_first_chunk::<2>()?;
    Some((u16::from_be_bytes(*priority), Mac::from_octets(mac)?))
}

/// Of all power supplies for ports together.
fn budget(tree: &Tree) -> Option<(u32, u32)> {
    let sum = |column: u32| {
        let column = below(POWER, &[3, 1, 1, column]);
        let watts: Vec<u64> = tree.column(&column).filter_map(|(_, value, _)| value.number()).collect();
        (!watts.is_empty()).then(|| u32::try_from(watts.iter().fold(0_u64, |sum, watts| sum.saturating_add(*watts))).unwrap_or(u32::MAX))
    };
    Some((sum(2)?, sum(4).unwrap_or_default()))
}
