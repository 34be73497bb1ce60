//! Ports: slower than planned, one direction at a time, or in the wrong VLAN.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::Port;
use loomwright_model::{BitRate, Item, PortRef};
use std::collections::BTreeMap;

/// Everything about ports.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<(PortRef, &'static str), Difference> = BTreeMap::new();
    for row in &names.evidence.ports {
        let system = row.system.as_deref().and_then(|name| names.named(name)).or_else(|| names.source(&row.seen));
        let Some(port) = system.and_then(|system| names.port(system, &row.name)).filter(|port| names.cable(port).is_some()) else {
            continue;
        };
        for one in
            [speed(names, row, &port), duplex(names, row, &port), vlan(names, row, &port), errors(names, row, &port)].into_iter().flatten()
        {
            let key = (port.clone(), one.code);
            match found.get_mut(&key) {
                Some(other) => other.seen.extend(one.seen),
                None => drop(found.insert(key, one)),
            }
        }
    }
    found.into_values().collect()
}

fn speed_of(names: &Names<'_>, port: &PortRef) -> Option<BitRate> {
    let gear = names.wiring.gear_at(names.plan, &port.item)?;
    gear.port_specs().into_iter().find(|one| one.name == port.port).map(|one| one.speed)
}

fn speed(names: &Names<'_>, row: &Port, port: &PortRef) -> Option<Difference> {
    let (_, far) = names.cable(port)?;
    let planned = speed_of(names, port)?.min(speed_of(names, far)?);
    let speed = row.speed.filter(|speed| *speed < planned && row.is_up != Some(false))?;
    let says = format!("{port} runs at {speed}");
    let what = Difference::new("seen/wrong-speed", Certainty::Certain, items(names, port), says);
    let told = what
        .told(planned.to_string(), "Change the cable: one damaged pair lets a link fall to 100 Mb/s. Then look at the port's settings.");
    Some(told.seen([Sighting::new(names.evidence, &row.seen, format!("{port} reports {speed}"))]).loud())
}

fn duplex(names: &Names<'_>, row: &Port, port: &PortRef) -> Option<Difference> {
    row.full_duplex.filter(|is_full| !is_full)?;
    let says = format!("{port} works in one direction at a time");
    let what = Difference::new("seen/half-duplex", Certainty::Certain, items(names, port), says);
    let told = what.told("both directions at once", "Set both ends to negotiate.");
    Some(told.seen([Sighting::new(names.evidence, &row.seen, format!("{port} reports half duplex"))]).loud())
}

fn vlan(names: &Names<'_>, row: &Port, port: &PortRef) -> Option<Difference> {
    // A trunk carries several with tags; what goes without one is its own business.
    let [network] = names.networks_of(port) else { return None };
    let planned = names.plan.networks.get(network)?.vlan?;
    let seen = row.untagged_vlan.filter(|vlan| *vlan != planned.get())?;
    let says = format!("{port} is in VLAN {seen}");
    let what = Difference::new("seen/wrong-vlan", Certainty::Certain, items(names, port), says);
    let told = what.told(format!("VLAN {} of network {network}", planned.get()), format!("Set {port} to VLAN {}.", planned.get()));
    Some(told.seen([Sighting::new(names.evidence, &row.seen, format!("{port} reports VLAN {seen}"))]).loud())
}

/// Counters that should stay at nothing. They count since the box started: a hint.
fn errors(names: &Names<'_>, row: &Port, port: &PortRef) -> Option<Difference> {
    let counted = [
        ("damaged frames", row.counters.errors_in),
        ("wrong check sequences", row.counters.check_errors),
        ("late collisions", row.counters.late_collisions),
        ("frames that could not be sent", row.counters.errors_out),
        ("frames thrown away on the way out", row.counters.discards_out),
    ];
    let bad: Vec<String> =
        counted.into_iter().filter_map(|(what, count)| Some(format!("{} {what}", count.filter(|count| *count > 0)?))).collect();
    if bad.is_empty() {
        return None;
    }
    let what = Difference::new("seen/port-errors", Certainty::Hint, items(names, port), format!("{port} counted {}", bad.join(", ")));
    let told =
        what.told("none", "Read the counter twice, a minute apart. If it grows, change the cable, or look for what fills the queue.");
    Some(told.seen([Sighting::new(names.evidence, &row.seen, format!("{port} reports {}", bad.join(", ")))]))
}

fn items(names: &Names<'_>, port: &PortRef) -> Vec<Item> {
    let cable = names.cable(port).map(|(cable, _)| Item::Cable(cable.clone()));
    [Item::Port(port.clone())].into_iter().chain(cable).collect()
}
