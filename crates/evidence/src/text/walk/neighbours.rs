//! Neighbours as a box remembers them. **Source**: IEEE LLDP-MIB `lldpRemTable`, `lldpRemManAddrTable` and the extensions of
//! IEEE 802.1 and 802.3.
//!
//! **Shape**: an index is time, local port, number; some boxes leave the time out. Hardware addresses come as six octets or as text;
//! the local port's number is often no interface index, and some boxes always say 0.

use super::names::{LLDP, below};
use super::ports::Ports;
use super::system::index_address;
use super::tree::{Tree, Value};
use crate::evidence::Evidence;
use crate::facts::{Advertisement, Capabilities, Identifier, IdentifierKind, Neighbour};
use crate::protocol::lldp::{chassis_kind, identifier, port_kind};
use crate::protocol::mau;
use crate::seen::{Spot, Trust};
use std::collections::BTreeMap;

/// Reads every neighbour.
pub fn read(tree: &Tree, ports: &Ports, system: Option<&str>, evidence: &mut Evidence) {
    let mut rows: BTreeMap<&[u32], Spot> = BTreeMap::new();
    let columns = [4, 5, 6, 7, 9].map(|column| below(LLDP, &[4, 1, 1, column]));
    for column in &columns {
        for (index, _, spot) in tree.column(column) {
            let first = rows.entry(index).or_insert(spot);
            *first = spot.min(*first);
        }
    }
    for (index, spot) in rows {
        let number = match *index {
            [_, port, _] | [port, _] => Some(port),
            _ => {
                super::super::complain(evidence, spot, "a neighbour whose index has neither two nor three parts: its port is not known");
                None
            }
        };
        evidence.neighbours.push(Neighbour {
            seen: super::seen(spot, Trust::Remembered),
            system: system.map(str::to_owned),
            local_port: number.and_then(|number| ports.neighbour_port(number)),
            local_number: number,
            sender: None,
            vlan: None,
            says: says(tree, index),
        });
    }
}

fn says(tree: &Tree, index: &[u32]) -> Advertisement {
    let get = |column: u32| tree.get(&below(LLDP, &[4, 1, 1, column]), index);
    let words = |column: u32| get(column).and_then(Value::text);
    let further = |rest: &[u32]| tree.get(&below(LLDP, rest), index).and_then(Value::number).and_then(|number| u16::try_from(number).ok());
    let mau = further(&[5, 4_623, 1, 3, 1, 1, 4]).filter(|&mau| mau != 0);
    let manager = below(LLDP, &[4, 2, 1, 3]);
    let manager_rows = below(&manager, index);
    Advertisement {
        chassis: id(get(4), get(5), chassis_kind),
        port: id(get(6), get(7), port_kind),
        port_description: words(8),
        name: words(9),
        description: words(10),
        capable: abilities(get(11)),
        enabled: abilities(get(12)),
        management: tree.column(&manager_rows).filter_map(|(rest, ..)| index_address(rest)).collect(),
        untagged_vlan: further(&[5, 32_962, 1, 3, 1, 1, 1]).filter(|&vlan| vlan != 0),
        mau,
        speed: mau.and_then(mau::speed),
        full_duplex: mau.and_then(mau::full_duplex),
        ..Advertisement::default()
    }
}

fn id(kind: Option<&Value>, value: Option<&Value>, kind_of: impl Fn(u32) -> IdentifierKind) -> Option<Identifier> {
    let kind = kind.and_then(Value::number).and_then(|kind| u32::try_from(kind).ok()).map_or(IdentifierKind::Other, kind_of);
    match value? {
        Value::Octets(octets) if !octets.is_empty() => Some(identifier(kind, octets)),
        other => Some(identifier(kind, other.text()?.as_bytes())),
    }
}

/// Bits from the top of the first octet. **Source**: RFC 2578 section 7.1.4 `BITS`.
fn abilities(value: Option<&Value>) -> Capabilities {
    let octets = value.and_then(Value::octets).unwrap_or_default();
    let word = [octets.first().copied().unwrap_or_default(), octets.get(1).copied().unwrap_or_default()];
    Capabilities(u16::from_be_bytes(word).reverse_bits())
}
