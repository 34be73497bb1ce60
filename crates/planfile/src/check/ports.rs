//! Which ports gear has, and how two can be set.

use loomwright_model::{Control, Gear, GearKind, Id, Pairing};
use std::collections::{HashMap, HashSet};

/// Port names by gear type, worked out once.
pub(super) struct Ports<'a> {
    by_gear: HashMap<&'a Id, HashSet<Id>>,
}

impl<'a> Ports<'a> {
    pub(super) fn of(gear: impl Iterator<Item = (&'a Id, &'a Gear)>) -> Self {
        Self { by_gear: gear.map(|(id, gear)| (id, gear.port_specs().into_iter().map(|port| port.name).collect())).collect() }
    }

    pub(super) fn has(&self, gear: &Id, port: &Id) -> bool {
        self.by_gear.get(gear).is_some_and(|ports| ports.contains(port))
    }
}

/// The ports of a gear type in words.
pub(super) fn ports_in_words(gear: &Gear) -> String {
    if gear.is_switching() {
        return format!("1 to {}", gear.switch_port_count());
    }
    let names: Vec<String> = gear.port_specs().iter().map(|port| format!("`{}`", port.name)).collect();
    names.join(", ")
}

/// Whether a device of this gear may have an address at the pseudo port `control`.
pub(super) fn has_merged_control(gear: &Gear) -> bool {
    matches!(gear.control, Some(Control::MergedWith(_))) || gear.kind == GearKind::WifiRouter
}

/// What is wrong with setting a device's ports like this.
pub(super) fn pairing_problem(pairing: Pairing, name: &Id, gear: &Gear) -> Option<(String, String)> {
    if gear.pairing.contains(&pairing) {
        return None;
    }
    if gear.audio_ports.len() < 2 {
        let message = format!("`{pairing}` needs two audio ports, and gear `{name}` has {}", gear.audio_ports.len());
        return Some((message, "take `pairing` out".to_owned()));
    }
    let known: Vec<&str> = gear.pairing.iter().map(|pairing| pairing.word()).collect();
    let message = format!("gear `{name}` cannot be set to `{pairing}`, only to: {}", known.join(", "));
    let help = format!("choose one of these, or add \"{pairing}\" to `pairing` of `[gear.{name}]` if it can do it");
    Some((message, help))
}
