//! Finds what a person means by a bare name.

use loomwright_model::{Id, Item, Plan, PortRef, Wiring};
use std::fmt;

/// A name that leads to nothing, with what it could have been.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSuchItem {
    /// What was asked for.
    pub found: String,
    /// Names that are close, best first.
    pub near: Vec<Item>,
}

impl fmt::Display for NoSuchItem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "nothing in this plan is called `{}`", self.found)?;
        match self.near.as_slice() {
            [] => Ok(()),
            near => write!(f, "; did you mean {}?", crate::wording::list(near).replace(" and ", " or ")),
        }
    }
}

impl std::error::Error for NoSuchItem {}

/// Everything in a plan and its wiring that can be named, in the order of the files.
///
/// Gear types, streams and networks come last: a bare name means a thing first.
pub fn items(plan: &Plan, wiring: &Wiring) -> Vec<Item> {
    let named = |ids: Vec<&Id>, item: fn(Id) -> Item| ids.into_iter().cloned().map(item).collect::<Vec<_>>();
    let mut hazards: Vec<&Id> = plan.routes.values().flat_map(|route| &route.shares).collect();
    let mut feeds: Vec<&Id> = plan.places.values().flat_map(|place| &place.feeds).collect();
    feeds.extend(plan.devices.values().flat_map(|device| &device.feeds));
    feeds.extend(wiring.switches.values().flat_map(|switch| &switch.feeds));
    for names in [&mut hazards, &mut feeds] {
        let unique: indexmap::IndexSet<&Id> = names.drain(..).collect();
        names.extend(unique);
    }
    [
        named(wiring.cables.keys().collect(), Item::Cable),
        named(wiring.switches.keys().collect(), Item::Switch),
        named(plan.devices.keys().collect(), Item::Device),
        named(feeds, Item::Feed),
        named(plan.routes.keys().collect(), Item::Route),
        named(hazards, Item::Hazard),
        named(plan.places.keys().collect(), Item::Place),
        named(plan.streams.keys().collect(), Item::Stream),
        named(plan.networks.keys().collect(), Item::Network),
        named(plan.gear.keys().collect(), Item::Gear),
    ]
    .concat()
}

/// The item that `text` names: `kind:name`, a bare name (`A-001`), or a port (`box-sl/1`).
///
/// **Errors**: nothing of that name; the error lists the near misses.
pub fn resolve_item(plan: &Plan, wiring: &Wiring, text: &str) -> Result<Item, NoSuchItem> {
    let text = text.trim();
    let known = items(plan, wiring);
    let exact = known.iter().find(|item| item.to_string() == text || item.name() == text);
    if let Some(item) = exact {
        return Ok(item.clone());
    }
    if let Some(port) = port_of(plan, wiring, text) {
        return Ok(Item::Port(port));
    }
    let bare = text.split_once(':').map_or(text, |(_, name)| name);
    let mut near: Vec<(usize, Item)> = known.into_iter().map(|item| (distance(&item.name(), bare), item)).collect();
    near.retain(|(distance, _)| *distance <= bare.chars().count() / 3 + 1);
    near.sort_by_key(|(distance, _)| *distance);
    Err(NoSuchItem { found: text.to_owned(), near: near.into_iter().take(3).map(|(_, item)| item).collect() })
}

fn port_of(plan: &Plan, wiring: &Wiring, text: &str) -> Option<PortRef> {
    let port: PortRef = text.strip_prefix("port:").unwrap_or(text).parse().ok()?;
    let gear = wiring.gear_at(plan, &port.item)?;
    gear.port_specs().iter().any(|spec| spec.name == port.port).then_some(port)
}

/// How many letters have to be added, left out or changed to get from one name to the other; case counts nothing.
fn distance(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=to.len()).collect();
    for (n, letter) in from.to_lowercase().chars().enumerate() {
        let mut corner = std::mem::replace(&mut row[0], n + 1);
        for (m, other) in to.iter().enumerate() {
            let changed = corner + usize::from(letter != *other);
            corner = row[m + 1];
            row[m + 1] = changed.min(row[m] + 1).min(corner + 1);
        }
    }
    row[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Trial;

    fn resolve(text: &str) -> Result<String, String> {
        let trial = Trial::good();
        resolve_item(&trial.plan, &trial.wiring, text).map(|item| item.to_string()).map_err(|error| error.to_string())
    }

    #[test]
    fn finds_what_people_type() {
        for (text, item) in [
            ("A-001", "cable:A-001"),
            ("cable:A-001", "cable:A-001"),
            ("sw-a", "switch:sw-a"),
            ("desk", "device:desk"),
            ("desk/1", "port:desk/1"),
            ("mains-foh", "feed:mains-foh"),
            ("left", "route:left"),
            ("left-side", "hazard:left-side"),
            ("stage", "place:stage"),
            ("mics", "stream:mics"),
        ] {
            assert_eq!(resolve(text).as_deref(), Ok(item), "{text}");
        }
    }

    #[test]
    fn says_what_was_near() {
        assert_eq!(
            resolve("A-01"),
            Err("nothing in this plan is called `A-01`; did you mean cable:A-001, cable:A-002 or cable:B-001?".to_owned())
        );
        assert_eq!(resolve("quux-quux"), Err("nothing in this plan is called `quux-quux`".to_owned()));
        assert!(resolve("desk/9").is_err());
    }
}
