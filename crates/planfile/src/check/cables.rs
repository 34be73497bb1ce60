//! Cables: their ends, their ports, and the way they lie.

use super::Context;
use super::ports::{Ports, ports_in_words};
use crate::log::{File, Log};
use crate::tree::Step::{Key, Nth};
use loomwright_model::{Cable, Id, PortRef};
use std::collections::HashMap;

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    let ports = Ports::of(context.plan.gear.iter());
    let mut taken: HashMap<&PortRef, &Id> = HashMap::new();
    for (id, cable) in &context.wiring.cables {
        for (n, end) in cable.ends.iter().enumerate() {
            port_is_there(context, (id, n, end), &ports, log);
            match taken.insert(end, id) {
                Some(other) if other == id => to_itself(context, id, end, log),
                Some(other) => port_taken(context, (id, n, end), other, log),
                None => {}
            }
        }
        leads_there(context, id, cable, log);
    }
}

fn port_is_there(context: &Context<'_, '_>, (id, n, end): (&Id, usize, &PortRef), ports: &Ports<'_>, log: &mut Log) {
    let device = context.plan.devices.get(&end.item).map(|device| &device.gear);
    let Some(gear_id) = device.or_else(|| context.wiring.switches.get(&end.item).map(|switch| &switch.gear)) else { return };
    let Some(gear) = context.plan.gear.get(gear_id).filter(|_| !ports.has(gear_id, &end.port)) else { return };
    let message = format!("`{}` has no port `{}`", end.item, end.port);
    let help = match end.port.as_str() {
        "control" => format!("its control function has no jack of its own; its ports are {}", ports_in_words(gear)),
        _ => format!("use a port that gear `{gear_id}` has: {}", ports_in_words(gear)),
    };
    context.report((File::Wiring, &[Key("cable"), Key(id.as_str()), Key("ends"), Nth(n)]), "plan/no-such-port", (message, help), log);
}

fn to_itself(context: &Context<'_, '_>, id: &Id, end: &PortRef, log: &mut Log) {
    let text = (format!("cable `{id}` joins port `{end}` to itself"), "name the port at its other end".to_owned());
    context.report((File::Wiring, &[Key("cable"), Key(id.as_str()), Key("ends"), Nth(1)]), "plan/cable-to-itself", text, log);
}

fn port_taken(context: &Context<'_, '_>, (id, n, end): (&Id, usize, &PortRef), other: &Id, log: &mut Log) {
    let text = (format!("port `{end}` already has cable `{other}`"), "plug one of the two cables into another port".to_owned());
    context.report((File::Wiring, &[Key("cable"), Key(id.as_str()), Key("ends"), Nth(n)]), "plan/port-taken", text, log);
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
    context.report((File::Wiring, &[Key("cable"), Key(id.as_str()), Key("routes")]), "plan/route-gap", (message, help), log);
}

/// Whether the list of routes itself could not be read.
fn reported(context: &Context<'_, '_>, id: &Id, log: &Log) -> bool {
    if log.problems.is_empty() {
        return false;
    }
    let written = context.trees.span(File::Wiring, &[Key("cable"), Key(id.as_str()), Key("routes")]);
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
