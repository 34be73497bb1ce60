//! Title block, targets and stream format.

use crate::fields::{Fields, Header};
use crate::log::Log;
use crate::readable::{Value, kind_of, whole};
use loomwright_model::plan::{About, StreamFormat, Targets};
use loomwright_model::{Share, Time};
use toml::de::DeValue;

/// A table that stands once, such as `[plan]`.
pub(super) fn single<'a, 'i>(
    top: &Fields<'a, 'i>,
    section: &'static str,
    known: &'static [&'static str],
    log: &mut Log,
) -> Option<Fields<'a, 'i>> {
    let value = top.raw(section)?;
    Fields::open(value, Header::single(section, value.span()), known, log)
}

pub(super) fn about(top: &Fields<'_, '_>, log: &mut Log) -> About {
    let Some(fields) = single(top, "plan", &["name", "revision", "date", "by", "note"], log) else { return About::default() };
    About {
        name: fields.or("name", String::new(), log),
        revision: fields.or("revision", String::new(), log),
        date: fields.raw("date").and_then(|value| date(value, log)),
        by: fields.maybe("by", log),
        note: fields.maybe("note", log),
    }
}

/// A calendar date, with or without quotes.
fn date(value: &Value<'_>, log: &mut Log) -> Option<String> {
    let parsed = match value.get_ref() {
        DeValue::Datetime(date) => Some(*date),
        DeValue::String(text) => text.parse().ok(),
        _ => None,
    };
    match parsed {
        Some(toml::value::Datetime { date: Some(date), time: None, offset: None }) => Some(date.to_string()),
        Some(_) => bad_date(value, "a day without a time of day is expected here".to_owned(), log),
        None => bad_date(value, format!("a date is expected here, not {}", shown(value)), log),
    }
}

fn shown(value: &Value<'_>) -> String {
    match value.get_ref() {
        DeValue::String(text) => format!("`{text}`"),
        other => kind_of(other).to_owned(),
    }
}

fn bad_date(value: &Value<'_>, message: String, log: &mut Log) -> Option<String> {
    log.at(value.span()).add("plan/bad-date", message, "write year, month and day: 2026-05-02");
    None
}

pub(super) fn targets(top: &Fields<'_, '_>, log: &mut Log) -> Targets {
    let usual = Targets::default();
    let known = &["network-delay", "clock-error", "survive", "link-load", "spare-ports", "mouth-to-ear"];
    let Some(fields) = single(top, "targets", known, log) else { return usual };
    Targets {
        network_delay: positive(&fields, "network-delay", log).unwrap_or(usual.network_delay),
        clock_error: positive(&fields, "clock-error", log).unwrap_or(usual.clock_error),
        survive: fields.or("survive", usual.survive, log),
        link_load: some_share(&fields, "link-load", log).unwrap_or(usual.link_load),
        spare_ports: fields.or("spare-ports", usual.spare_ports, log),
        mouth_to_ear: positive(&fields, "mouth-to-ear", log),
    }
}

/// A time that must not be zero.
pub(super) fn positive(fields: &Fields<'_, '_>, key: &str, log: &mut Log) -> Option<Time> {
    let time: Time = fields.maybe(key, log)?;
    not_zero(fields, key, time == Time::ZERO, log);
    Some(time)
}

fn some_share(fields: &Fields<'_, '_>, key: &str, log: &mut Log) -> Option<Share> {
    let share: Share = fields.maybe(key, log)?;
    not_zero(fields, key, share == Share::default(), log);
    Some(share)
}

/// Reports a zero where nothing could ever be met with it.
pub(super) fn not_zero(fields: &Fields<'_, '_>, key: &str, is_zero: bool, log: &mut Log) {
    if let Some(value) = fields.raw(key).filter(|_| is_zero) {
        log.at(value.span()).add("plan/out-of-range", format!("`{key}` is zero"), "write a value above zero");
    }
}

pub(super) fn stream_format(top: &Fields<'_, '_>, log: &mut Log) -> StreamFormat {
    let usual = StreamFormat::default();
    let known = &["sample-rate", "bits", "packet-time", "media-dscp", "clock-dscp", "channels-per-packet-stream"];
    let Some(fields) = single(top, "stream-format", known, log) else { return usual };
    let format = overlay(&fields, &usual, log);
    StreamFormat { clock_dscp: fields.or("clock-dscp", usual.clock_dscp, log), ..format }
}

/// `usual`, with what the table itself says.
pub(super) fn overlay(fields: &Fields<'_, '_>, usual: &StreamFormat, log: &mut Log) -> StreamFormat {
    let sample_rate = fields.or("sample-rate", usual.sample_rate, log);
    not_zero(fields, "sample-rate", sample_rate.millihertz() == 0, log);
    StreamFormat {
        sample_rate,
        bits: fields.raw("bits").and_then(|value| bits(value, log)).unwrap_or(usual.bits),
        packet_time: positive(fields, "packet-time", log).unwrap_or(usual.packet_time),
        media_dscp: fields.or("media-dscp", usual.media_dscp, log),
        clock_dscp: usual.clock_dscp,
        channels_per_packet_stream: fields
            .raw("channels-per-packet-stream")
            .and_then(|value| channels(value, log))
            .unwrap_or(usual.channels_per_packet_stream),
    }
}

/// A number of audio channels. **Range**: 1 to 65535: own choice, far above any stream.
pub(super) fn channels(value: &Value<'_>, log: &mut Log) -> Option<u32> {
    whole(value, 1..=65_535, log).and_then(|number| u32::try_from(number).ok())
}

fn bits(value: &Value<'_>, log: &mut Log) -> Option<u8> {
    let found = whole(value, 1..=64, log)?;
    if matches!(found, 16 | 24 | 32) {
        return u8::try_from(found).ok();
    }
    log.at(value.span()).add("plan/out-of-range", format!("`{found}` bits per sample are not sent in packets"), "write 16, 24 or 32");
    None
}
