//! Ports with their state and counters. **Source**: RFC 2863, RFC 3635, RFC 4188, RFC 4363.

use super::names::{BRIDGE, ETHERNET, INTERFACES, INTERFACES_X, PAUSES, VLANS, below};
use super::ports::Ports;
use super::tree::{Tree, Value};
use crate::evidence::Evidence;
use crate::facts::{Counters, Port, TreeState};
use crate::seen::{Spot, Trust};
use loomwright_model::BitRate;
use std::collections::BTreeMap;

/// Kinds of interface that are Ethernet. **Source**: IANAifType; 62, 69 and 117 are older words for it.
const ETHERNET_TYPES: [u64; 4] = [6, 62, 69, 117];
/// The speed of an interface that is too fast for the field. **Source**: RFC 2863 `ifSpeed`.
const TOO_FAST: u64 = 4_294_967_295;

/// Reads every interface.
pub fn read(tree: &Tree, ports: &Ports, system: Option<&str>, evidence: &mut Evidence) {
    let bridge_ports: BTreeMap<u32, u32> = ports.bridge_ports.iter().map(|(&port, &index)| (index, port)).collect();
    for (&index, name) in &ports.by_index {
        let spot = place(tree, index);
        let mut port = Port::new(super::seen(spot, Trust::Reported), system.map(str::to_owned), name.clone());
        port.index = Some(index);
        port.bridge_port = bridge_ports.get(&index).copied();
        state(tree, index, &mut port);
        port.counters = counters(tree, index);
        if let Some(number) = port.bridge_port {
            bridged(tree, number, &mut port);
        }
        evidence.ports.push(port);
    }
}

fn place(tree: &Tree, index: u32) -> Spot {
    let columns = [below(INTERFACES, &[2, index]), below(INTERFACES_X, &[1, index]), below(INTERFACES, &[8, index])];
    columns.iter().find_map(|number| tree.place(number)).unwrap_or(Spot::Whole)
}

fn state(tree: &Tree, index: u32, port: &mut Port) {
    let get = |part: &[u32], column: u32| tree.get(&below(part, &[column]), &[index]);
    let number = |column: u32| get(INTERFACES, column).and_then(Value::number);
    port.description = get(INTERFACES, 2).and_then(Value::text).filter(|text| *text != port.name);
    port.alias = get(INTERFACES_X, 18).and_then(Value::text);
    port.mac = get(INTERFACES, 6).and_then(Value::mac);
    port.is_ethernet = number(3).map(|kind| ETHERNET_TYPES.contains(&kind));
    port.longest_packet = number(4).and_then(|size| u32::try_from(size).ok());
    // 1 is up, 2 is down; the rest is neither.
    port.is_enabled = number(7).map(|state| state == 1);
    port.is_up = number(8).map(|state| state == 1);
    port.last_change = number(9);
    let fast = get(INTERFACES_X, 15).and_then(Value::number).map(|megabits| megabits.saturating_mul(1_000_000));
    let slow = number(5).filter(|&speed| speed != TOO_FAST);
    port.speed = fast.filter(|&speed| speed != 0).or(slow).filter(|&speed| speed != 0).map(BitRate::from_bits_per_second);
    port.full_duplex = match get(ETHERNET, 19).and_then(Value::number) {
        Some(2) => Some(false),
        Some(3) => Some(true),
        _ => None,
    };
}

fn counters(tree: &Tree, index: u32) -> Counters {
    let get = |part: &[u32], column: u32| tree.get(&below(part, &[column]), &[index]).and_then(Value::number);
    Counters {
        octets_in: get(INTERFACES_X, 6).or_else(|| get(INTERFACES, 10)),
        octets_out: get(INTERFACES_X, 10).or_else(|| get(INTERFACES, 16)),
        multicast_in: get(INTERFACES_X, 8),
        multicast_out: get(INTERFACES_X, 12),
        discards_in: get(INTERFACES, 13),
        discards_out: get(INTERFACES, 19),
        errors_in: get(INTERFACES, 14),
        errors_out: get(INTERFACES, 20),
        check_errors: get(ETHERNET, 3),
        late_collisions: get(ETHERNET, 8),
        pauses_in: get(PAUSES, 3),
        pauses_out: get(PAUSES, 4),
    }
}

fn bridged(tree: &Tree, number: u32, port: &mut Port) {
    let get = |column: &[u32]| tree.get(column, &[number]).and_then(Value::number);
    port.tree = get(&below(BRIDGE, &[2, 15, 1, 3])).and_then(tree_state);
    port.tree_cost = get(&below(BRIDGE, &[2, 15, 1, 5])).and_then(|cost| u32::try_from(cost).ok());
    port.untagged_vlan = get(&below(VLANS, &[4, 5, 1, 1])).and_then(|vlan| u16::try_from(vlan).ok()).filter(|&vlan| vlan != 0);
}

/// **Source**: RFC 4188 `dot1dStpPortState`.
const fn tree_state(number: u64) -> Option<TreeState> {
    match number {
        1 => Some(TreeState::Disabled),
        2 => Some(TreeState::Blocking),
        3 => Some(TreeState::Listening),
        4 => Some(TreeState::Learning),
        5 => Some(TreeState::Forwarding),
        6 => Some(TreeState::Broken),
        _ => None,
    }
}
