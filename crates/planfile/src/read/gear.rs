//! Gear types, of the plan and of the shipped catalogue.

use super::about::not_zero;
use super::stock::inline;
use crate::fields::{Fields, Header, list_of};
use crate::log::Log;
use crate::readable::{Readable, Value, text, whole, wrong_type};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup, StreamCapacity};
use loomwright_model::{
    BitRate, ClockAbility, ClockSupport, Control, Gear, GearKind, Hours, Id, LatencyRange, Pairing, PoeClass, SpanningTree, Time,
};
use toml::de::{DeTable, DeValue};

/// Keys of every gear type, whatever its kind.
const KEYS: &[&str] = &[
    "kind",
    "title",
    "audio-ports",
    "pairing",
    "control",
    "processing-delay",
    "receive-delays",
    "release-jitter",
    "draws",
    "poe",
    "clock",
    "streams",
    "chain-latency",
    "latency",
    "mtbf",
    "mttr",
    "ports",
    "poe-budget",
    "snooping",
    "querier",
    "spanning-tree",
    "energy-saving",
    "dhcp-server",
    "radio-rate",
    "buffer",
    "price",
];
/// Keys that only make sense where sound goes in or out.
const ENDPOINT_ONLY: [&str; 8] =
    ["audio-ports", "pairing", "control", "processing-delay", "receive-delays", "release-jitter", "streams", "chain-latency"];
/// Keys that only make sense where frames are forwarded between numbered ports.
const SWITCHING_ONLY: [&str; 5] = ["ports", "poe-budget", "snooping", "querier", "radio-rate"];

pub(crate) fn all(root: &DeTable<'_>, shipped: bool, log: &mut Log) -> IndexMap<Id, Gear> {
    entries(root, "gear", log).iter().filter_map(|entry| Some((entry.id.clone(), gear(entry, shipped, log)?))).collect()
}

fn gear(entry: &Entry<'_, '_>, shipped: bool, log: &mut Log) -> Option<Gear> {
    let fields = Fields::open(entry.value, Header::of("gear", entry), KEYS, log)?;
    let before = log.problems.len();
    let kind = fields.need("kind", "\"endpoint\"", log)?;
    let title = fields.maybe("title", log).unwrap_or_else(|| entry.name.to_owned());
    let mut gear = Gear { shipped, ..Gear::plain(kind, title) };
    common(&mut gear, &fields, log);
    if gear.is_switching() {
        switching(&mut gear, &fields, log);
    } else {
        endpoint(&mut gear, &fields, log);
    }
    if log.problems.len() > before {
        log.doubtful_gear.push(entry.id.clone());
    }
    Some(gear)
}

fn common(gear: &mut Gear, fields: &Fields<'_, '_>, log: &mut Log) {
    gear.draws = fields.maybe("draws", log);
    gear.poe = fields.raw("poe").and_then(|value| poe(value, log));
    gear.mtbf = fields.maybe("mtbf", log);
    not_zero(fields, "mtbf", gear.mtbf == Some(Hours::ZERO), log);
    gear.mttr = fields.maybe("mttr", log);
    gear.latency = latency(fields, log);
    gear.spanning_tree = fields.or("spanning-tree", SpanningTree::None, log);
    gear.energy_saving = fields.or("energy-saving", false, log);
    gear.dhcp_server = fields.or("dhcp-server", false, log);
    gear.buffer = fields.maybe("buffer", log);
    gear.price = fields.maybe("price", log);
}

fn latency(fields: &Fields<'_, '_>, log: &mut Log) -> LatencyRange {
    let chained: Option<Time> = fields.maybe("chain-latency", log);
    let usual = chained.map_or(Gear::LATENCY, |time| LatencyRange { least: time, most: time });
    let Some(value) = fields.raw("latency") else { return usual };
    let Some(range) = inline(value, "latency", &["least", "most"], log) else { return usual };
    let most = range.need("most", "\"10 us\"", log).unwrap_or(usual.most);
    let least = range.or("least", usual.least.min(most), log);
    if least > most {
        log.at(value.span()).add("plan/out-of-range", format!("`least` ({least}) is more than `most` ({most})"), "swap the two");
    }
    LatencyRange { least, most }
}

fn endpoint(gear: &mut Gear, fields: &Fields<'_, '_>, log: &mut Log) {
    for key in SWITCHING_ONLY {
        fields.forbid(key, "take it out, or set `kind = \"switch\"`; an endpoint's jacks go under `audio-ports` and `control`", log);
    }
    gear.audio_ports = fields.raw("audio-ports").map(|value| audio_ports(value, log)).unwrap_or_default();
    gear.control = fields.raw("control").and_then(|value| control(value, log));
    gear.pairing = fields.raw("pairing").map(|value| list_of(value, log, Readable::read)).unwrap_or_default();
    gear.processing_delay = fields.maybe("processing-delay", log);
    gear.receive_delays = fields.raw("receive-delays").map(|value| receive_delays(value, log)).unwrap_or_default();
    gear.release_jitter = fields.maybe("release-jitter", log);
    gear.streams = fields.raw("streams").and_then(|value| capacity(value, log));
    if let Some(clock) = fields.raw("clock").and_then(|value| ability(value, log)) {
        gear.clock = clock;
    }
    if gear.audio_ports.len() == 2 && fields.raw("pairing").is_none() {
        // As it leaves the factory: common practice, no source.
        gear.pairing = vec![Pairing::Chained];
    }
    let written = fields.raw("audio-ports").and_then(|value| value.get_ref().as_array()).map_or(0, |items| items.len());
    if let Some(value) = fields.raw("pairing").filter(|_| written < 2 && !gear.pairing.is_empty()) {
        let message = format!("pairing needs two audio ports, and this gear has {written}");
        log.at(value.span()).add("plan/impossible-pairing", message, "take `pairing` out, or add the second port to `audio-ports`");
    }
    if gear.audio_ports.is_empty() && gear.control.is_none() {
        fields.require("audio-ports", "[ { name = \"1\", speed = \"1 Gb/s\", medium = \"copper\" } ]", log);
    }
}

fn switching(gear: &mut Gear, fields: &Fields<'_, '_>, log: &mut Log) {
    for key in ENDPOINT_ONLY {
        fields.forbid(key, "take it out; a switch lists its jacks under `ports` and its delay under `latency`", log);
    }
    if gear.kind == GearKind::Switch {
        fields.forbid("radio-rate", "take it out, or set `kind = \"wifi-router\"`", log);
    }
    fields.require("ports", "[ { count = 24, speed = \"1 Gb/s\", medium = \"copper\" } ]", log);
    gear.ports = fields.raw("ports").map(|value| port_groups(value, log)).unwrap_or_default();
    gear.poe_budget = fields.maybe("poe-budget", log);
    gear.snooping = fields.or("snooping", false, log);
    gear.querier = fields.or("querier", false, log);
    gear.radio_rate = fields.maybe("radio-rate", log);
    if let Some(value) = fields.raw("clock") {
        let help = "write \"unaware\", \"transparent\" or \"boundary\"";
        match value.get_ref() {
            DeValue::Table(_) => wrong_type(value, "a word about the clock", help, log),
            _ => gear.clock_support = ClockSupport::read(value, log).unwrap_or(ClockSupport::Unaware),
        }
    }
}

fn audio_ports(value: &Value<'_>, log: &mut Log) -> Vec<AudioPort> {
    let ports = list_of(value, log, audio_port);
    let DeValue::Array(items) = value.get_ref() else { return ports };
    if items.len() > 2 {
        let help = "list the one or two jacks that carry audio; the control jack goes under `control`";
        log.at(value.span()).add("plan/out-of-range", format!("an endpoint has one or two audio ports, not {}", items.len()), help);
    }
    if let [first, second, ..] = &ports[..]
        && first.name == second.name
        && let Some(item) = items.get(1)
    {
        log.at(item.span()).add("plan/listed-twice", format!("two audio ports are named `{}`", first.name), "give each port its own name");
    }
    ports
}

/// Settings of a receiver, shortest first however they are written.
fn receive_delays(value: &Value<'_>, log: &mut Log) -> Vec<Time> {
    let read = |item: &Value<'_>, log: &mut Log| {
        let time = Time::read(item, log)?;
        if time == Time::ZERO {
            log.at(item.span()).add("plan/out-of-range", "no receiver plays before it has a packet", "write a delay above zero");
        }
        Some(time)
    };
    let mut delays = list_of(value, log, read);
    delays.sort_unstable();
    delays.dedup();
    delays
}

fn audio_port(value: &Value<'_>, log: &mut Log) -> Option<AudioPort> {
    let fields = inline(value, "audio port", &["name", "speed", "medium"], log)?;
    let name = fields.need("name", "\"1\"", log);
    let speed = speed(&fields, log);
    let medium = fields.need("medium", "\"copper\"", log);
    Some(AudioPort { name: name?, speed: speed?, medium: medium? })
}

/// Most numbered ports of one type: own choice, more than any chassis.
const MOST_PORTS: u64 = 4_096;

fn port_groups(value: &Value<'_>, log: &mut Log) -> Vec<PortGroup> {
    let groups = list_of(value, log, port_group);
    let count: u64 = groups.iter().map(|group| u64::from(group.count)).sum();
    if count <= MOST_PORTS {
        return groups;
    }
    let help = format!("write at most {MOST_PORTS}; describe a larger one as several switches");
    log.at(value.span()).add("plan/out-of-range", format!("{count} ports are more than one switch has"), help);
    Vec::new()
}

fn port_group(value: &Value<'_>, log: &mut Log) -> Option<PortGroup> {
    let fields = inline(value, "ports", &["count", "speed", "medium", "poe"], log)?;
    let count =
        fields.raw("count").map_or(Some(1), |value| whole(value, 1..=MOST_PORTS as i64, log)).and_then(|count| u32::try_from(count).ok());
    let speed = speed(&fields, log);
    let medium = fields.need("medium", "\"copper\"", log);
    let poe = fields.raw("poe").and_then(|value| poe(value, log));
    Some(PortGroup { count: count?, speed: speed?, medium: medium?, poe })
}

fn control(value: &Value<'_>, log: &mut Log) -> Option<Control> {
    let fields = inline(value, "control", &["merged-with", "port", "speed"], log)?;
    if fields.raw("merged-with").is_some() {
        let help = "say either `merged-with` or `port` and `speed`";
        fields.forbid("port", help, log);
        fields.forbid("speed", help, log);
        return fields.maybe("merged-with", log).map(Control::MergedWith);
    }
    let port = fields.need("port", "\"control\"", log);
    let speed = speed(&fields, log);
    Some(Control::Own { port: port?, speed: speed? })
}

fn speed(fields: &Fields<'_, '_>, log: &mut Log) -> Option<BitRate> {
    let speed = fields.need("speed", "\"1 Gb/s\"", log);
    not_zero(fields, "speed", speed == Some(BitRate::ZERO), log);
    speed
}

fn capacity(value: &Value<'_>, log: &mut Log) -> Option<StreamCapacity> {
    let fields = inline(value, "streams", &["send", "receive"], log)?;
    Some(StreamCapacity { send: fields.or("send", 0, log), receive: fields.or("receive", 0, log) })
}

fn ability(value: &Value<'_>, log: &mut Log) -> Option<ClockAbility> {
    if matches!(value.get_ref(), DeValue::String(_)) {
        let help = "write `clock = { can-lead = true, quality = 248 }`; a single word is for switches";
        wrong_type(value, "a table about the clock", help, log);
        return None;
    }
    let fields = inline(value, "clock", &["can-lead", "quality"], log)?;
    // 248 is the default clock class. Source: IEEE 1588-2008 clause 7.6.2.4 (from memory).
    Some(ClockAbility { can_lead: fields.or("can-lead", false, log), quality: fields.or("quality", 248, log) })
}

/// A power class; `"none"` is none.
fn poe(value: &Value<'_>, log: &mut Log) -> Option<PoeClass> {
    let text = text(value, "\"class-3\" or \"none\"", log)?;
    if text == "none" {
        return None;
    }
    let help = "write \"none\" or a class from \"class-0\" to \"class-8\"";
    text.parse().map_err(|_| log.at(value.span()).add("plan/unknown-word", format!("`{text}` is not a power class"), help)).ok()
}
