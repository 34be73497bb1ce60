//! What of a wiring can stay as it is when the plan has changed.

use crate::demand;
use loomwright_model::{Cable, Gear, Id, Plan, PortRef, PortRole, Wiring};
use std::collections::BTreeSet;

/// What stays, marked as held so that a design leaves it alone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kept {
    pub wiring: Wiring,
    held: BTreeSet<Id>,
}

impl Kept {
    /// The same without the cables in `freed`; those that a person holds stay.
    pub fn without(&self, freed: &BTreeSet<Id>) -> Wiring {
        let mut wiring = self.wiring.clone();
        wiring.cables.retain(|id, _| !freed.contains(id) || self.held.contains(id));
        wiring
    }
}

/// Keeps every switch, cable, setting and address of `before` that still has its meaning. Settings are those of
/// `settings` where it is given, else as they were. What a person holds is kept whatever it means.
pub(super) fn kept(plan: &Plan, before: &Wiring, settings: Option<&Wiring>) -> Kept {
    let mut wiring = before.clone();
    for (id, setting) in &mut wiring.settings {
        if !setting.hold
            && let Some(other) = settings.and_then(|wiring| wiring.settings.get(id))
        {
            setting.pairing = other.pairing;
        }
    }
    wiring.settings.retain(|id, setting| {
        let device = plan.devices.get(id);
        let fits = |gear: &Gear| setting.pairing.is_none_or(|pairing| gear.pairing.contains(&pairing));
        let asked = device.and_then(|device| device.pairing);
        setting.hold
            || device.is_some_and(|device| plan.gear_of(device).is_some_and(fits))
                && (asked.is_none() || asked == setting.pairing || setting.pairing.is_none())
    });
    wiring.switches.retain(|_, switch| {
        let known = plan.gear.get(&switch.gear).is_some_and(Gear::is_switching) && plan.places.contains_key(&switch.place);
        switch.hold || known && switch.networks.iter().all(|network| plan.networks.contains_key(network))
    });
    let mut used: BTreeSet<PortRef> = before.cables.values().filter(|cable| cable.hold).flat_map(|cable| cable.ends.clone()).collect();
    let cables = std::mem::take(&mut wiring.cables);
    let held: BTreeSet<Id> = cables.iter().filter(|(_, cable)| cable.hold).map(|(id, _)| id.clone()).collect();
    for (id, cable) in cables {
        let free = cable.ends.iter().all(|end| !used.contains(end));
        if cable.hold || free && can_stay(plan, &wiring, &cable) {
            used.extend(cable.ends.clone());
            wiring.cables.insert(id, cable);
        }
    }
    wiring.interfaces.retain(|port, interface| interface.hold || plan.devices.contains_key(&port.item));
    wiring.switches.values_mut().for_each(|switch| switch.hold = true);
    wiring.cables.values_mut().for_each(|cable| cable.hold = true);
    wiring.settings.values_mut().for_each(|setting| setting.hold = true);
    Kept { wiring, held }
}

fn can_stay(plan: &Plan, wiring: &Wiring, cable: &Cable) -> bool {
    let lies = way_is_there(plan, wiring, cable);
    let networks = cable.networks.iter().all(|network| plan.networks.contains_key(network));
    lies && networks && cable.ends.iter().all(|end| end_is_wanted(plan, wiring, cable, end))
}

/// Whether the routes lead from one end's place to the other's, take the medium, and are no longer than the cable.
fn way_is_there(plan: &Plan, wiring: &Wiring, cable: &Cable) -> bool {
    let [Some(from), Some(to)] = cable.ends.each_ref().map(|end| wiring.place_of(plan, &end.item)) else { return false };
    let (mut at, mut length) = (from, 0u64);
    for route in &cable.routes {
        let Some(route) = plan.routes.get(route) else { return false };
        let takes = route.takes.is_empty() || route.takes.contains(&cable.medium);
        at = match &route.between {
            [one, other] if takes && one == at => other,
            [one, other] if takes && other == at => one,
            _ => return false,
        };
        length = length.saturating_add(route.length.millimetres());
    }
    at == to && length <= cable.length.millimetres()
}

/// Whether the port is there, takes the cable, and is still meant for its network.
fn end_is_wanted(plan: &Plan, wiring: &Wiring, cable: &Cable, end: &PortRef) -> bool {
    let Some(gear) = wiring.gear_at(plan, &end.item) else { return false };
    let Some(spec) = gear.port_specs().into_iter().find(|spec| spec.name == end.port && spec.medium.takes(cable.medium)) else {
        return false;
    };
    let Some(device) = plan.devices.get(&end.item) else {
        return wiring.switches.get(&end.item).is_some_and(|switch| cable.networks.iter().all(|network| switch.networks.contains(network)));
    };
    let pairing = wiring.pairing_of(&end.item, device, gear);
    let legs = demand::audio_legs(plan, device, gear, pairing);
    match spec.role {
        PortRole::Audio(at) if pairing == Some(loomwright_model::Pairing::Independent) || gear.audio_ports.len() == 1 => {
            legs.iter().any(|(leg, network)| *leg == at && cable.networks == [network.clone()])
        }
        PortRole::Audio(_) => legs.iter().any(|(_, network)| cable.networks == [network.clone()]),
        PortRole::Control => demand::control_leg(plan, device, gear).is_some_and(|network| cable.networks == [network.clone()]),
        PortRole::Switch => true,
    }
}
