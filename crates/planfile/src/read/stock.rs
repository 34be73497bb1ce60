//! What is in the truck and what work costs.

use super::about::single;
use crate::fields::{Fields, Header, list_of, refer};
use crate::log::{Log, Wants};
use crate::readable::{NAME_HELP, Readable, Value, unit_problem, whole, wrong_type};
use indexmap::IndexMap;
use loomwright_model::plan::{Counted, Labour, Slack, Stock};
use loomwright_model::{Id, Length};
use toml::de::DeValue;

pub(super) fn stock(top: &Fields<'_, '_>, log: &mut Log) -> Stock {
    let known = &["copper", "fibre", "switches", "copper-count", "fibre-count", "copper-reels", "fibre-reels", "slack", "cases"];
    let Some(fields) = single(top, "stock", known, log) else { return Stock::default() };
    Stock {
        copper: lengths(&fields, "copper", log),
        fibre: lengths(&fields, "fibre", log),
        switches: fields.raw("switches").map(|value| counts(value, log)),
        copper_count: counted(&fields, "copper-count", log),
        fibre_count: counted(&fields, "fibre-count", log),
        copper_reels: counted(&fields, "copper-reels", log),
        fibre_reels: counted(&fields, "fibre-reels", log),
        slack: fields.raw("slack").map(|value| slack(value, log)).unwrap_or_default(),
        cases: fields.raw("cases").map(|value| cases(value, log)).unwrap_or_default(),
    }
}

/// Lengths with how many there are: `{ "10 m" = 12 }`, shortest first.
fn counted(fields: &Fields<'_, '_>, key: &str, log: &mut Log) -> Vec<Counted> {
    let Some(value) = fields.raw(key) else { return Vec::new() };
    let DeValue::Table(table) = value.get_ref() else {
        wrong_type(value, "a table of lengths and how many", format!("write `{key} = {{ \"10 m\" = 12 }}`"), log);
        return Vec::new();
    };
    let mut found: Vec<Counted> = Vec::new();
    for (key, value) in table {
        let name: &std::borrow::Cow<'_, str> = key.get_ref();
        let Ok(length) = name.parse::<Length>().map_err(|error| unit_problem(key.span(), name, &error, log)) else { continue };
        if length == Length::ZERO || found.iter().any(|known| known.length == length) {
            let help = "write one count for each length, and each length above zero";
            log.at(key.span()).add("plan/out-of-range", format!("`{name}` is no length, or is named twice"), help);
            continue;
        }
        // Most pieces of one length in stock: own choice.
        let count = whole(value, 0..=10_000, log).and_then(|count| u32::try_from(count).ok());
        found.extend(count.map(|count| Counted { length, count }));
    }
    found.sort_unstable();
    found
}

fn slack(value: &Value<'_>, log: &mut Log) -> Slack {
    let usual = Slack::default();
    let known = &["along", "per-end", "service-loop"];
    let Some(fields) = inline(value, "slack", known, log) else { return usual };
    Slack {
        along: fields.or("along", usual.along, log),
        per_end: fields.or("per-end", usual.per_end, log),
        service_loop: fields.or("service-loop", usual.service_loop, log),
    }
}

/// Cases with what is packed in them: `{ amp-rack = ["amp-1", "amp-2"] }`.
fn cases(value: &Value<'_>, log: &mut Log) -> IndexMap<Id, Vec<Id>> {
    let DeValue::Table(table) = value.get_ref() else {
        wrong_type(value, "a table of cases and what is in them", "write `cases = { amp-rack = [\"amp-1\", \"amp-2\"] }`", log);
        return IndexMap::new();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    let mut cases = IndexMap::new();
    for (key, value) in found {
        let name: &std::borrow::Cow<'_, str> = key.get_ref();
        let Ok(id) = Id::new(name).map_err(|error| log.at(key.span()).add("plan/bad-name", error.to_string(), NAME_HELP)) else { continue };
        cases.insert(id, list_of(value, log, |item, log| refer(item, Wants::Packable, log)));
    }
    cases
}

fn lengths(fields: &Fields<'_, '_>, key: &str, log: &mut Log) -> Vec<Length> {
    let read = |item: &Value<'_>, log: &mut Log| {
        let length = Length::read(item, log)?;
        if length == Length::ZERO {
            log.at(item.span()).add("plan/out-of-range", "a cable of no length is of no use", "write a length above zero");
        }
        Some(length)
    };
    fields.raw(key).map(|value| list_of(value, log, read)).unwrap_or_default()
}

fn counts(value: &Value<'_>, log: &mut Log) -> IndexMap<Id, u32> {
    let DeValue::Table(table) = value.get_ref() else {
        wrong_type(value, "a table of switch types and how many", "write `switches = { switch-24 = 4 }`", log);
        return IndexMap::new();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    let read = |(key, value): (&toml::Spanned<_>, &Value<'_>)| {
        let name: &std::borrow::Cow<'_, str> = key.get_ref();
        let id = Id::new(name).map_err(|error| log.at(key.span()).add("plan/bad-name", error.to_string(), NAME_HELP)).ok()?;
        log.refer(Wants::Gear, &id, key.span());
        // Most switches of one type in stock: own choice.
        let count = whole(value, 0..=10_000, log).and_then(|count| u32::try_from(count).ok())?;
        Some((id, count))
    };
    found.into_iter().filter_map(read).collect()
}

pub(super) fn labour(top: &Fields<'_, '_>, log: &mut Log) -> Labour {
    let known = &["per-metre", "per-end", "fibre-per-end", "per-module", "copper-per-metre", "fibre-per-metre"];
    let Some(fields) = single(top, "labour", known, log) else { return Labour::default() };
    Labour {
        per_metre: fields.maybe("per-metre", log),
        per_end: fields.maybe("per-end", log),
        fibre_per_end: fields.maybe("fibre-per-end", log),
        per_module: fields.maybe("per-module", log),
        copper_per_metre: fields.maybe("copper-per-metre", log),
        fibre_per_metre: fields.maybe("fibre-per-metre", log),
    }
}

/// Opens an inline table such as `{ send = 16, receive = 16 }`.
pub(super) fn inline<'a, 'i>(
    value: &'a Value<'i>,
    what: &'static str,
    known: &'static [&'static str],
    log: &mut Log,
) -> Option<Fields<'a, 'i>> {
    Fields::open(value, Header::single(what, value.span()), known, log)
}
