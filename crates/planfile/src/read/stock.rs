//! What is in the truck and what work costs.

use super::about::single;
use crate::fields::{Fields, Header, list_of};
use crate::log::{Log, Wants};
use crate::readable::{Readable, Value, whole, wrong_type};
use indexmap::IndexMap;
use loomwright_model::plan::{Labour, Stock};
use loomwright_model::{Id, Length};
use toml::de::DeValue;

pub(super) fn stock(top: &Fields<'_, '_>, log: &mut Log) -> Stock {
    let Some(fields) = single(top, "stock", &["copper", "fibre", "switches"], log) else { return Stock::default() };
    Stock {
        copper: lengths(&fields, "copper", log),
        fibre: lengths(&fields, "fibre", log),
        switches: fields.raw("switches").map(|value| counts(value, log)),
    }
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
        let id =
            Id::new(name).map_err(|error| log.at(key.span()).add("plan/bad-name", error.to_string(), crate::readable::NAME_HELP)).ok()?;
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
