//! Which box or port of the plan an observation speaks of.

use loomwright_evidence::facts::{Advertisement, BindingSource, ClockIdentity, Neighbour};
use loomwright_evidence::{Evidence, Mac, Seen};
use loomwright_model::{Id, Network, Pairing, Plan, PortRef, Wiring};
use std::collections::{BTreeMap, BTreeSet};
use std::net::{IpAddr, Ipv4Addr};

/// Plan, wiring and evidence, with every name, address and cable end looked up once.
pub struct Names<'a> {
    /// What is asked.
    pub plan: &'a Plan,
    /// What is decided.
    pub wiring: &'a Wiring,
    /// What was seen.
    pub evidence: &'a Evidence,
    names: BTreeMap<String, Id>,
    addresses: BTreeMap<Ipv4Addr, PortRef>,
    macs: BTreeMap<Mac, Id>,
    cables: BTreeMap<PortRef, (Id, PortRef)>,
}

impl<'a> Names<'a> {
    /// Looks everything up.
    pub fn new(plan: &'a Plan, wiring: &'a Wiring, evidence: &'a Evidence) -> Self {
        let mut names = BTreeMap::new();
        for id in plan.devices.keys().chain(wiring.switches.keys()) {
            names.insert(id.as_str().to_lowercase(), id.clone());
        }
        for (id, device) in &plan.devices {
            if let Some(title) = &device.title {
                names.entry(title.to_lowercase()).or_insert_with(|| id.clone());
            }
        }
        let mut this = Self { plan, wiring, evidence, names, addresses: addresses(wiring), macs: BTreeMap::new(), cables: ends(wiring) };
        this.learn();
        this
    }

    fn learn(&mut self) {
        let evidence = self.evidence;
        let own = evidence.bindings.iter().filter(|row| row.by == BindingSource::Own);
        let own = own.filter_map(|row| Some((row.mac?, row.system.as_deref().or(row.name.as_deref())?.to_owned())));
        let systems = evidence.systems.iter().flat_map(|row| row.macs.iter().filter_map(|mac| Some((*mac, row.name.clone()?))));
        let ports = evidence.ports.iter().filter_map(|row| Some((row.mac?, row.system.clone()?)));
        let said = evidence.neighbours.iter().flat_map(|row| {
            let macs = [row.says.chassis_mac(), row.says.port.as_ref().and_then(|port| port.mac)];
            macs.into_iter().flatten().filter_map(|mac| Some((mac, row.says.name.clone()?)))
        });
        for (mac, name) in own.chain(systems).chain(ports).chain(said) {
            if let Some(id) = self.named(&name).cloned() {
                self.macs.entry(mac).or_insert(id);
            }
        }
        self.learn_addresses();
    }

    /// An address that one interface alone has makes that interface known.
    fn learn_addresses(&mut self) {
        let mut owners: BTreeMap<Ipv4Addr, BTreeSet<Mac>> = BTreeMap::new();
        for (address, mac) in self.evidence.bindings.iter().filter_map(|row| Some((v4(row.address)?, row.mac?))) {
            owners.entry(address).or_default().insert(mac);
        }
        for (address, macs) in owners {
            let Some(port) = self.addresses.get(&address).cloned() else { continue };
            if let (1, Some(mac)) = (macs.len(), macs.first()) {
                self.macs.entry(*mac).or_insert(port.item);
            }
        }
    }

    /// The box that is called so: its id or title, in any case, with or without a domain.
    pub fn named(&self, name: &str) -> Option<&Id> {
        let name = name.trim().to_lowercase();
        self.names.get(&name).or_else(|| self.names.get(name.split('.').next()?))
    }

    /// The receiver that is called so: a box, or a box with the name of a network behind it for one of its legs.
    pub fn receiver(&self, name: &str) -> Option<&Id> {
        self.named(name).or_else(|| {
            let name = name.trim().to_lowercase();
            self.plan.networks.keys().find_map(|network| {
                let stem = name.strip_suffix(&network.as_str().to_lowercase())?;
                self.named(stem.trim_end_matches(['-', '_', '/', '.']))
            })
        })
    }

    /// The box with this hardware address.
    pub fn by_mac(&self, mac: Mac) -> Option<&Id> {
        self.macs.get(&mac)
    }

    /// The interface that the plan gives this address.
    pub fn by_address(&self, address: Ipv4Addr) -> Option<&PortRef> {
        self.addresses.get(&address)
    }

    /// Every planned address.
    pub fn planned_addresses(&self) -> impl Iterator<Item = (&PortRef, Ipv4Addr)> {
        self.addresses.iter().map(|(address, port)| (port, *address))
    }

    /// The clock with this identity.
    pub fn by_clock(&self, identity: ClockIdentity) -> Option<&Id> {
        self.by_mac(identity.mac()?)
    }

    /// The box that speaks in a neighbour message.
    pub fn speaker(&self, says: &Advertisement) -> Option<&Id> {
        says.name.as_deref().and_then(|name| self.named(name)).or_else(|| self.by_mac(says.chassis_mac()?))
    }

    /// The box whose port heard a neighbour: as the source says, else as its file is named.
    pub fn listener(&self, row: &Neighbour) -> Option<&Id> {
        row.system.as_deref().and_then(|name| self.named(name)).or_else(|| self.source(&row.seen))
    }

    /// The box that a source speaks for or was taken at, by its own word or by its file's name.
    pub fn source(&self, seen: &Seen) -> Option<&Id> {
        let source = self.evidence.source_of(seen)?;
        source.system.as_deref().and_then(|name| self.named(name)).or_else(|| source.name_words().find_map(|word| self.named(word)))
    }

    /// The networks at the place where a source was taken.
    pub fn networks_at(&self, seen: &Seen) -> Vec<Id> {
        let Some(here) = self.source(seen) else { return self.named_networks(seen) };
        let named = self.evidence.source_of(seen).into_iter().flat_map(|source| source.name_words());
        let ports: Vec<PortRef> = named
            .filter(|word| self.named(word).is_none())
            .filter_map(|word| self.port(here, word))
            .filter(|port| self.cables.contains_key(port))
            .collect();
        let all = || self.cables.keys().filter(|port| port.item == *here).cloned().collect();
        let ports = if ports.is_empty() { all() } else { ports };
        let mut found: Vec<Id> = ports.iter().flat_map(|port| self.networks_of(port)).cloned().collect();
        found.sort();
        found.dedup();
        found
    }

    /// The networks that a source's name says, as `network-a`.
    fn named_networks(&self, seen: &Seen) -> Vec<Id> {
        let name = self.evidence.source_of(seen).map(|source| source.name.to_lowercase()).unwrap_or_default();
        let says = |id: &Id| {
            let word = format!("{NETWORK}{}", id.as_str().to_lowercase());
            let ends_there = |at: usize| !name[at + word.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '-' || c == '_');
            name.match_indices(&word).any(|(at, _)| ends_there(at))
        };
        self.plan.networks.keys().filter(|id| says(id)).cloned().collect()
    }

    /// The port of `item` that its management calls `seen`: the same word, or a word that ends in the planned number.
    pub fn port(&self, item: &Id, seen: &str) -> Option<PortRef> {
        let spoken =
            |port: &str| port == seen || (!port.is_empty() && port.bytes().all(|b| b.is_ascii_digit()) && last_number(seen) == Some(port));
        if self.wiring.switches.contains_key(item) {
            let is_no_socket = NO_SOCKETS.iter().any(|word| seen.to_lowercase().starts_with(word));
            let port = last_number(seen).filter(|_| !is_no_socket)?;
            return Some(PortRef::new(item.clone(), Id::new(port.trim_start_matches('0')).ok()?));
        }
        let gear = self.wiring.gear_at(self.plan, item)?;
        let port = gear.audio_ports.iter().find(|port| spoken(port.name.as_str()))?;
        Some(PortRef::new(item.clone(), port.name.clone()))
    }

    /// The planned cable at a port and its other end.
    pub fn cable(&self, port: &PortRef) -> Option<&(Id, PortRef)> {
        self.cables.get(port)
    }

    /// The networks that a port's planned cable carries.
    pub fn networks_of(&self, port: &PortRef) -> &'a [Id] {
        let cable = self.cables.get(port).and_then(|(cable, _)| self.wiring.cables.get(cable));
        cable.map_or(&[], |cable| cable.networks.as_slice())
    }

    /// The network whose range holds an address.
    pub fn network_of(&self, address: Ipv4Addr) -> Option<(&'a Id, &'a Network)> {
        self.plan.networks.iter().find(|(_, network)| network.subnet.is_some_and(|subnet| subnet.contains(address)))
    }

    /// Whether a box passes frames from one of its ports to the other.
    pub fn is_chained(&self, item: &Id) -> bool {
        let Some(device) = self.plan.devices.get(item) else { return false };
        self.plan.gear_of(device).is_some_and(|gear| self.wiring.pairing_of(item, device, gear) == Some(Pairing::Chained))
    }

    /// The ports that frames from `port`'s cable come from, through chained devices; `None` if a switch is among them, behind
    /// which anything can be.
    pub fn behind(&self, port: &PortRef) -> Option<BTreeSet<PortRef>> {
        let mut found = BTreeSet::new();
        let mut next = self.cable(port).map(|(_, far)| far.clone());
        while let Some(entry) = next.take() {
            if self.wiring.switches.contains_key(&entry.item) {
                return None;
            }
            if !found.insert(entry.clone()) || !self.is_chained(&entry.item) {
                break;
            }
            let other = self.cables.keys().find(|other| other.item == entry.item && **other != entry).cloned();
            if let Some(other) = other {
                next = self.cable(&other).map(|(_, far)| far.clone());
                found.insert(other);
            }
        }
        Some(found)
    }

    /// Every planned cable end of a box.
    pub fn ends_of(&self, item: &Id) -> impl Iterator<Item = (&PortRef, &PortRef)> {
        let item = item.clone();
        self.cables.iter().filter(move |(port, _)| port.item == item).map(|(port, (_, far))| (port, far))
    }

    /// The planned stream and network of a group.
    pub fn group(&self, group: Ipv4Addr) -> Option<(&'a Id, &'a Id)> {
        let mut all =
            self.wiring.groups.iter().flat_map(|((stream, _), groups)| groups.iter().map(move |(network, one)| (stream, network, one)));
        all.find(|(.., one)| **one == group).map(|(stream, network, _)| (stream, network))
    }

    /// Where a box stands.
    pub fn place(&self, item: &Id) -> Option<Id> {
        self.wiring.place_of(self.plan, item).cloned()
    }
}

/// How a file's name says the network where it was taken, if no box is named. **Source**: own choice.
const NETWORK: &str = "network-";
/// How interfaces that are no sockets begin their names. **Source**: common practice, no source.
const NO_SOCKETS: [&str; 4] = ["vlan", "br", "lo", "cpu"];

/// An address of the fourth version.
pub const fn v4(address: IpAddr) -> Option<Ipv4Addr> {
    match address {
        IpAddr::V4(address) => Some(address),
        IpAddr::V6(_) => None,
    }
}

/// The digits at the end of a port's name: `24` of `p24` and of `ge-0/0/24`.
fn last_number(name: &str) -> Option<&str> {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    name.get(stem.len()..).filter(|digits| !digits.is_empty())
}

fn addresses(wiring: &Wiring) -> BTreeMap<Ipv4Addr, PortRef> {
    let switches = wiring
        .switches
        .iter()
        .filter_map(|(id, switch)| Some((switch.address?.address, PortRef::new(id.clone(), Id::new("control").ok()?))));
    wiring.interfaces.iter().map(|(port, one)| (one.address.address, port.clone())).chain(switches).collect()
}

fn ends(wiring: &Wiring) -> BTreeMap<PortRef, (Id, PortRef)> {
    let both = wiring.cables.iter().flat_map(|(id, cable)| {
        let [one, other] = &cable.ends;
        [(one.clone(), (id.clone(), other.clone())), (other.clone(), (id.clone(), one.clone()))]
    });
    both.collect()
}

#[cfg(test)]
mod tests {
    use super::last_number;

    #[test]
    fn ports_go_by_many_names() {
        for (name, number) in [("p24", Some("24")), ("ge-0/0/3", Some("3")), ("7", Some("7")), ("br", None), ("", None)] {
            assert_eq!(last_number(name), number, "{name}");
        }
    }
}
