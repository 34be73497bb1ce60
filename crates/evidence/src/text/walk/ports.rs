//! A port's name by each of the ways in which boxes number it.

use super::names::{BRIDGE, INTERFACES, INTERFACES_X, LLDP, below};
use super::tree::{Tree, Value};
use crate::facts::IdentifierKind;
use crate::mac::Mac;
use crate::protocol::lldp::{identifier, port_kind};
use std::collections::BTreeMap;

/// The three numberings.
pub struct Ports {
    /// Names by interface index: the short name, else the description.
    pub by_index: BTreeMap<u32, String>,
    /// Interface indexes by the bridge's own numbers.
    pub bridge_ports: BTreeMap<u32, u32>,
    /// Names by the numbers of the neighbour tables.
    by_neighbour_number: BTreeMap<u32, String>,
}

impl Ports {
    /// Takes the translations out of a walk.
    pub fn new(tree: &Tree) -> Self {
        let mut by_index = texts(tree, &below(INTERFACES, &[2]));
        by_index.extend(texts(tree, &below(INTERFACES_X, &[1])));
        for (index, ..) in tree.column(&below(INTERFACES, &[8])) {
            if let [index] = *index {
                by_index.entry(index).or_insert_with(|| format!("interface {index}"));
            }
        }
        let column = below(BRIDGE, &[1, 4, 1, 2]);
        let bridge_ports =
            tree.column(&column).filter_map(|(index, value, _)| Some((*index.first()?, u32::try_from(value.number()?).ok()?)));
        let bridge_ports = bridge_ports.filter(|&(_, index)| index != 0).collect();
        let mut ports = Self { by_index, bridge_ports, by_neighbour_number: BTreeMap::new() };
        ports.by_neighbour_number = ports.neighbour_numbers(tree);
        ports
    }

    /// The name of an interface.
    pub fn index(&self, index: u32) -> Option<String> {
        self.by_index.get(&index).cloned()
    }

    /// The name of a bridge's port. A walk without the translation: some boxes use interface indexes throughout.
    pub fn bridge_port(&self, port: u32) -> Option<String> {
        match self.bridge_ports.get(&port) {
            Some(&index) => self.index(index).or_else(|| Some(format!("interface {index}"))),
            None if self.bridge_ports.is_empty() => self.index(port).or_else(|| Some(format!("bridge port {port}"))),
            None => Some(format!("bridge port {port}")),
        }
    }

    /// The name of a port of the neighbour tables. Its number is an interface index in about two boxes of three: its own table
    /// goes first, then the bridge's numbers, then the interfaces.
    pub fn neighbour_port(&self, number: u32) -> Option<String> {
        let by_bridge = || self.bridge_ports.get(&number).and_then(|&index| self.index(index));
        self.by_neighbour_number.get(&number).cloned().or_else(by_bridge).or_else(|| self.index(number)).filter(|_| number != 0)
    }

    /// The table of own ports: its identifier is mostly a name, sometimes a hardware address or a number, and may be wrong about which.
    fn neighbour_numbers(&self, tree: &Tree) -> BTreeMap<u32, String> {
        let macs = self.by_mac(tree);
        let descriptions = texts(tree, &below(LLDP, &[3, 7, 1, 4]));
        let long_names: BTreeMap<String, u32> =
            texts(tree, &below(INTERFACES, &[2])).into_iter().map(|(index, name)| (name, index)).collect();
        let mut found = BTreeMap::new();
        for (index, value, _) in tree.column(&below(LLDP, &[3, 7, 1, 3])) {
            let (&[number], Some(octets)) = (index, value.octets()) else { continue };
            let kind = tree.get(&below(LLDP, &[3, 7, 1, 2]), index).and_then(Value::number).and_then(|kind| u32::try_from(kind).ok());
            let id = identifier(kind.map_or(IdentifierKind::Other, port_kind), octets);
            let description = descriptions.get(&number);
            let words = [Some(&id.text), description].into_iter().flatten().filter(|word| !word.is_empty());
            let is_known = |word: &&String| self.by_index.values().any(|name| name == *word);
            let by_long_name = words.clone().find_map(|word| self.index(*long_names.get(word)?));
            let by_mac = id.mac.and_then(|mac| macs.get(&mac)).and_then(|index| self.index((*index)?));
            let by_number = id.text.parse().ok().and_then(|index: u32| self.index(index)).filter(|_| id.text.len() > 2);
            let name = words.clone().find(is_known).cloned().or(by_long_name).or(by_mac).or(by_number);
            let own = || description.filter(|_| id.mac.is_some()).or(Some(&id.text)).filter(|text| !text.is_empty()).cloned();
            found.extend(name.or_else(own).map(|name| (number, name)));
        }
        found
    }

    /// Interfaces by hardware address; `None` where several share one.
    fn by_mac(&self, tree: &Tree) -> BTreeMap<Mac, Option<u32>> {
        let mut macs = BTreeMap::new();
        for (index, value, _) in tree.column(&below(INTERFACES, &[6])) {
            if let (&[index], Some(mac)) = (index, value.mac()) {
                macs.entry(mac).and_modify(|only| *only = None).or_insert(Some(index));
            }
        }
        macs
    }
}

fn texts(tree: &Tree, column: &[u32]) -> BTreeMap<u32, String> {
    tree.column(column).filter_map(|(index, value, _)| Some((*index.first()?, value.text()?))).collect()
}
