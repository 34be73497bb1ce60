//! Groups of receivers that play in step, and ways of sound through several devices.

use super::about::positive;
use crate::fields::{Fields, Header};
use crate::log::{Log, Wants};
use crate::tree::{Entry, entries};
use loomwright_model::plan::{InPhase, Journey, Listening};
use toml::de::DeTable;

pub(super) fn listening(root: &DeTable<'_>, log: &mut Log) -> Listening {
    let in_phase = entries(root, "in-phase", log);
    let journeys = entries(root, "journey", log);
    Listening {
        in_phase: in_phase.iter().filter_map(|entry| Some((entry.id.clone(), group(entry, log)?))).collect(),
        journeys: journeys.iter().filter_map(|entry| Some((entry.id.clone(), journey(entry, log)?))).collect(),
    }
}

fn group(entry: &Entry<'_, '_>, log: &mut Log) -> Option<InPhase> {
    let fields = Fields::open(entry.value, Header::of("in-phase", entry), &["streams", "to"], log)?;
    fields.require("streams", "[\"main-l\", \"main-r\"]", log);
    let streams = fields.refer_list("streams", Wants::Stream, log);
    not_empty(&fields, "streams", log);
    not_empty(&fields, "to", log);
    Some(InPhase { streams, to: fields.refer_list("to", Wants::Device, log) })
}

fn journey(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Journey> {
    let fields = Fields::open(entry.value, Header::of("journey", entry), &["through", "to", "limit"], log)?;
    fields.require("through", "[\"mics\", \"main-mix\"]", log);
    not_empty(&fields, "through", log);
    let through = fields.refer_list("through", Wants::Stream, log);
    Some(Journey { through, to: fields.refer("to", Wants::Device, log), limit: positive(&fields, "limit", log) })
}

/// A list that must name something where it stands.
fn not_empty(fields: &Fields<'_, '_>, key: &str, log: &mut Log) {
    let Some(value) = fields.raw(key) else { return };
    if value.get_ref().as_array().is_some_and(|items| items.is_empty()) {
        log.at(value.span()).add("plan/out-of-range", format!("`{key}` names nothing"), "name at least one, or take the table out");
    }
}
