//! Settings, interfaces and the clock.

use super::Context;
use super::ports::{has_merged_control, pairing_problem, ports_in_words};
use crate::log::{File, Log};
use loomwright_model::PortRef;

pub(super) fn check(context: &Context<'_, '_>, log: &mut Log) {
    settings(context, log);
    for port in context.wiring.interfaces.keys() {
        interface(context, port, log);
    }
    clock(context, log);
}

fn settings(context: &Context<'_, '_>, log: &mut Log) {
    for (id, setting) in &context.wiring.settings {
        let Some(device) = context.plan.devices.get(id) else { continue };
        let Some(gear) = context.gear(&device.gear) else { continue };
        if let Some(text) = setting.pairing.and_then(|pairing| pairing_problem(pairing, &device.gear, gear)) {
            context.at((File::Wiring, &["setting", id.as_str(), "pairing"]), log).add("plan/impossible-pairing", text.0, text.1);
        }
    }
}

fn interface(context: &Context<'_, '_>, port: &PortRef, log: &mut Log) {
    let name = port.to_string();
    let at = ["interface", &name];
    if context.wiring.switches.contains_key(&port.item) {
        let message = format!("`{}` is a switch; its address does not stand here", port.item);
        let help = format!("write `address = ..` under `[switch.{}]`", crate::print::key(port.item.as_str()));
        context.at((File::Wiring, &at), log).add("plan/wrong-kind", message, help);
        return;
    }
    let Some(device) = context.plan.devices.get(&port.item) else { return };
    let Some(gear) = context.gear(&device.gear) else { return };
    let is_pseudo = port.port.as_str() == "control" && has_merged_control(gear);
    if !is_pseudo && !gear.port_specs().iter().any(|spec| spec.name == port.port) {
        let help = format!("use a port that gear `{}` has: {}", device.gear, ports_in_words(gear));
        context.at((File::Wiring, &at), log).add("plan/no-such-port", format!("`{}` has no port `{}`", port.item, port.port), help);
    }
}

fn clock(context: &Context<'_, '_>, log: &mut Log) {
    let clock = &context.wiring.clock;
    if let (Some(leader), Some(backup)) = (&clock.leader, &clock.backup)
        && leader == backup
    {
        let text = (format!("`{leader}` is its own backup as clock leader"), "name another device as `backup`, or take it out".to_owned());
        context.at((File::Wiring, &["clock", "backup"]), log).add("plan/self-reference", text.0, text.1);
    }
}
