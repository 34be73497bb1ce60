//! Devices.

use crate::fields::{Fields, Header};
use crate::log::{Log, Wants};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::{Device, Id};
use toml::de::DeTable;

const KEYS: &[&str] = &["gear", "place", "title", "pairing", "feeds", "networks", "mode"];

pub(super) fn all(root: &DeTable<'_>, log: &mut Log) -> IndexMap<Id, Device> {
    entries(root, "device", log).iter().filter_map(|entry| Some((entry.id.clone(), device(entry, log)?))).collect()
}

fn device(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Device> {
    let fields = Fields::open(entry.value, Header::of("device", entry), KEYS, log)?;
    fields.require("gear", "\"stage-box-32\"", log);
    fields.require("place", "\"stage-left\"", log);
    let gear = fields.refer("gear", Wants::Gear, log);
    let place = fields.refer("place", Wants::Place, log);
    let title = fields.maybe("title", log);
    let pairing = fields.maybe("pairing", log);
    let feeds = fields.names("feeds", log);
    let networks = fields.refer_list("networks", Wants::Network, log);
    let mode = fields.maybe("mode", log);
    Some(Device { gear: gear?, place: place?, title, pairing, feeds, networks, mode })
}
