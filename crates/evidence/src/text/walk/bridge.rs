//! Forwarding tables, groups and VLANs. **Source**: RFC 4188, RFC 4363.

use super::names::{BRIDGE, VLANS, below};
use super::ports::Ports;
use super::tree::{Tree, Value, index_mac, port_list};
use crate::evidence::Evidence;
use crate::facts::{Learned, LearnedKind, Member, VlanRow};
use crate::mac::Mac;
use crate::seen::{Spot, Trust};
use std::collections::{BTreeMap, BTreeSet};

/// Reads the tables.
pub fn read(tree: &Tree, ports: &Ports, system: Option<&str>, evidence: &mut Evidence) {
    let mut reader = Reader { tree, ports, system, evidence };
    reader.by_vlan();
    reader.plain();
    reader.groups();
    reader.vlans();
}

struct Reader<'a> {
    tree: &'a Tree,
    ports: &'a Ports,
    system: Option<&'a str>,
    evidence: &'a mut Evidence,
}

impl Reader<'_> {
    /// Numbers of forwarding databases are VLANs unless a table says otherwise.
    fn by_vlan(&mut self) {
        let column = below(VLANS, &[4, 2, 1, 3]);
        let databases: BTreeMap<u32, u32> = self
            .tree
            .column(&column)
            .filter_map(|(index, value, _)| Some((u32::try_from(value.number()?).ok()?, *index.last()?)))
            .collect();
        let rows: Vec<_> =
            self.tree.column(&below(VLANS, &[2, 2, 1, 2])).map(|(index, port, spot)| (index.to_vec(), port.number(), spot)).collect();
        for (index, port, spot) in rows {
            let Some((database, mac)) = index.split_first().and_then(|(database, rest)| Some((*database, index_mac(rest)?))) else {
                continue;
            };
            let vlan = databases.get(&database).copied().unwrap_or(database);
            let kind = self.kind(&below(VLANS, &[2, 2, 1, 3]), &index);
            self.learned((mac, u16::try_from(vlan).ok()), port, kind, spot);
        }
    }

    /// The older table: what the newer one has too is left out.
    fn plain(&mut self) {
        let known: BTreeSet<(Mac, Option<String>)> = self.evidence.learned.iter().map(|row| (row.mac, row.port.clone())).collect();
        let rows: Vec<_> =
            self.tree.column(&below(BRIDGE, &[4, 3, 1, 2])).map(|(index, port, spot)| (index.to_vec(), port.number(), spot)).collect();
        for (index, port, spot) in rows {
            // Printed with names, the index is a text that cannot be taken back; the address also stands in a column of its own.
            let by_column = || self.tree.get(&below(BRIDGE, &[4, 3, 1, 1]), &index).and_then(Value::mac);
            let Some(mac) = index_mac(&index).or_else(by_column) else { continue };
            let name = self.port(port);
            if !known.contains(&(mac, name)) {
                let kind = self.kind(&below(BRIDGE, &[4, 3, 1, 3]), &index);
                self.learned((mac, None), port, kind, spot);
            }
        }
    }

    fn port(&self, number: Option<u64>) -> Option<String> {
        let number = number.and_then(|number| u32::try_from(number).ok()).filter(|&number| number != 0)?;
        self.ports.bridge_port(number)
    }

    /// **Source**: RFC 4188 `dot1dTpFdbStatus`.
    fn kind(&self, column: &[u32], index: &[u32]) -> LearnedKind {
        match self.tree.get(column, index).and_then(Value::number) {
            Some(3) | None => LearnedKind::Learned,
            Some(4) => LearnedKind::Own,
            Some(5) => LearnedKind::Static,
            Some(_) => LearnedKind::Other,
        }
    }

    fn learned(&mut self, (mac, vlan): (Mac, Option<u16>), port: Option<u64>, kind: LearnedKind, spot: Spot) {
        let (seen, system) = (super::seen(spot, Trust::Remembered), self.system.map(str::to_owned));
        let port = self.port(port);
        self.evidence.learned.push(Learned { seen, system, port, mac, vlan, kind });
    }

    fn groups(&mut self) {
        let (tree, column) = (self.tree, below(VLANS, &[2, 3, 1, 2]));
        for (index, octets, spot) in tree.column(&column).map(|(index, ports, spot)| (index, ports.octets().unwrap_or_default(), spot)) {
            let Some((&vlan, mac)) = index.split_first().and_then(|(vlan, rest)| Some((vlan, index_mac(rest)?))) else { continue };
            let learnt = self.tree.get(&below(VLANS, &[2, 3, 1, 3]), index).and_then(Value::octets);
            let learnt: BTreeSet<u32> = learnt.map(|octets| port_list(octets).collect()).unwrap_or_default();
            for number in port_list(octets) {
                let Some(port) = self.ports.bridge_port(number) else { continue };
                self.evidence.members.push(Member {
                    seen: super::seen(spot, Trust::Remembered),
                    system: self.system.map(str::to_owned),
                    port,
                    mac,
                    group: None,
                    vlan: u16::try_from(vlan).ok(),
                    is_permanent: !learnt.is_empty() && !learnt.contains(&number),
                    is_router_port: false,
                });
            }
        }
    }

    /// What is in force now; what is set, where a box does not tell that.
    fn vlans(&mut self) {
        let mut rows: BTreeMap<u32, (Vec<u8>, Vec<u8>, Spot)> = BTreeMap::new();
        for (egress, untagged) in [([4, 2, 1, 4], [4, 2, 1, 5]), ([4, 3, 1, 2], [4, 3, 1, 4])] {
            for (index, value, spot) in self.tree.column(&below(VLANS, &egress)) {
                let Some(&vlan) = index.last() else { continue };
                let without = self.tree.get(&below(VLANS, &untagged), index).and_then(Value::octets).unwrap_or_default();
                rows.entry(vlan).or_insert_with(|| (value.octets().unwrap_or_default().to_vec(), without.to_vec(), spot));
            }
        }
        for (vlan, (egress, untagged, spot)) in rows {
            let Ok(number) = u16::try_from(vlan) else { continue };
            let without: BTreeSet<u32> = port_list(&untagged).collect();
            let name = |number: u32| self.ports.bridge_port(number);
            let (untagged, tagged): (Vec<u32>, Vec<u32>) = port_list(&egress).partition(|port| without.contains(port));
            self.evidence.vlans.push(VlanRow {
                seen: super::seen(spot, Trust::Reported),
                system: self.system.map(str::to_owned),
                vlan: number,
                name: self.tree.get(&below(VLANS, &[4, 3, 1, 1]), &[vlan]).and_then(Value::text),
                tagged: tagged.into_iter().filter_map(name).collect(),
                untagged: untagged.into_iter().filter_map(name).collect(),
            });
        }
    }
}
