//! Gives addresses: the same host part on every network of a device, places by their third octet.
//!
//! Within 256 addresses: .1 for the querier, .2 to .19 switches, .20 to .199 devices, from .200 left free for
//! automatic addresses and laptops (common practice, no source). A control function that shares an audio port shares that
//! network's subnet, by a second address. Smaller subnets are divided in the same
//! proportion. Addresses that are there already stay.

use crate::demand;
use crate::draft::Draft;
use loomwright_model::plan::Addressing;
use loomwright_model::{Control, Id, Interface, InterfaceAddress, Item, Pairing, PortRef, Subnet};
use std::collections::BTreeSet;
use std::net::Ipv4Addr;

/// Which host numbers are for what.
#[derive(Debug, Clone, Copy)]
struct Scheme {
    /// Blocks of 256 addresses; 1 for subnets up to that size.
    blocks: u32,
    /// Highest host number in all.
    hosts: u32,
    /// First and last switch, first and last device, within a block.
    switches: [u32; 2],
    devices: [u32; 2],
}

impl Scheme {
    /// For the smallest of the subnets that a host number must fit in.
    fn new(hosts: u32) -> Self {
        if hosts >= 254 {
            return Self { blocks: (hosts + 2) / 256, hosts, switches: [2, 19], devices: [20, 199] };
        }
        // 18 of 254 for switches and 199 of 254 as the last device, scaled down.
        let last_switch = 1 + (hosts * 18 / 254).max(1);
        Self { blocks: 1, hosts, switches: [2, last_switch], devices: [last_switch + 1, (hosts * 199 / 254).max(last_switch + 1)] }
    }

    /// The number for a control function that shares the wire with the audio interface of number `host`: 100 more, so
    /// that one is read off the other (own choice). `None` where that is not a number for devices.
    fn beside(self, host: u32) -> Option<u32> {
        let own = self.devices[0]..=self.devices[1];
        (own.contains(&(host % 256)) && own.contains(&(host % 256 + 100))).then_some(host + 100)
    }

    /// Host numbers to try for something in the place at `index` of `places`, best first.
    fn numbers(self, [first, last]: [u32; 2], index: usize, places: usize) -> impl Iterator<Item = u32> {
        let one_each = usize::try_from(self.blocks).is_ok_and(|blocks| blocks >= places);
        let shift = u32::from(usize::try_from(self.blocks).is_ok_and(|blocks| blocks > places));
        let own = if one_each { u32::try_from(index).unwrap_or(0) + shift } else { 0 };
        let block = move |step: u32| (own + step) % self.blocks;
        let regular = (0..self.blocks).flat_map(move |step| (first..=last).map(move |host| block(step) * 256 + host));
        // When everything regular is given out: whatever number is left, from the far end of the pool.
        let pool = (self.devices[1] + 1..self.hosts.min(255)).rev();
        let rest = (0..self.blocks).flat_map(move |step| pool.clone().map(move |host| block(step) * 256 + host));
        regular.chain(rest).filter(move |host| *host <= self.hosts)
    }
}

/// Gives addresses to all switches and interfaces.
pub(crate) fn decide(draft: &mut Draft) {
    let subnets: Vec<(Id, Subnet)> = draft
        .plan
        .networks
        .iter()
        .filter(|(_, network)| network.addresses != Addressing::LinkLocal)
        .filter_map(|(id, network)| Some((id.clone(), network.subnet?)))
        .collect();
    let Some(hosts) = subnets.iter().map(|(_, subnet)| subnet.hosts()).min() else { return };
    let mut book = Book { subnets, scheme: Scheme::new(hosts), taken: BTreeSet::new(), full: Vec::new() };
    let interfaces = interfaces(draft);
    book.keep_held(draft);
    let kept = book.keep(draft, &interfaces);
    book.switches(draft);
    book.devices(draft, interfaces, kept);
    draft.done.wiring.interfaces.sort_by(|one, _, other, _| order(draft.plan, one).cmp(&order(draft.plan, other)));
    if !book.full.is_empty() {
        let names = crate::draft::listed(&book.full, 5);
        let remedy = "Use a larger subnet: each prefix bit less doubles it.".to_owned();
        draft.stop("design/subnet-full", vec![Item::Plan], [format!("No address is left for: {names}."), remedy]);
    }
}

fn order(plan: &loomwright_model::Plan, port: &PortRef) -> (usize, usize, PortRef) {
    let index = plan.devices.get_index_of(&port.item).unwrap_or(usize::MAX);
    let gear = plan.devices.get(&port.item).and_then(|device| plan.gear_of(device));
    let at = gear.and_then(|gear| gear.port_specs().iter().position(|spec| spec.name == port.port)).unwrap_or(usize::MAX);
    (index, at, port.clone())
}

/// One interface that wants an address.
struct Wish {
    device: usize,
    key: PortRef,
    network: Id,
    /// Two addresses in one subnet: cannot have the host number of the device's other interface there.
    merged: bool,
}

/// Interfaces of all devices, in plan order.
fn interfaces(draft: &Draft) -> Vec<Wish> {
    let mut wishes = Vec::new();
    for (device, (id, about)) in draft.plan.devices.iter().enumerate() {
        let Some(gear) = draft.plan.gear_of(about) else { continue };
        let mut wish = |port: &Id, network: Id, merged| {
            wishes.push(Wish { device, key: PortRef::new(id.clone(), port.clone()), network, merged });
        };
        let pairing: Option<Pairing> = draft.done.wiring.pairing_of(id, about, gear);
        if gear.is_switching() {
            let network = about.networks.first().or_else(|| demand::control_network(draft.plan)).cloned();
            let network = network.or_else(|| demand::audio_networks(draft.plan).first().cloned());
            if let (Some(network), Some(port)) = (network, gear.port_specs().first()) {
                wish(&port.name, network, false);
            }
            continue;
        }
        let legs = demand::audio_legs(draft.plan, about, gear, pairing);
        for (at, network) in &legs {
            wish(&gear.audio_ports[*at].name, network.clone(), false);
        }
        match (&gear.control, demand::control_leg(draft.plan, about, gear)) {
            (Some(Control::Own { port, .. }), Some(network)) => wish(port, network.clone(), false),
            // A merged control function is reached through its port's network, whatever it controls.
            (Some(Control::MergedWith(port)), _) => {
                let own = legs.iter().find(|(at, _)| gear.audio_ports[*at].name == *port).or(legs.first());
                if let Some((_, network)) = own {
                    wish(&demand::merged_control(), network.clone(), true);
                }
            }
            _ => {}
        }
    }
    wishes
}

struct Book {
    subnets: Vec<(Id, Subnet)>,
    scheme: Scheme,
    taken: BTreeSet<Ipv4Addr>,
    full: Vec<String>,
}

impl Book {
    fn subnet(&self, network: &Id) -> Option<Subnet> {
        self.subnets.iter().find(|(id, _)| id == network).map(|(_, subnet)| *subnet)
    }

    /// Held addresses are kept whatever they are.
    fn keep_held(&mut self, draft: &Draft) {
        let interfaces = draft.done.wiring.interfaces.values().map(|interface| interface.address.address);
        let switches = draft.done.wiring.switches.values().filter_map(|switch| switch.address).map(|address| address.address);
        self.taken.extend(interfaces.chain(switches));
    }

    /// Addresses of `before` that still fit are kept; the host number of each device that has one is returned.
    fn keep(&mut self, draft: &mut Draft, wishes: &[Wish]) -> Vec<Option<u32>> {
        for (id, switch) in draft.before.switches.iter().filter(|(_, switch)| !switch.hold) {
            let Some(now) = draft.done.wiring.switches.get_mut(id) else { continue };
            let subnet = now.networks.first().and_then(|network| self.subnets.iter().find(|(id, _)| id == network));
            let (Some(was), Some((_, subnet))) = (switch.address, subnet) else { continue };
            if subnet.contains(was.address) && self.taken.insert(was.address) {
                now.address = Some(InterfaceAddress { address: was.address, subnet: *subnet });
            }
        }
        let mut hosts = vec![None; draft.plan.devices.len()];
        for wish in wishes {
            let Some(subnet) = self.subnet(&wish.network) else { continue };
            let held = draft.done.wiring.interfaces.get(&wish.key).map(|interface| interface.address.address);
            let was = draft.before.interfaces.get(&wish.key).map(|interface| interface.address.address);
            let usable = |address: &Ipv4Addr| (1..=subnet.hosts()).contains(&(u32::from(*address).wrapping_sub(u32::from(subnet.base()))));
            let Some(address) = held.or(was).filter(usable) else { continue };
            if held.is_none() {
                if !self.taken.insert(address) {
                    continue;
                }
                let interface = Interface { address: InterfaceAddress { address, subnet }, hold: false };
                draft.done.wiring.interfaces.insert(wish.key.clone(), interface);
            }
            if !wish.merged {
                hosts[wish.device].get_or_insert(u32::from(address) - u32::from(subnet.base()));
            }
        }
        hosts
    }

    /// Switches: .1 for the core of its network if free, else the numbers for switches of its place.
    fn switches(&mut self, draft: &mut Draft) {
        let places = draft.plan.places.len();
        let ids: Vec<Id> = draft.done.wiring.switches.keys().cloned().collect();
        for id in ids {
            let switch = &draft.done.wiring.switches[&id];
            let Some(network) = switch.networks.first().filter(|_| switch.address.is_none() && !switch.hold) else { continue };
            let Some(subnet) = self.subnet(network) else { continue };
            let place = draft.place_index(&switch.place).unwrap_or(0);
            let core = draft.done.wiring.querier.get(network) == Some(&id);
            let first = core.then_some(1).into_iter();
            let numbers = first.chain(self.scheme.numbers(self.scheme.switches, place, places));
            let free = numbers.filter_map(|host| subnet.host(host)).find(|address| !self.taken.contains(address));
            match free {
                Some(address) => {
                    self.taken.insert(address);
                    if let Some(switch) = draft.done.wiring.switches.get_mut(&id) {
                        switch.address = Some(InterfaceAddress { address, subnet });
                    }
                }
                None => self.full.push(id.to_string()),
            }
        }
    }

    /// Devices: the number they have, else the lowest that is free on all their networks.
    /// `hosts` has the number of each device that has one already.
    fn devices(&mut self, draft: &mut Draft, wishes: Vec<Wish>, mut hosts: Vec<Option<u32>>) {
        let places = draft.plan.places.len();
        let mut wishes = wishes.into_iter().filter(|wish| !draft.done.wiring.interfaces.contains_key(&wish.key)).collect::<Vec<_>>();
        wishes.sort_by_key(|wish| (wish.merged, wish.device));
        let mut at = 0;
        while at < wishes.len() {
            let group = wishes[at..].iter().take_while(|wish| wish.device == wishes[at].device && wish.merged == wishes[at].merged).count();
            let own: Vec<(&PortRef, Subnet)> =
                wishes[at..at + group].iter().filter_map(|wish| Some((&wish.key, self.subnet(&wish.network)?))).collect();
            let device = &draft.plan.devices[wishes[at].device];
            let place = draft.place_index(&device.place).unwrap_or(0);
            let fits = |host: &u32| {
                let addresses: Option<BTreeSet<Ipv4Addr>> = own.iter().map(|(_, subnet)| subnet.host(*host)).collect();
                // Fewer addresses than interfaces: two of the networks overlap.
                addresses.is_some_and(|addresses| addresses.len() == own.len() && addresses.is_disjoint(&self.taken))
            };
            let known = match (hosts[wishes[at].device], wishes[at].merged) {
                (Some(host), true) => self.scheme.beside(host),
                (host, _) => host,
            };
            let host = known.into_iter().chain(self.scheme.numbers(self.scheme.devices, place, places)).find(fits);
            if !wishes[at].merged {
                hosts[wishes[at].device] = hosts[wishes[at].device].or(host);
            }
            for (key, subnet) in own {
                match host.and_then(|host| subnet.host(host)) {
                    Some(address) => {
                        self.taken.insert(address);
                        let interface = Interface { address: InterfaceAddress { address, subnet }, hold: false };
                        draft.done.wiring.interfaces.insert(key.clone(), interface);
                    }
                    None => self.full.push(key.to_string()),
                }
            }
            at += group;
        }
    }
}
