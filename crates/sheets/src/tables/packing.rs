//! What to take along: cables by length, switches, optics, devices, labels.

use super::Source;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::{BitRate, Id, Length, Medium};
use std::collections::{BTreeMap, BTreeSet};

/// More names than this are not listed beside their type. Own choice.
const MOST_NAMES: usize = 24;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Packing,
        columns([
            ("Sort", Role::Text),
            ("Item", Role::Name),
            ("Count", Role::Figure),
            ("Remark", Role::Text),
            ("Packed", Role::Tick),
            ("Back", Role::Tick),
        ]),
    );
    table.note = "Counts are what the wiring uses; carry spares on top.".to_owned();
    table.grouped_by = Some(0);
    cables(source, &mut table);
    modules(source, &mut table);
    gear(source, &mut table);
    let labels = 2 * source.scene.wiring.cables.len() as u64;
    push(&mut table, ("Labels", "Cable labels".to_owned()), (labels, "one for each end".to_owned()));
    let racks: BTreeSet<&Id> = source.scene.wiring.switches.values().map(|switch| &switch.place).collect();
    if !racks.is_empty() {
        push(
            &mut table,
            ("Papers", "Rack cards".to_owned()),
            (racks.len() as u64, "one for the door of each rack with switches".to_owned()),
        );
    }
    table
}

fn push(table: &mut Table, (sort, item): (&str, String), (count, remark): (u64, String)) {
    table.rows.push(Row::new(vec![sort.into(), item.into(), Cell::count(count), remark.into(), Cell::default(), Cell::default()]));
}

fn cables(source: &Source<'_>, table: &mut Table) {
    let mut by_length: BTreeMap<(Medium, Length), u64> = BTreeMap::new();
    for cable in source.scene.wiring.cables.values() {
        *by_length.entry((cable.medium, cable.length)).or_insert(0) += 1;
    }
    for ((medium, length), count) in by_length {
        let total = length.times(count);
        push(table, ("Cables", format!("{medium}, {length}")), (count, format!("{total} together")));
    }
}

/// Modules for pluggable ports, by what plugs into them and how fast the port is.
fn modules(source: &Source<'_>, table: &mut Table) {
    let mut by_type: BTreeMap<(Medium, Medium, BitRate), u64> = BTreeMap::new();
    for cable in source.scene.wiring.cables.values() {
        for spec in cable.ends.iter().filter_map(|end| source.spec(end)) {
            if matches!(spec.medium, Medium::Sfp | Medium::SfpPlus) {
                *by_type.entry((spec.medium, cable.medium, spec.speed)).or_insert(0) += 1;
            }
        }
    }
    for ((port, cable, speed), count) in by_type {
        let remark = if cable == Medium::Fibre { "both ends of a cable of the same kind; caps on" } else { "" };
        push(table, ("Pluggable modules", format!("{port} for {cable}, {speed}")), (count, remark.to_owned()));
    }
}

fn gear(source: &Source<'_>, table: &mut Table) {
    let scene = &source.scene;
    let switches = scene.wiring.switches.iter().map(|(id, switch)| (id, &switch.gear));
    let devices = scene.plan.devices.iter().map(|(id, device)| (id, &device.gear));
    counted(source, table, ("Switches", switches.collect()));
    counted(source, table, ("Devices", devices.collect()));
}

fn counted(source: &Source<'_>, table: &mut Table, (sort, items): (&str, Vec<(&Id, &Id)>)) {
    let mut by_type: BTreeMap<&Id, Vec<&str>> = BTreeMap::new();
    for (id, gear) in items {
        by_type.entry(gear).or_default().push(id.as_str());
    }
    for (gear, names) in by_type {
        let title = source.scene.plan.gear.get(gear).map_or("", |known| known.title.as_str());
        let item = if title.is_empty() { gear.to_string() } else { title.to_owned() };
        let count = names.len();
        let remark = if count <= MOST_NAMES {
            names.join(", ")
        } else {
            format!("{} to {}; names on the sheet Addresses", names[0], names[count - 1])
        };
        push(table, (sort, item), (count as u64, remark));
    }
}
