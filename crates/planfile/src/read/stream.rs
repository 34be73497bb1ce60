//! Streams.

use super::about::{channels, overlay, positive};
use crate::fields::{Fields, Header, list_of, refer};
use crate::log::{Log, Wants};
use crate::readable::{Value, wrong_type};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::plan::{Legs, Mode, StreamFormat};
use loomwright_model::{Id, Stream};
use toml::de::{DeTable, DeValue};

const KEYS: &[&str] = &[
    "from",
    "to",
    "channels",
    "essential",
    "legs",
    "mode",
    "network-delay",
    "life-safety",
    "sample-rate",
    "bits",
    "packet-time",
    "media-dscp",
    "channels-per-packet-stream",
];

pub(super) fn all(root: &DeTable<'_>, usual: &StreamFormat, log: &mut Log) -> IndexMap<Id, Stream> {
    entries(root, "stream", log).iter().filter_map(|entry| Some((entry.id.clone(), stream(entry, usual, log)?))).collect()
}

fn stream(entry: &Entry<'_, '_>, usual: &StreamFormat, log: &mut Log) -> Option<Stream> {
    let fields = Fields::open(entry.value, Header::of("stream", entry), KEYS, log)?;
    fields.require("from", "\"box-sl\"", log);
    fields.require("to", "[\"foh-desk\"]", log);
    fields.require("channels", "8", log);
    let from = fields.refer("from", Wants::Device, log);
    let to = fields.refer_list("to", Wants::Device, log);
    receivers(&fields, from.as_ref(), log);
    let channels = fields.raw("channels").and_then(|value| channels(value, log));
    let essential = fields.or("essential", false, log);
    let legs = fields.raw("legs").map_or(Legs::Both, |value| legs(value, log));
    let mode = fields.or("mode", Mode::Multicast, log);
    let format = overlay(&fields, usual, log);
    let network_delay = positive(&fields, "network-delay", log);
    let life_safety = fields.or("life-safety", false, log);
    Some(Stream { from: from?, to, channels: channels?, essential, legs, mode, format, network_delay, life_safety })
}

/// A stream needs somebody else to go to.
fn receivers(fields: &Fields<'_, '_>, from: Option<&Id>, log: &mut Log) {
    let Some(value) = fields.raw("to") else { return };
    let Some(items) = value.get_ref().as_array() else { return };
    if items.is_empty() {
        log.at(value.span()).add("plan/no-receiver", "this stream has no receiver", "name at least one device in `to`");
    }
    for item in items.iter().filter(|item| item.get_ref().as_str() == from.map(Id::as_str)) {
        let message = format!("this stream goes from `{}` to itself", item.get_ref().as_str().unwrap_or_default());
        log.at(item.span()).add("plan/stream-to-itself", message, "take it out of `to`");
    }
}

fn legs(value: &Value<'_>, log: &mut Log) -> Legs {
    let help = "write \"both\", or a list of networks such as [\"a\"]";
    match value.get_ref() {
        DeValue::String(text) if text == "both" => Legs::Both,
        DeValue::Array(items) if items.is_empty() => {
            log.at(value.span()).add("plan/out-of-range", "this stream uses no network", help);
            Legs::Both
        }
        DeValue::Array(_) => Legs::Only(list_of(value, log, |item, log| refer(item, Wants::Network, log))),
        DeValue::String(text) => {
            log.at(value.span()).add("plan/unknown-word", format!("`{text}` is not one of: both"), help);
            Legs::Both
        }
        _ => {
            wrong_type(value, "\"both\" or a list of networks", help, log);
            Legs::Both
        }
    }
}
