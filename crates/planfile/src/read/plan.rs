//! Reads the plan file.

use super::{about, device, gear, listening, network, place, stock, stream, wiring};
use crate::catalogue::catalogue;
use crate::fields::{Fields, Header};
use crate::log::{File, Log};
use loomwright_model::Plan;
use toml::de::DeTable;

/// Sections of the plan file.
pub(crate) const SECTIONS: &[&str] = &[
    "plan",
    "targets",
    "stream-format",
    "network",
    "place",
    "route",
    "gear",
    "device",
    "stream",
    "in-phase",
    "journey",
    "stock",
    "labour",
];

/// Reads as much of the plan as can be read.
pub(super) fn read(root: &DeTable<'_>, log: &mut Log) -> Plan {
    let top = sections(root, File::Plan, log);
    let stream_format = about::stream_format(&top, log);
    let mut gear: indexmap::IndexMap<_, _> = gear::all(root, false, log);
    for (id, shipped) in catalogue() {
        gear.entry(id.clone()).or_insert_with(|| shipped.clone());
    }
    Plan {
        about: about::about(&top, log),
        targets: about::targets(&top, log),
        networks: network::all(root, log),
        places: place::places(root, log),
        routes: place::routes(root, log),
        devices: device::all(root, log),
        streams: stream::all(root, &stream_format, log),
        stock: stock::stock(&top, log),
        labour: stock::labour(&top, log),
        listening: listening::listening(root, log),
        stream_format,
        gear,
    }
}

/// Opens the root of a file; a section that belongs to the other file gets that said.
pub(super) fn sections<'a, 'i>(root: &'a DeTable<'i>, file: File, log: &mut Log) -> Fields<'a, 'i> {
    let (this, known, other, others) = match file {
        File::Plan => ("the plan file", SECTIONS, "the wiring file", wiring::SECTIONS),
        File::Wiring => ("the wiring file", wiring::SECTIONS, "the plan file", SECTIONS),
    };
    let before = log.problems.len();
    let top = Fields::of(root, Header::single(this, 0..0), known, log);
    for (key, _) in root.iter().filter(|(key, _)| others.contains(&key.get_ref().as_ref())) {
        if let Some(raw) = log.problems[before..].iter_mut().find(|raw| raw.span == key.span()) {
            raw.help = format!("move `[{}]` to {other}", key.get_ref());
        }
    }
    top
}
