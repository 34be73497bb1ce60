//! Plan and wiring as the plain numbers that the judge of `simulator` knows, by names, without the fabric.

use indexmap::{IndexMap, IndexSet};
use loomwright_model::plan::{Carries, Legs};
use loomwright_model::*;
use loomwright_simulator::survive::{Lost, Site, Source, Strand, Unit, Wish, WishLeg};
use loomwright_survival::Loss;

/// Where frames pass on or end: an item and the network or port on it.
type Spot = (Id, String);

/// A site and the names of its numbers.
pub struct Plain {
    pub site: Site,
    boxes: IndexSet<Id>,
    pub cables: IndexSet<Id>,
    feeds: IndexSet<Id>,
    routes: IndexSet<Id>,
    hazards: IndexSet<Id>,
    /// Cable and network of each strand.
    pub strands: Vec<(Id, Id)>,
    /// The two ports of each cable.
    ports: IndexMap<PortRef, usize>,
}

impl Plain {
    /// `left_out` are cables that are no cables: in a port that is taken, say.
    pub fn new(plan: &Plan, wiring: &Wiring, left_out: &[(Id, Option<Id>)]) -> Self {
        let mut plain = Self {
            site: Site::default(),
            boxes: plan.devices.keys().chain(wiring.switches.keys()).cloned().collect(),
            cables: wiring.cables.keys().cloned().collect(),
            feeds: IndexSet::new(),
            routes: plan.routes.keys().cloned().collect(),
            hazards: IndexSet::new(),
            strands: Vec::new(),
            ports: IndexMap::new(),
        };
        plain.add_ways(plan, wiring);
        plain.add_supplies(plan, wiring);
        plain.add_network(plan, wiring, left_out);
        plain
    }

    fn add_ways(&mut self, plan: &Plan, wiring: &Wiring) {
        for cable in wiring.cables.values() {
            self.routes.extend(cable.routes.iter().cloned());
        }
        for route in &self.routes {
            let shares = plan.routes.get(route).map_or(&[][..], |route| &route.shares);
            self.site.routes.push(shares.iter().map(|hazard| self.hazards.insert_full(hazard.clone()).0).collect());
        }
        for (at, cable) in wiring.cables.values().enumerate() {
            let number = |route: &Id| self.routes.get_index_of(route);
            self.site.cables.push(cable.routes.iter().filter_map(number).collect());
            self.ports.extend(cable.ends.iter().map(|end| (end.clone(), at)));
        }
    }

    fn add_supplies(&mut self, plan: &Plan, wiring: &Wiring) {
        for id in &self.boxes {
            let (gear, place, own) = match plan.devices.get(id) {
                Some(device) => (&device.gear, &device.place, &device.feeds),
                None => (&wiring.switches[id].gear, &wiring.switches[id].place, &wiring.switches[id].feeds),
            };
            let needs = plan.gear.get(gear).is_some_and(|gear| gear.poe.is_some());
            let mut sources = if own.is_empty() && needs { self.powered_through(plan, wiring, id) } else { Vec::new() };
            if sources.is_empty() {
                let feeds = match plan.places.get(place) {
                    Some(place) if own.is_empty() => place.feeds.iter().take(1).collect(),
                    _ => own.iter().collect::<Vec<_>>(),
                };
                sources = feeds.into_iter().map(|feed| Source::Feed(self.feeds.insert_full(feed.clone()).0)).collect();
            }
            self.site.units.push(Unit { sources });
        }
    }

    /// Copper cables whose far end is in a switch port that gives power.
    fn powered_through(&self, plan: &Plan, wiring: &Wiring, id: &Id) -> Vec<Source> {
        let mut found = Vec::new();
        for (cable, wire) in wiring.cables.values().enumerate().filter(|(_, wire)| wire.medium == Medium::Copper) {
            for (near, far) in [(0, 1), (1, 0)] {
                let giver = &wire.ends[far];
                let Some(box_of_giver) = self.boxes.get_index_of(&giver.item).filter(|_| wire.ends[near].item == *id) else { continue };
                let gear = match wiring.switches.get(&giver.item) {
                    Some(switch) => &switch.gear,
                    None => &plan.devices[&giver.item].gear,
                };
                let groups = plan.gear.get(gear).map_or(&[][..], |gear| &gear.ports);
                let ports: Vec<bool> = groups.iter().flat_map(|group| vec![group.poe.is_some(); group.count as usize]).collect();
                let number = giver.port.as_str().parse::<usize>().unwrap_or(0);
                if number > 0 && ports.get(number - 1).is_some_and(|gives| *gives) {
                    found.push(Source::Cable { cable, giver: box_of_giver });
                }
            }
        }
        found
    }

    fn add_network(&mut self, plan: &Plan, wiring: &Wiring, left_out: &[(Id, Option<Id>)]) {
        let mut spots: IndexSet<Spot> = IndexSet::new();
        // The network that each spot of a device is first wired to.
        let mut network_of: IndexMap<Spot, Id> = IndexMap::new();
        for (at, (id, cable)) in wiring.cables.iter().enumerate() {
            for network in cable.networks.iter().filter(|network| plan.networks.contains_key(*network)) {
                if left_out.iter().any(|(cable, out)| cable == id && out.as_ref().is_none_or(|out| out == network)) {
                    continue;
                }
                let ends = cable.ends.each_ref().map(|end| spot((plan, wiring), end, network));
                for spot in &ends {
                    network_of.entry(spot.clone()).or_insert_with(|| network.clone());
                }
                let numbers = ends.map(|spot| spots.insert_full(spot).0);
                self.site.strands.push(Strand { cable: at, spots: numbers });
                self.strands.push((id.clone(), network.clone()));
            }
        }
        self.site.spots = spots.iter().filter_map(|(item, _)| self.boxes.get_index_of(item)).collect();
        for stream in plan.streams.values().filter(|stream| plan.devices.contains_key(&stream.from)) {
            for to in stream.to.iter().filter(|to| **to != stream.from && plan.devices.contains_key(*to)) {
                let wanted = plan.networks.iter().filter(|(id, network)| match &stream.legs {
                    Legs::Both => network.carries == Carries::Audio,
                    Legs::Only(only) => only.contains(id),
                });
                let seat = |device: &Id, network: &Id| {
                    let known = seats((plan, wiring), device).into_iter().find(|spot| network_of.get(spot) == Some(network))?;
                    spots.get_index_of(&known)
                };
                let legs = wanted.filter_map(|(network, _)| Some(WishLeg { from: seat(&stream.from, network)?, to: seat(to, network)? }));
                let ends = [&stream.from, to].map(|end| self.boxes.get_index_of(end).expect("a device of the plan"));
                self.site.wishes.push(Wish { ends, legs: legs.collect() });
            }
        }
    }

    /// The same loss in numbers; `None` if it takes nothing.
    pub fn lost(&self, loss: &Loss) -> Option<Lost> {
        Some(match loss {
            Loss::Frozen(id) => Lost::Frozen(self.boxes.get_index_of(id)?),
            Loss::Gone(Item::Switch(id) | Item::Device(id)) => Lost::Unit(self.boxes.get_index_of(id)?),
            Loss::Gone(Item::Cable(id)) => Lost::Cable(self.cables.get_index_of(id)?),
            Loss::Gone(Item::Port(port)) => Lost::Cable(*self.ports.get(port)?),
            Loss::Gone(Item::Feed(id)) => Lost::Feed(self.feeds.get_index_of(id)?),
            Loss::Gone(Item::Route(id)) => Lost::Route(self.routes.get_index_of(id)?),
            Loss::Gone(Item::Hazard(id)) => Lost::Hazard(self.hazards.get_index_of(id)?),
            Loss::Gone(_) => return None,
        })
    }

    /// Strands by cable and network.
    pub fn shut(&self, blocked: &[(Id, Id)]) -> Vec<usize> {
        (0..self.strands.len()).filter(|at| blocked.contains(&self.strands[*at])).collect()
    }
}

/// Where a cable's network meets an item.
fn spot((plan, wiring): (&Plan, &Wiring), port: &PortRef, network: &Id) -> Spot {
    let on = match (plan.devices.get(&port.item), wiring.switches.get(&port.item)) {
        (Some(device), _) => device_spot((plan, wiring), (&port.item, device), &port.port),
        (None, Some(switch)) if switch.networks.len() <= 1 => "all".to_owned(),
        _ => network.to_string(),
    };
    (port.item.clone(), on)
}

fn device_spot((plan, wiring): (&Plan, &Wiring), (id, device): (&Id, &Device), port: &Id) -> String {
    let gear = plan.gear.get(&device.gear);
    let is_control = gear.is_some_and(|gear| matches!(&gear.control, Some(Control::Own { port: own, .. }) if own == port));
    let joins = gear.is_some_and(|gear| {
        !gear.ports.is_empty() && gear.audio_ports.is_empty() || wiring.pairing_of(id, device, gear) == Some(Pairing::Chained)
    });
    if joins && !is_control { "all".to_owned() } else { port.to_string() }
}

/// The spots of a device's audio ports, in order.
fn seats((plan, wiring): (&Plan, &Wiring), id: &Id) -> Vec<Spot> {
    let device = &plan.devices[id];
    let ports = plan.gear.get(&device.gear).map_or(&[][..], |gear| &gear.audio_ports);
    ports.iter().map(|port| (id.clone(), device_spot((plan, wiring), (id, device), &port.name))).collect()
}
