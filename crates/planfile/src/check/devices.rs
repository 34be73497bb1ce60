//! Names, gear and routes of the plan.

use super::Context;
use super::ports::pairing_problem;
use crate::log::{File, Log};
use loomwright_model::{Control, GearKind};

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    one_name_each(context, log);
    gear(context, log);
    devices(context, log);
    switches(context, log);
    routes(context, log);
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
            context.at((file, &[section, name]), log).add("plan/duplicate-id", message, help);
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
            let help = match gear.audio_ports.is_empty() {
                true => "list the port under `audio-ports`".to_owned(),
                false => format!("name one of its audio ports: {}", crate::near::listed(names, 4)),
            };
            context.at((File::Plan, &["gear", id.as_str(), "control"]), log).add("plan/no-such-port", message, help);
        }
    }
}

fn own_jack(context: &Context<'_, '_>, id: &loomwright_model::Id, gear: &loomwright_model::Gear, log: &mut Log) {
    let Some(Control::Own { port, .. }) = &gear.control else { return };
    if gear.audio_ports.iter().any(|audio| audio.name == *port) {
        let message = format!("gear `{id}` has an audio port and a control jack, both named `{port}`");
        let help = "write `control = { merged-with = .. }` if it is the same jack, else give it its own name".to_owned();
        context.at((File::Plan, &["gear", id.as_str(), "control"]), log).add("plan/listed-twice", message, help);
    }
}

fn devices(context: &Context<'_, '_>, log: &mut Log) {
    for (id, device) in &context.plan.devices {
        let Some(gear) = context.gear(&device.gear) else { continue };
        let path = |key| ["device", id.as_str(), key];
        if gear.kind == GearKind::Switch {
            let message = format!("`{}` is a switch, and `{id}` stands under [device]", device.gear);
            let help = format!("move it to the wiring file as `[switch.{}]`, with its `networks`", crate::print::key(id.as_str()));
            context.at((File::Plan, &path("gear")), log).add("plan/wrong-kind", message, help);
            continue;
        }
        if let Some(text) = device.pairing.and_then(|pairing| pairing_problem(pairing, &device.gear, gear)) {
            context.at((File::Plan, &path("pairing")), log).add("plan/impossible-pairing", text.0, text.1);
        }
        if device.mode.is_some() && gear.kind != GearKind::WifiRouter {
            let text = (format!("`mode` has no meaning for `{id}`: only a Wi-Fi router has one"), "take `mode` out".to_owned());
            context.at((File::Plan, &path("mode")), log).add("plan/key-not-for-kind", text.0, text.1);
        }
    }
}

fn switches(context: &Context<'_, '_>, log: &mut Log) {
    for (id, switch) in &context.wiring.switches {
        let Some(gear) = context.gear(&switch.gear) else { continue };
        if gear.kind != GearKind::Switch {
            let message = format!("`{}` is of kind {}, and `{id}` stands under [switch]", switch.gear, gear.kind);
            let help =
                format!("name a gear type of kind switch, or move it to the plan file as `[device.{}]`", crate::print::key(id.as_str()));
            context.at((File::Wiring, &["switch", id.as_str(), "gear"]), log).add("plan/wrong-kind", message, help);
            continue;
        }
        for port in switch.path_cost.keys().filter(|port| **port > gear.switch_port_count()) {
            let message = format!("switch `{id}` has ports 1 to {}, not {port}", gear.switch_port_count());
            let path = ["switch", id.as_str(), "path-cost"];
            context.at((File::Wiring, &path), log).add("plan/no-such-port", message, "name a port that it has".to_owned());
        }
    }
}

fn routes(context: &Context<'_, '_>, log: &mut Log) {
    for (id, route) in &context.plan.routes {
        if route.between[0] == route.between[1] {
            let message = format!("route `{id}` leads from `{}` to itself", route.between[0]);
            let help = "name two different places; a cable inside one place needs no route".to_owned();
            context.at((File::Plan, &["route", id.as_str(), "between"]), log).add("plan/same-place", message, help);
        }
    }
}
