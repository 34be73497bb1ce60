//! Cables: their ends, their ports, and the way they lie.

use super::Context;
use super::ports::{Ports, ports_in_words};
use crate::log::{CableEnd, File, Log};
use loomwright_model::{Cable, Id, PortRef};
use std::collections::HashMap;

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    ends(context, log);
    for (id, cable) in &context.wiring.cables {
        leads_there(context, id, cable, log);
    }
}

/// Every end needs a port of its own that is there.
fn ends(context: &Context<'_, '_>, log: &mut Log) {
    let ports = Ports::of(context.plan.gear.iter());
    let ends = std::mem::take(&mut log.ends);
    let mut taken: HashMap<&PortRef, &Id> = HashMap::new();
    log.file = File::Wiring;
    for end in &ends {
        port_is_there(context, end, &ports, log);
        match taken.insert(&end.port, &end.cable) {
            Some(other) if *other == end.cable => {
                let message = format!("cable `{}` joins port `{}` to itself", end.cable, end.port);
                log.at(end.span.clone()).add("plan/cable-to-itself", message, "name the port at its other end");
            }
            Some(other) => {
                let message = format!("port `{}` already has cable `{other}`", end.port);
                log.at(end.span.clone()).add("plan/port-taken", message, "plug one of the two cables into another port");
            }
            None => {}
        }
    }
}

fn port_is_there(context: &Context<'_, '_>, end: &CableEnd, ports: &Ports<'_>, log: &mut Log) {
    let PortRef { item, port } = &end.port;
    let device = context.plan.devices.get(item).map(|device| &device.gear);
    let Some(gear_id) = device.or_else(|| context.wiring.switches.get(item).map(|switch| &switch.gear)) else { return };
    let Some(gear) = context.gear(gear_id).filter(|_| !ports.has(gear_id, port)) else { return };
    let help = match port.as_str() {
        "control" => format!("its control function has no jack of its own; its ports are {}", ports_in_words(gear)),
        _ => format!("use a port that gear `{gear_id}` has: {}", ports_in_words(gear)),
    };
    log.at(end.span.clone()).add("plan/no-such-port", format!("`{item}` has no port `{port}`"), help);
}

/// A cable's routes have to lead, one after the other, from the place of its first end to that of its second.
fn leads_there(context: &Context<'_, '_>, id: &Id, cable: &Cable, log: &mut Log) {
    let place = |end: &PortRef| context.wiring.place_of(context.plan, &end.item);
    let (Some(from), Some(to)) = (place(&cable.ends[0]), place(&cable.ends[1])) else { return };
    if !cable.routes.iter().all(|route| context.plan.routes.contains_key(route)) || reported(context, id, log) {
        return;
    }
    let end = walk(context, from, cable.routes.iter());
    if end == Ok(to) {
        return;
    }
    let message = match end {
        _ if cable.routes.is_empty() => format!("cable `{id}` runs from `{from}` to `{to}`, but names no route that it lies in"),
        Ok(end) => format!("the routes of cable `{id}` lead from `{from}` to `{end}`, not to `{to}`"),
        Err((place, route)) => format!("route `{route}` of cable `{id}` does not start at `{place}`"),
    };
    let help = way_help(context, cable, from, to);
    context.at((File::Wiring, &["cable", id.as_str(), "routes"]), log).add("plan/route-gap", message, help);
}

/// Whether the list of routes itself could not be read.
fn reported(context: &Context<'_, '_>, id: &Id, log: &Log) -> bool {
    if log.problems.is_empty() {
        return false;
    }
    let written = context.trees.span(File::Wiring, &["cable", id.as_str(), "routes"]);
    log.problems.iter().any(|raw| raw.file == File::Wiring && raw.span.start >= written.start && raw.span.end <= written.end)
}

fn walk<'a>(context: &'a Context<'_, '_>, from: &'a Id, routes: impl Iterator<Item = &'a Id>) -> Result<&'a Id, (&'a Id, &'a Id)> {
    let mut here = from;
    for id in routes {
        let Some(route) = context.plan.routes.get(id) else { return Err((here, id)) };
        here = match &route.between {
            [a, b] if a == here => b,
            [a, b] if b == here => a,
            _ => return Err((here, id)),
        };
    }
    Ok(here)
}

fn way_help(context: &Context<'_, '_>, cable: &Cable, from: &Id, to: &Id) -> String {
    if from == to {
        return format!("write `routes = []`: both ends are at `{from}`");
    }
    if !cable.routes.is_empty() && walk(context, from, cable.routes.iter().rev()) == Ok(to) {
        return "turn the list round: it goes from the first end to the second".to_owned();
    }
    let direct = context.plan.routes.iter().find(|(_, route)| route.between.contains(from) && route.between.contains(to));
    match direct {
        Some((route, _)) => format!("list the routes in order from `{from}` to `{to}`, for example `routes = [\"{route}\"]`"),
        None => format!("list the routes in order from `{from}` to `{to}`; add a `[route.NAME]` with `between` where one is missing"),
    }
}
