//! What every design must keep, checked the slow and obvious way, with nothing of the design's own code.

use loomwright_design::Designed;
use loomwright_model::plan::{Carries, Legs};
use loomwright_model::{Cable, Id, Medium, Pairing, Plan, PortRef, PortRole, PortSpec, Wiring};
use std::collections::{BTreeMap, BTreeSet};

pub fn port_spec(plan: &Plan, wiring: &Wiring, port: &PortRef) -> Option<PortSpec> {
    wiring.gear_at(plan, &port.item)?.port_specs().into_iter().find(|spec| spec.name == port.port)
}

/// No port is used twice; every port is there and takes the cable.
pub fn ports_are_sound(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    let mut used = BTreeSet::new();
    for (name, cable) in &wiring.cables {
        for end in &cable.ends {
            if !used.insert(end.clone()) {
                return Err(format!("{end} is used twice, by {name} too"));
            }
            let spec = port_spec(plan, wiring, end).ok_or(format!("{name}: no port {end}"))?;
            if !spec.medium.takes(cable.medium) {
                return Err(format!("{name}: {end} is {} and takes no {}", spec.medium, cable.medium));
            }
        }
    }
    Ok(())
}

/// Every cable follows routes from one end to the other that take it, is long enough, and not too long.
pub fn cables_can_be_laid(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    for (name, cable) in &wiring.cables {
        let [mut at, end] = cable.ends.each_ref().map(|end| wiring.place_of(plan, &end.item).cloned());
        let mut way = 0;
        for route in cable.routes.iter().map(|route| &plan.routes[route]) {
            let [one, other] = &route.between;
            at = if at.as_ref() == Some(one) {
                Some(other.clone())
            } else if at.as_ref() == Some(other) {
                Some(one.clone())
            } else {
                None
            };
            way += route.length.millimetres();
            if !route.takes.is_empty() && !route.takes.contains(&cable.medium) {
                return Err(format!("{name} lies where its medium may not"));
            }
        }
        let limit = if cable.medium == Medium::Copper { 90_000 } else { 5_000_000 };
        if at != end || cable.length.millimetres() < way + 4_000 || cable.length.millimetres() > limit {
            return Err(format!("{name}: {} over {way} mm, from {:?} to {at:?} not {end:?}", cable.length, cable.ends));
        }
    }
    Ok(())
}

/// No address twice in one network; every address inside the plan's subnet.
pub fn addresses_are_sound(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    let mut used = BTreeMap::new();
    let interfaces = wiring.interfaces.iter().map(|(port, interface)| (port.to_string(), interface.address));
    let switches = wiring.switches.iter().filter_map(|(id, switch)| Some((id.to_string(), switch.address?)));
    for (name, address) in interfaces.chain(switches) {
        if let Some(other) = used.insert((address.subnet, address.address), name.clone()) {
            return Err(format!("{name} and {other} both have {address}"));
        }
        if !plan.networks.values().any(|network| network.subnet == Some(address.subnet)) || !address.subnet.contains(address.address) {
            return Err(format!("{name} has {address}, which is in no subnet of the plan"));
        }
    }
    Ok(())
}

fn is_trunk(wiring: &Wiring, cable: &Cable) -> bool {
    cable.ends.iter().all(|end| wiring.switches.contains_key(&end.item))
}

/// Endpoints from port 1 up, trunks from the last port down, in every run of equal ports.
pub fn convention_is_kept(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    for id in wiring.switches.keys() {
        let gear = wiring.gear_at(plan, id).ok_or("no gear")?;
        let mut at: u32 = 0;
        for group in &gear.ports {
            let numbers: Vec<u32> = (at + 1..=at + group.count).collect();
            at += group.count;
            let mut kinds = String::new();
            for number in numbers {
                let port = PortRef::new(id.clone(), crate::plans::id(&number.to_string()));
                let cable = wiring.cables.values().find(|cable| cable.ends.contains(&port));
                kinds.push(cable.map_or('.', |cable| if is_trunk(wiring, cable) { 't' } else { 'e' }));
            }
            let free_between = kinds.trim_start_matches('e').trim_end_matches('t');
            if free_between.chars().any(|kind| kind != '.') {
                return Err(format!("{id}: {kinds}"));
            }
        }
    }
    Ok(())
}

/// A device on two audio networks has the same port number on both, and not on the same switch.
pub fn legs_match(plan: &Plan, done: &Designed, strict: bool) -> Result<(), String> {
    let wiring = &done.wiring;
    let excused = |device: &Id| {
        !strict
            && done.findings.iter().any(|finding| {
                finding.code == "design/uneven-ports" && finding.items.contains(&loomwright_model::Item::Device(device.clone()))
            })
    };
    for (device, about) in &plan.devices {
        let Some(gear) = plan.gear_of(about) else { continue };
        let far: Vec<&PortRef> = gear
            .port_specs()
            .iter()
            .filter(|spec| matches!(spec.role, PortRole::Audio(_)))
            .filter_map(|spec| {
                let end = PortRef::new(device.clone(), spec.name.clone());
                let cable = wiring.cables.values().find(|cable| cable.ends.contains(&end))?;
                cable.ends.iter().find(|other| **other != end && wiring.switches.contains_key(&other.item))
            })
            .collect();
        if let [one, other] = far[..]
            && (one.item == other.item || one.port != other.port)
            && !excused(device)
        {
            return Err(format!("{device}: {one} and {other}"));
        }
    }
    Ok(())
}

/// No switch carries two audio networks.
pub fn networks_stay_apart(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    for (id, switch) in &wiring.switches {
        let audio = switch.networks.iter().filter(|network| plan.networks[*network].carries == Carries::Audio).count();
        if audio > 1 {
            return Err(format!("{id} carries {:?}", switch.networks));
        }
    }
    Ok(())
}

/// Where a frame that enters at `port` on `network` is forwarded from: the ports of the same box that it leaves by.
fn out_of<'w>(plan: &Plan, wiring: &'w Wiring, port: &PortRef, network: &Id) -> Vec<(PortRef, &'w Cable)> {
    let forwards = match (plan.devices.get(&port.item), wiring.switches.get(&port.item)) {
        (Some(device), _) => plan
            .gear_of(device)
            .is_some_and(|gear| gear.is_switching() || wiring.pairing_of(&port.item, device, gear) == Some(Pairing::Chained)),
        (None, Some(switch)) => switch.networks.contains(network),
        _ => false,
    };
    let cables = wiring.cables.values().filter(|cable| forwards && cable.networks.contains(network));
    cables
        .flat_map(|cable| cable.ends.iter().map(move |end| (end.clone(), cable)))
        .filter(|(end, _)| end.item == port.item && end != port)
        .collect()
}

/// Ports that a frame reaches that leaves `device` on `network`.
pub fn flood(plan: &Plan, wiring: &Wiring, device: &Id, network: &Id) -> BTreeSet<PortRef> {
    let mut reached = BTreeSet::new();
    let own = wiring.cables.values().filter(|cable| cable.networks.contains(network));
    let mut open: Vec<(PortRef, &Cable)> =
        own.flat_map(|cable| cable.ends.iter().map(move |end| (end.clone(), cable))).filter(|(end, _)| end.item == *device).collect();
    while let Some((from, cable)) = open.pop() {
        let to = if cable.ends[0] == from { &cable.ends[1] } else { &cable.ends[0] };
        if reached.insert(to.clone()) {
            open.extend(out_of(plan, wiring, to, network));
        }
    }
    reached
}

/// Every stream reaches every receiver on some network.
pub fn streams_arrive(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    for (name, stream) in &plan.streams {
        let networks: Vec<&Id> = match &stream.legs {
            Legs::Both => plan.networks.iter().filter(|(_, network)| network.carries == Carries::Audio).map(|(id, _)| id).collect(),
            Legs::Only(only) => only.iter().collect(),
        };
        let reached: Vec<BTreeSet<PortRef>> = networks.iter().map(|network| flood(plan, wiring, &stream.from, network)).collect();
        for to in &stream.to {
            if !reached.iter().any(|ports| ports.iter().any(|port| port.item == *to)) {
                return Err(format!("{name} from {} does not reach {to}", stream.from));
            }
        }
    }
    Ok(())
}

/// Boxes that forward on a network form no loop; with `rings` every loop has a switch that runs spanning tree.
pub fn has_no_loop(plan: &Plan, wiring: &Wiring) -> Result<(), String> {
    for network in plan.networks.keys() {
        let mut part: BTreeMap<String, String> = BTreeMap::new();
        let find = |part: &BTreeMap<String, String>, mut node: String| {
            while let Some(above) = part.get(&node) {
                node.clone_from(above);
            }
            node
        };
        for (name, cable) in wiring.cables.iter().filter(|(_, cable)| cable.networks.contains(network)) {
            let [one, other] = cable.ends.each_ref().map(|end| find(&part, node_of(plan, wiring, end)));
            if one == other {
                return Err(format!("{name} closes a loop on {network}"));
            }
            part.insert(one, other);
        }
    }
    Ok(())
}

/// The box that forwards, or the single interface that ends frames.
fn node_of(plan: &Plan, wiring: &Wiring, end: &PortRef) -> String {
    let independent = plan.devices.get(&end.item).is_some_and(|device| {
        let gear = plan.gear_of(device);
        let audio = gear.is_some_and(|gear| gear.audio_ports.iter().any(|port| port.name == end.port));
        gear.is_some_and(|gear| !gear.is_switching() && (!audio || wiring.pairing_of(&end.item, device, gear) != Some(Pairing::Chained)))
    });
    if independent { end.to_string() } else { end.item.to_string() }
}

/// No two packet streams share a MAC address, and none uses one that is flooded.
pub fn groups_do_not_clash(wiring: &Wiring) -> Result<(), String> {
    let mut used = BTreeMap::new();
    for ((stream, number), groups) in &wiring.groups {
        for (network, group) in groups {
            let mac = u32::from(*group) & 0x7F_FFFF;
            let what = format!("{stream}.{number} on {network}: {group}");
            if !group.is_multicast() || mac <= 0xFF {
                return Err(format!("{what} is flooded"));
            }
            if let Some(other) = used.insert(mac, what.clone()) {
                return Err(format!("{what} clashes with {other}"));
            }
        }
    }
    Ok(())
}

/// Everything that is held in `before` is in `after`, unchanged.
pub fn held_is_kept(before: &Wiring, after: &Wiring) -> Result<(), String> {
    let switches = before.switches.iter().filter(|(_, held)| held.hold).all(|(id, held)| after.switches.get(id) == Some(held));
    let cables = before.cables.iter().filter(|(_, held)| held.hold).all(|(id, held)| after.cables.get(id) == Some(held));
    let settings = before.settings.iter().filter(|(_, held)| held.hold).all(|(id, held)| after.settings.get(id) == Some(held));
    let interfaces = before.interfaces.iter().filter(|(_, held)| held.hold).all(|(port, held)| after.interfaces.get(port) == Some(held));
    (switches && cables && settings && interfaces)
        .then_some(())
        .ok_or(format!("held: switches {switches}, cables {cables}, settings {settings}, interfaces {interfaces}"))
}
