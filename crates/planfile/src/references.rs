//! Checks that every name leads to something.

use crate::log::{File, Log, Reference, Wants};
use crate::near::{listed, nearest};
use crate::tree::Trees;
use loomwright_model::{Plan, Wiring};

impl Wants {
    fn code(self) -> &'static str {
        match self {
            Self::Gear => "plan/no-such-gear",
            Self::Place => "plan/no-such-place",
            Self::Device | Self::DeviceOrSwitch | Self::Packable => "plan/no-such-device",
            Self::Route => "plan/no-such-route",
            Self::Network => "plan/no-such-network",
            Self::Stream => "plan/no-such-stream",
            Self::Switch => "plan/no-such-switch",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Gear => "gear type",
            Self::Place => "place",
            Self::Device => "device",
            Self::Route => "route",
            Self::Network => "network",
            Self::Stream => "stream",
            Self::Switch => "switch",
            Self::DeviceOrSwitch => "device or switch",
            Self::Packable => "device, switch, gear type or place",
        }
    }

    /// The sections in which such a thing is declared.
    fn sections(self) -> &'static [(File, &'static str)] {
        match self {
            Self::Gear => &[(File::Plan, "gear")],
            Self::Place => &[(File::Plan, "place")],
            Self::Device => &[(File::Plan, "device")],
            Self::Route => &[(File::Plan, "route")],
            Self::Network => &[(File::Plan, "network")],
            Self::Stream => &[(File::Plan, "stream")],
            Self::Switch => &[(File::Wiring, "switch")],
            Self::DeviceOrSwitch => &[(File::Plan, "device"), (File::Wiring, "switch")],
            Self::Packable => &[(File::Plan, "device"), (File::Wiring, "switch"), (File::Plan, "place"), (File::Plan, "gear")],
        }
    }
}

/// Reports every name that leads nowhere.
pub(crate) fn check(trees: &Trees<'_, '_>, (plan, wiring): (&Plan, &Wiring), log: &mut Log) {
    let references = std::mem::take(&mut log.references);
    for reference in &references {
        if !was_read(reference, plan, wiring) && !leads_somewhere(reference, trees, plan) {
            log.file = reference.file;
            report(reference, trees, plan, log);
        }
    }
}

/// Whether the name is that of something that could be read: quick, and true of nearly all.
fn was_read(reference: &Reference, plan: &Plan, wiring: &Wiring) -> bool {
    let name = &reference.name;
    match reference.wants {
        Wants::Gear => plan.gear.contains_key(name),
        Wants::Place => plan.places.contains_key(name),
        Wants::Device => plan.devices.contains_key(name),
        Wants::Route => plan.routes.contains_key(name),
        Wants::Network => plan.networks.contains_key(name),
        Wants::Stream => plan.streams.contains_key(name),
        Wants::Switch => wiring.switches.contains_key(name),
        Wants::DeviceOrSwitch => plan.devices.contains_key(name) || wiring.switches.contains_key(name),
        Wants::Packable => {
            plan.devices.contains_key(name)
                || wiring.switches.contains_key(name)
                || plan.places.contains_key(name)
                || plan.gear.contains_key(name)
        }
    }
}

fn leads_somewhere(reference: &Reference, trees: &Trees<'_, '_>, plan: &Plan) -> bool {
    let name = reference.name.as_str();
    let declared = reference.wants.sections().iter().any(|(file, section)| trees.declares(*file, section, name));
    // A plan read alone may speak of a switch that only its wiring knows.
    let unseen =
        reference.file == File::Plan && trees.wiring.is_none() && matches!(reference.wants, Wants::DeviceOrSwitch | Wants::Packable);
    declared || unseen || (matches!(reference.wants, Wants::Gear | Wants::Packable) && plan.gear.contains_key(name))
}

fn report(reference: &Reference, trees: &Trees<'_, '_>, plan: &Plan, log: &mut Log) {
    let (wants, name) = (reference.wants, reference.name.as_str());
    let message = format!("there is no {} `{name}`", wants.word());
    log.at(reference.span.clone()).add(wants.code(), message, help(wants, name, trees, plan));
}

/// Where else a name may stand, and what it is there.
const ELSEWHERE: &[(File, &str)] = &[
    (File::Plan, "device"),
    (File::Wiring, "switch"),
    (File::Plan, "place"),
    (File::Plan, "network"),
    (File::Plan, "route"),
    (File::Plan, "gear"),
    (File::Plan, "stream"),
];

fn help(wants: Wants, name: &str, trees: &Trees<'_, '_>, plan: &Plan) -> String {
    if let Some((_, section)) = ELSEWHERE.iter().find(|(file, section)| trees.declares(*file, section, name)) {
        return format!("`{name}` is a {section}; name a {} here", wants.word());
    }
    let mut known: Vec<&str> = wants.sections().iter().flat_map(|(file, section)| trees.names(*file, section)).collect();
    if wants == Wants::Gear {
        known.extend(plan.gear.keys().map(|id| id.as_str()));
    }
    known.sort_unstable_by_key(|other| (!shares_word(name, other), *other));
    known.dedup();
    if let Some(near) = nearest(name, known.iter().copied()) {
        return format!("did you mean `{near}`?");
    }
    let section = wants.sections()[0].1;
    let header = if loomwright_model::Id::new(name).is_ok() { crate::print::key(name) } else { "NAME".to_owned() };
    match known.is_empty() {
        true => format!("add `[{section}.{header}]`"),
        false => format!("add `[{section}.{header}]`, or name one that is there: {}", listed(known, 12)),
    }
}

/// Whether two names have a word of three letters or more in common, such as `box` in `box-32` and `stage-box`.
fn shares_word(a: &str, b: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let text = text.to_lowercase();
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| word.chars().count() >= 3).map(str::to_owned).collect()
    };
    let known = words(b);
    words(a).iter().any(|word| known.contains(word))
}
