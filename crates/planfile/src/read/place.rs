//! Places and the routes between them.

use crate::fields::{Fields, Header, list_of, refer};
use crate::log::{Log, Wants};
use crate::readable::{Readable, Value, number};
use crate::tree::{Entry, entries};
use indexmap::IndexMap;
use loomwright_model::plan::Position;
use loomwright_model::{Id, Length, Medium, Place, Route};
use toml::de::{DeTable, DeValue};

/// Furthest point on a floor plan, metres: own choice, larger than any campus.
const FURTHEST_METRES: f64 = 1e6;

pub(super) fn places(root: &DeTable<'_>, log: &mut Log) -> IndexMap<Id, Place> {
    entries(root, "place", log).iter().filter_map(|entry| Some((entry.id.clone(), place(entry, log)?))).collect()
}

fn place(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Place> {
    let fields = Fields::open(entry.value, Header::of("place", entry), &["name", "at", "feeds"], log)?;
    Some(Place {
        name: fields.maybe("name", log).unwrap_or_else(|| entry.name.to_owned()),
        at: fields.raw("at").and_then(|value| position(value, log)),
        feeds: fields.names("feeds", log),
    })
}

fn position(value: &Value<'_>, log: &mut Log) -> Option<Position> {
    let help = "write two or three numbers in metres: across, along and, if it matters, height: [-9.0, 2.0]";
    if let DeValue::Array(items) = value.get_ref()
        && !(2..=3).contains(&items.len())
    {
        log.at(value.span()).add("plan/bad-position", format!("a point has two or three numbers, not {}", items.len()), help);
        return None;
    }
    let axes = list_of(value, log, |item, log| millimetres(item, help, log));
    match axes[..] {
        [x, y] => Some(Position { x, y, z: 0 }),
        [x, y, z] => Some(Position { x, y, z }),
        _ => None,
    }
}

fn millimetres(value: &Value<'_>, help: &str, log: &mut Log) -> Option<i64> {
    let metres = number(value, help, log)?;
    if metres.abs() <= FURTHEST_METRES {
        return Some((metres * 1_000.0).round() as i64);
    }
    log.at(value.span()).add("plan/out-of-range", format!("`{metres}` m is off every floor plan"), help);
    None
}

pub(super) fn routes(root: &DeTable<'_>, log: &mut Log) -> IndexMap<Id, Route> {
    entries(root, "route", log).iter().filter_map(|entry| Some((entry.id.clone(), route(entry, log)?))).collect()
}

fn route(entry: &Entry<'_, '_>, log: &mut Log) -> Option<Route> {
    let fields = Fields::open(entry.value, Header::of("route", entry), &["between", "length", "takes", "shares"], log)?;
    fields.require("between", "[\"stage-left\", \"foh\"]", log);
    let between =
        fields.raw("between").and_then(|value| pair(value, "a route joins two places", log, |item, log| refer(item, Wants::Place, log)));
    let length = fields.need("length", "\"38 m\"", log);
    let takes = fields.raw("takes").map(|value| list_of(value, log, cable_medium));
    let takes = takes.unwrap_or_else(|| vec![Medium::Copper, Medium::Fibre]);
    let shares = fields.names("shares", log);
    length_above_zero(&fields, length, log);
    if let Some(value) = fields.raw("takes").filter(|value| value.get_ref().as_array().is_some_and(|items| items.is_empty())) {
        let help = "name \"copper\", \"fibre\" or both, or leave `takes` out if both may lie there";
        log.at(value.span()).add("plan/out-of-range", "this route takes no medium, so no cable can lie in it", help);
    }
    Some(Route { between: between?, length: length?, takes, shares })
}

fn length_above_zero(fields: &Fields<'_, '_>, length: Option<Length>, log: &mut Log) {
    super::about::not_zero(fields, "length", length == Some(Length::ZERO), log);
}

/// A list of exactly two.
pub(super) fn pair<T>(value: &Value<'_>, why: &str, log: &mut Log, read: impl FnMut(&Value<'_>, &mut Log) -> Option<T>) -> Option<[T; 2]> {
    if let DeValue::Array(items) = value.get_ref()
        && items.len() != 2
    {
        log.at(value.span()).add("plan/not-two", format!("{why}, but {} are named here", items.len()), "name exactly two");
        return None;
    }
    list_of(value, log, read).try_into().ok()
}

/// What a cable can be made of.
pub(super) fn cable_medium(value: &Value<'_>, log: &mut Log) -> Option<Medium> {
    let medium = Medium::read(value, log)?;
    if matches!(medium, Medium::Copper | Medium::Fibre) {
        return Some(medium);
    }
    let message = format!("`{medium}` is a kind of port, not of cable");
    log.at(value.span()).add("plan/not-a-cable", message, "write what the cable is made of: \"copper\" or \"fibre\"");
    None
}
