//! Writes the wiring file.

use super::{Exact, Page, list, quoted};
use loomwright_model::{Cable, Id, Switch, Wiring};
use std::cmp::Ordering;

/// What stands at the head of a new wiring file.
pub(crate) const HEAD: &str = "# Wiring: what was decided. The design writes this file; change what you like.\n\
     # `hold = true` keeps an item as it is when the wiring is designed again.\n";

/// The whole wiring as a text, sections in fixed order, names in counting order (A-2 before A-10).
pub fn write_wiring(wiring: &Wiring) -> String {
    let mut page = Page { text: HEAD.to_owned() };
    for table in tables(wiring) {
        let path: Vec<&str> = table.path.iter().map(String::as_str).collect();
        page.header(&path);
        table.keys.iter().for_each(|(name, value)| page.raw(name, value));
    }
    page.text
}

/// One table with its keys in written form, before it is put on a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Table {
    /// Section, name and, for groups, number.
    pub(crate) path: Vec<String>,
    /// Keys and their values as they are written.
    pub(crate) keys: Vec<(String, String)>,
}

impl Table {
    fn new(path: &[&str]) -> Self {
        Self { path: path.iter().map(|&name| name.to_owned()).collect(), keys: Vec::new() }
    }

    fn with(mut self, key: &str, value: impl Into<String>) -> Self {
        self.keys.push((key.to_owned(), value.into()));
        self
    }

    fn maybe(self, key: &str, value: Option<String>) -> Self {
        match value {
            Some(value) => self.with(key, value),
            None => self,
        }
    }

    fn flag(self, key: &str, value: bool) -> Self {
        self.maybe(key, value.then(|| "true".to_owned()))
    }

    fn names(self, key: &str, values: &[Id]) -> Self {
        self.maybe(key, (!values.is_empty()).then(|| list(values)))
    }
}

/// Everything in the wiring, table by table, in canonical order.
pub(crate) fn tables(wiring: &Wiring) -> Vec<Table> {
    let mut all: Vec<Table> = Vec::new();
    all.extend(in_order(wiring.switches.iter(), |entry| entry.0.to_string()).map(|(id, switch)| switch_table(id, switch)));
    all.extend(in_order(wiring.cables.iter(), |entry| entry.0.to_string()).map(|(id, cable)| cable_table(id, cable)));
    all.extend(in_order(wiring.settings.iter(), |entry| entry.0.to_string()).map(|(id, setting)| {
        Table::new(&["setting", id.as_str()])
            .maybe("pairing", setting.pairing.map(|pairing| quoted(pairing.word())))
            .maybe("clock-priority", setting.clock_priority.map(|priority| priority.to_string()))
            .flag("hold", setting.hold)
    }));
    all.extend(in_order(wiring.interfaces.iter(), |entry| entry.0.to_string()).map(|(port, interface)| {
        let address = quoted(&interface.address.to_string());
        Table::new(&["interface", &port.to_string()]).with("address", address).flag("hold", interface.hold)
    }));
    all.extend(in_order(wiring.groups.iter(), |entry| format!("{} {}", entry.0.0, entry.0.1)).map(|((stream, number), networks)| {
        let table = Table::new(&["group", stream.as_str(), &number.to_string()]);
        in_order(networks.iter(), |entry| entry.0.to_string())
            .fold(table, |table, (network, address)| table.with(network.as_str(), quoted(&address.to_string())))
    }));
    all.extend(choices(wiring));
    all
}

fn choices(wiring: &Wiring) -> Vec<Table> {
    let name = |id: &Option<Id>| id.as_ref().map(|id| quoted(id.as_str()));
    let clock = Table::new(&["clock"]).maybe("leader", name(&wiring.clock.leader)).maybe("backup", name(&wiring.clock.backup));
    let querier = in_order(wiring.querier.iter(), |entry| entry.0.to_string())
        .fold(Table::new(&["querier"]), |table, (network, switch)| table.with(network.as_str(), quoted(switch.as_str())));
    [clock, querier].into_iter().filter(|table| !table.keys.is_empty()).collect()
}

fn switch_table(id: &Id, switch: &Switch) -> Table {
    let costs = in_order(switch.path_cost.iter(), |entry| entry.0.to_string())
        .map(|(port, cost)| format!("{} = {cost}", quoted(&port.to_string())));
    let costs: Vec<String> = costs.collect();
    Table::new(&["switch", id.as_str()])
        .with("gear", quoted(switch.gear.as_str()))
        .with("place", quoted(switch.place.as_str()))
        .with("networks", list(&switch.networks))
        .names("feeds", &switch.feeds)
        .maybe("address", switch.address.map(|address| quoted(&address.to_string())))
        .maybe("bridge-priority", switch.bridge_priority.map(|priority| priority.to_string()))
        .maybe("path-cost", (!costs.is_empty()).then(|| format!("{{ {} }}", costs.join(", "))))
        .flag("hold", switch.hold)
}

fn cable_table(id: &Id, cable: &Cable) -> Table {
    let networks = match &cable.networks[..] {
        [one] => quoted(one.as_str()),
        several => list(several),
    };
    Table::new(&["cable", id.as_str()])
        .with("ends", list(&[cable.ends[0].to_string(), cable.ends[1].to_string()]))
        .with("network", networks)
        .with("medium", quoted(cable.medium.word()))
        .with("length", quoted(&cable.length.exact()))
        .with("routes", list(&cable.routes))
        .flag("hold", cable.hold)
}

/// Sorts by name as people count: `A-2` before `A-10`.
pub(crate) fn in_order<T>(items: impl Iterator<Item = T>, name: impl Fn(&T) -> String) -> impl Iterator<Item = T> {
    let mut named: Vec<(String, T)> = items.map(|item| (name(&item), item)).collect();
    named.sort_by(|a, b| counting_order(&a.0, &b.0));
    named.into_iter().map(|(_, item)| item)
}

/// Compares runs of digits as numbers, the rest letter by letter; equal numbers by their spelling.
pub(crate) fn counting_order(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a, b);
    loop {
        let ((x, rest_left), (y, rest_right)) = (chunk(left), chunk(right));
        let order = match (x.is_empty(), y.is_empty(), digits(x), digits(y)) {
            (true, ..) | (_, true, ..) => return x.cmp(y).then_with(|| a.cmp(b)),
            (_, _, Some(x), Some(y)) => (x.len(), x).cmp(&(y.len(), y)),
            _ => x.cmp(y),
        };
        if order != Ordering::Equal {
            return order;
        }
        (left, right) = (rest_left, rest_right);
    }
}

/// The first run of digits or of other characters, and what follows.
fn chunk(text: &str) -> (&str, &str) {
    let is_digit = text.starts_with(|c: char| c.is_ascii_digit());
    text.split_at(text.find(|c: char| c.is_ascii_digit() != is_digit).unwrap_or(text.len()))
}

/// A run of digits without leading zeros.
fn digits(chunk: &str) -> Option<&str> {
    chunk.starts_with(|c: char| c.is_ascii_digit()).then(|| chunk.trim_start_matches('0'))
}
