//! Power over the ports. **Source**: RFC 3621.
//!
//! Its numbers are a group and a port of the group, and no table says which interface that is. Boxes with one group mostly count as
//! their bridge or their interfaces do; where neither fits, the port keeps its number as its name.

use super::names::{POWER, below};
use super::ports::Ports;
use super::tree::{Tree, Value};
use crate::evidence::Evidence;
use crate::facts::{Port, PortPower, PowerStatus};
use crate::seen::Trust;
use std::collections::BTreeMap;

/// Reads every powered port; the interfaces must have been read.
pub fn read(tree: &Tree, ports: &Ports, system: Option<&str>, evidence: &mut Evidence) {
    let mut found: BTreeMap<&[u32], _> = BTreeMap::new();
    let columns = [3, 6, 10].map(|column| below(POWER, &[1, 1, column]));
    for column in &columns {
        for (index, _, spot) in tree.column(column) {
            found.entry(index).or_insert(spot);
        }
    }
    let is_one_group = found.keys().all(|index| index.first() == found.keys().next().and_then(|first| first.first()));
    for (index, spot) in found {
        let power = power(tree, index);
        let named = is_one_group.then(|| name(ports, *index.last()?)).flatten();
        match named.and_then(|name| evidence.ports.iter_mut().find(|port| port.name == name)) {
            Some(port) => port.power = Some(power),
            None => {
                let numbers: Vec<String> = index.iter().map(u32::to_string).collect();
                let name = format!("power {}", numbers.join("/"));
                let mut port = Port::new(super::seen(spot, Trust::Reported), system.map(str::to_owned), name);
                port.power = Some(power);
                evidence.ports.push(port);
            }
        }
    }
}

fn name(ports: &Ports, number: u32) -> Option<String> {
    match ports.bridge_ports.get(&number) {
        Some(&index) => ports.index(index),
        None => ports.index(number),
    }
}

fn power(tree: &Tree, index: &[u32]) -> PortPower {
    let get = |column: u32| tree.get(&below(POWER, &[1, 1, column]), index).and_then(Value::number);
    let status = match get(6) {
        Some(1) => Some(PowerStatus::Disabled),
        Some(2) => Some(PowerStatus::Searching),
        Some(3) => Some(PowerStatus::Delivering),
        Some(4) => Some(PowerStatus::Fault),
        Some(5) => Some(PowerStatus::Test),
        Some(6) => Some(PowerStatus::OtherFault),
        _ => None,
    };
    PortPower {
        is_enabled: get(3).map(|is| is == 1),
        status,
        // 1 stands for class 0, and only a delivering port's class means anything.
        class: get(10)
            .filter(|_| status == Some(PowerStatus::Delivering))
            .and_then(|class| u8::try_from(class.checked_sub(1)?).ok())
            .filter(|class| *class <= 8),
        denied: get(12),
        overloads: get(13),
    }
}
