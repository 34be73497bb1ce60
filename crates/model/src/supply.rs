//! What keeps each item running: feeds, or a switch through the data cable.

use crate::gear::{Gear, Medium, PoeClass};
use crate::id::{Id, PortRef};
use crate::plan::Plan;
use crate::wiring::Wiring;
use indexmap::IndexMap;

/// Power that a switch port gives a device through a cable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PoeLink {
    /// The cable.
    pub cable: Id,
    /// The port that gives.
    pub from: PortRef,
    /// The highest class that port can feed.
    pub class: PoeClass,
    /// The port that takes.
    pub to: PortRef,
}

/// What keeps an item running. It runs while any one of them does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Supply {
    /// Power feeds: its own, or the first of its place. Empty: on no feed that is modelled.
    Feeds(Vec<Id>),
    /// Power over Ethernet, because it has a class, no feeds of its own, and a port that gives power at the far end.
    Poe(Vec<PoeLink>),
}

/// The supply of every device (plan order), then every switch (wiring order). O(devices + cables).
pub fn supplies(plan: &Plan, wiring: &Wiring) -> IndexMap<Id, Supply> {
    let offers = poe_offers(plan, wiring);
    let devices = plan.devices.iter().map(|(id, device)| (id, &device.feeds, &device.place));
    let switches = wiring.switches.iter().map(|(id, switch)| (id, &switch.feeds, &switch.place));
    let one = |(id, own, place): (&Id, &Vec<Id>, &Id)| {
        let supply = match offers.get(id) {
            Some(links) if own.is_empty() => Supply::Poe(links.clone()),
            _ => Supply::Feeds(plan.feeds_of(own, place).to_vec()),
        };
        (id.clone(), supply)
    };
    devices.chain(switches).map(one).collect()
}

/// For every item with a power class: the ports that could power it.
pub fn poe_offers(plan: &Plan, wiring: &Wiring) -> IndexMap<Id, Vec<PoeLink>> {
    let mut offers: IndexMap<Id, Vec<PoeLink>> = IndexMap::new();
    for (id, cable) in wiring.cables.iter().filter(|(_, cable)| cable.medium == Medium::Copper) {
        for (from, to) in [(&cable.ends[0], &cable.ends[1]), (&cable.ends[1], &cable.ends[0])] {
            let takes = wiring.gear_at(plan, &to.item).is_some_and(|gear| gear.poe.is_some());
            let gives = wiring.gear_at(plan, &from.item).and_then(|gear| gear.poe_given_at(from));
            if let (true, Some(class)) = (takes, gives) {
                let link = PoeLink { cable: id.clone(), from: from.clone(), class, to: to.clone() };
                offers.entry(to.item.clone()).or_default().push(link);
            }
        }
    }
    offers
}

impl Gear {
    /// The highest power class that a numbered port can feed; `None` if it gives no power or is not there.
    pub fn poe_given_at(&self, port: &PortRef) -> Option<PoeClass> {
        let mut number = port.number()?;
        for group in &self.ports {
            if (1..=group.count).contains(&number) {
                return group.poe;
            }
            number = number.checked_sub(group.count)?;
        }
        None
    }
}
