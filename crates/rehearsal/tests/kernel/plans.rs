//! Plans small enough to rehearse in every run of the tests.

use loomwright_model::{Id, Plan, Wiring};
use loomwright_planfile::Source;

fn read(plan: &str, wiring: &str) -> (Plan, Wiring) {
    let source = |name, text| Source { name, text };
    let loaded = loomwright_planfile::read(source("plan.toml", plan), Some(source("plan.wiring.toml", wiring)));
    let loaded = loaded.unwrap_or_else(|problems| panic!("{problems:?}"));
    (loaded.plan, loaded.wiring)
}

/// The demo: four devices in a chain.
pub fn meeting_room() -> (Plan, Wiring) {
    read(loomwright_demo::MEETING_ROOM.plan, loomwright_demo::MEETING_ROOM.wiring)
}

/// Devices of the playhouse that are kept: some on both networks, one on a single one and fed by its switch.
const DEVICES: [&str; 7] = ["box-sl-1", "mon-desk", "com-stage", "foh-desk", "dsp-1", "com-base", "amp-main-l"];
/// Places whose switches are kept, on both networks.
const PLACES: [&str; 4] = ["stage-left", "stage-right", "booth", "amp-room"];

/// The playhouse with two networks, cut down to seven devices and eight switches.
pub fn small_playhouse() -> (Plan, Wiring) {
    let (mut plan, mut wiring) = read(loomwright_demo::PLAYHOUSE.plan, loomwright_demo::PLAYHOUSE.wiring);
    plan.devices.retain(|id, _| DEVICES.contains(&id.as_str()));
    plan.streams.values_mut().for_each(|stream| stream.to.retain(|to| plan.devices.contains_key(to)));
    plan.streams.retain(|_, stream| plan.devices.contains_key(&stream.from) && !stream.to.is_empty());
    wiring.switches.retain(|_, switch| PLACES.contains(&switch.place.as_str()));
    let is_there = |id: &Id| plan.devices.contains_key(id) || wiring.switches.contains_key(id);
    wiring.cables.retain(|_, cable| cable.ends.iter().all(|end| is_there(&end.item)));
    assert!(plan.streams.len() > 8 && wiring.cables.len() > 15, "the playhouse is no longer what it was");
    (plan, wiring)
}

/// Three switches in a ring, a device at each: one trunk is spare.
pub fn ring() -> (Plan, Wiring) {
    read(include_str!("ring.toml"), include_str!("ring.wiring.toml"))
}
