//! Names, gear, routes and streams of the plan.

use super::Context;
use super::ports::pairing_problem;
use crate::log::{File, Log};
use crate::tree::Step::{Key, Nth};
use loomwright_model::{Control, GearKind};

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    one_name_each(context, log);
    gear(context, log);
    devices(context, log);
    switches(context, log);
    routes(context, log);
    streams(context, log);
}

/// Devices, places and switches share one space of names.
fn one_name_each(context: &Context<'_, '_>, log: &mut Log) {
    let trees = context.trees;
    let spaces = [(File::Plan, "device"), (File::Plan, "place"), (File::Wiring, "switch")];
    for (n, (file, section)) in spaces.into_iter().enumerate() {
        for name in trees.names(file, section) {
            let Some((_, first)) = spaces[..n].iter().find(|(file, section)| trees.declares(*file, section, name)) else { continue };
            let message = format!("`{name}` is the name of a {section} and of a {first}");
            let help = format!("rename one of the two, for example `{name}-{section}`: labels and sheets show bare names");
            context.report((file, &[Key(section), Key(name)]), "plan/duplicate-id", (message, help), log);
        }
    }
}

fn gear(context: &Context<'_, '_>, log: &mut Log) {
    for (id, gear) in context.plan.gear.iter().filter(|(_, gear)| !gear.shipped) {
        let Some(Control::MergedWith(port)) = &gear.control else {
            own_jack(context, id, gear, log);
            continue;
        };
        if !gear.audio_ports.iter().any(|audio| audio.name == *port) {
            let message = format!("control is merged with port `{port}`, which gear `{id}` does not have");
            let names = gear.audio_ports.iter().map(|port| port.name.as_str());
            let help = format!("name one of its audio ports: {}", crate::near::listed(names, 4));
            context.report((File::Plan, &[Key("gear"), Key(id.as_str()), Key("control")]), "plan/no-such-port", (message, help), log);
        }
    }
}

fn own_jack(context: &Context<'_, '_>, id: &loomwright_model::Id, gear: &loomwright_model::Gear, log: &mut Log) {
    let Some(Control::Own { port, .. }) = &gear.control else { return };
    if gear.audio_ports.iter().any(|audio| audio.name == *port) {
        let message = format!("gear `{id}` has an audio port and a control jack, both named `{port}`");
        let help = "write `control = { merged-with = .. }` if it is the same jack, else give it its own name".to_owned();
        context.report((File::Plan, &[Key("gear"), Key(id.as_str()), Key("control")]), "plan/listed-twice", (message, help), log);
    }
}

fn devices(context: &Context<'_, '_>, log: &mut Log) {
    for (id, device) in &context.plan.devices {
        let Some(gear) = context.plan.gear_of(device) else { continue };
        let path = |key| [Key("device"), Key(id.as_str()), Key(key)];
        if gear.kind == GearKind::Switch {
            let message = format!("`{}` is a switch, and `{id}` stands under [device]", device.gear);
            let help = format!("move it to the wiring file as `[switch.{}]`, with its `networks`", crate::print::key(id.as_str()));
            context.report((File::Plan, &path("gear")), "plan/wrong-kind", (message, help), log);
            continue;
        }
        if let Some(text) = device.pairing.and_then(|pairing| pairing_problem(pairing, &device.gear, gear)) {
            context.report((File::Plan, &path("pairing")), "plan/impossible-pairing", text, log);
        }
        if device.mode.is_some() && gear.kind != GearKind::WifiRouter {
            let text = (format!("`mode` has no meaning for `{id}`: only a Wi-Fi router has one"), "take `mode` out".to_owned());
            context.report((File::Plan, &path("mode")), "plan/key-not-for-kind", text, log);
        }
    }
}

fn switches(context: &Context<'_, '_>, log: &mut Log) {
    for (id, switch) in &context.wiring.switches {
        let Some(gear) = context.plan.gear.get(&switch.gear) else { continue };
        if gear.kind != GearKind::Switch {
            let message = format!("`{}` is of kind {}, and `{id}` stands under [switch]", switch.gear, gear.kind);
            let help =
                format!("name a gear type of kind switch, or move it to the plan file as `[device.{}]`", crate::print::key(id.as_str()));
            context.report((File::Wiring, &[Key("switch"), Key(id.as_str()), Key("gear")]), "plan/wrong-kind", (message, help), log);
            continue;
        }
        for port in switch.path_cost.keys().filter(|port| **port > gear.switch_port_count()) {
            let message = format!("switch `{id}` has ports 1 to {}, not {port}", gear.switch_port_count());
            let path = [Key("switch"), Key(id.as_str()), Key("path-cost")];
            context.report((File::Wiring, &path), "plan/no-such-port", (message, "name a port that it has".to_owned()), log);
        }
    }
}

fn routes(context: &Context<'_, '_>, log: &mut Log) {
    for (id, route) in &context.plan.routes {
        if route.between[0] == route.between[1] {
            let message = format!("route `{id}` leads from `{}` to itself", route.between[0]);
            let help = "name two different places; a cable inside one place needs no route".to_owned();
            context.report((File::Plan, &[Key("route"), Key(id.as_str()), Key("between")]), "plan/same-place", (message, help), log);
        }
    }
}

fn streams(context: &Context<'_, '_>, log: &mut Log) {
    for (id, stream) in &context.plan.streams {
        let path = [Key("stream"), Key(id.as_str()), Key("to")];
        if let Some(n) = stream.to.iter().position(|to| *to == stream.from) {
            let message = format!("stream `{id}` goes from `{}` to itself", stream.from);
            let path = [path[0], path[1], path[2], Nth(n)];
            context.report((File::Plan, &path), "plan/stream-to-itself", (message, "take it out of `to`".to_owned()), log);
        }
        // A list that could not be read is empty too, but has been reported.
        let written = context.trees.root(File::Plan).map(|root| crate::tree::span_of(root, &path)).unwrap_or_default();
        if stream.to.is_empty() && !log.problems.iter().any(|raw| raw.file == File::Plan && written.contains(&raw.span.start)) {
            let text = (format!("stream `{id}` has no receiver"), "name at least one device in `to`".to_owned());
            context.report((File::Plan, &path), "plan/no-receiver", text, log);
        }
    }
}
