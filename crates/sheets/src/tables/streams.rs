//! The stream list and its multicast groups.

use super::Source;
use crate::cautions;
use crate::table::{Cell, Column, Kind, Role, Row, Table, columns};
use loomwright_drawing::scene::microseconds;
use loomwright_model::{BitRate, Id, Stream};
use loomwright_proof::report::StreamLine;
use std::collections::{BTreeMap, BTreeSet};

/// What the report says of one stream at one receiver, over all its packet streams and networks.
#[derive(Debug, Clone, Default)]
struct Sum {
    packet_streams: BTreeSet<u32>,
    /// Rate of all packet streams on one network.
    rate: BTreeMap<String, u64>,
    worst: BTreeMap<String, u64>,
    hops: u32,
    is_unbounded: bool,
}

impl Sum {
    fn add(&mut self, line: &StreamLine) {
        self.packet_streams.insert(line.packet_stream);
        *self.rate.entry(line.network.to_string()).or_insert(0) += line.wire_bps;
        self.hops = self.hops.max(line.hops);
        match &line.delay {
            Some(delay) => {
                let worst = self.worst.entry(line.network.to_string()).or_insert(0);
                *worst = (*worst).max(delay.worst_ns);
            }
            None => self.is_unbounded = true,
        }
    }
}

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Streams,
        columns([
            ("Stream", Role::Name),
            ("From", Role::Text),
            ("To", Role::Text),
            ("Channels", Role::Figure),
            ("Packet streams", Role::Figure),
            ("Nets", Role::Text),
            ("Rate on one net", Role::Figure),
            ("Worst delay", Role::Figure),
            ("Hops", Role::Figure),
            ("Mark", Role::Text),
        ]),
    );
    let limit = source.scene.plan.targets.network_delay;
    table.note = format!(
        "Worst delay: last bit out of the sender to last bit into the receiver, on the slower network. Allowed: {limit} unless a stream says otherwise."
    );
    table.cautions = vec![cautions::SOUND];
    table.units.extend([(6, "Mb/s"), (7, "us")]);
    let mut sums: BTreeMap<(&str, &str), Sum> = BTreeMap::new();
    for line in &source.scene.report.streams {
        sums.entry((line.id.as_str(), line.to.as_str())).or_default().add(line);
    }
    for (id, stream) in &source.scene.plan.streams {
        if stream.life_safety && table.cautions.len() == 1 {
            table.cautions.push(cautions::LIFE_SAFETY);
        }
        for to in &stream.to {
            let sum = sums.get(&(id.as_str(), to.as_str())).cloned().unwrap_or_default();
            table.rows.push(row(source, (id, stream), (to, &sum)));
        }
    }
    table
}

fn row(source: &Source<'_>, (id, stream): (&Id, &Stream), (to, sum): (&Id, &Sum)) -> Row {
    let networks: Vec<Id> =
        sum.rate.keys().filter_map(|name| source.scene.plan.networks.get_key_value(name.as_str())).map(|(id, _)| id.clone()).collect();
    let worst = sum.worst.values().max().copied();
    let delay = match worst {
        _ if sum.is_unbounded => "no bound".into(),
        Some(worst) => Cell { text: microseconds(worst), number: Some(worst as f64 / 1_000.0) },
        None => "not computed".into(),
    };
    let rate = sum.rate.values().max().copied();
    let rate = rate
        .map_or_else(Cell::default, |rate| Cell { text: BitRate::from_bits_per_second(rate).to_string(), number: Some(rate as f64 / 1e6) });
    let mark = match (stream.life_safety, stream.essential) {
        (true, _) => "life safety: refer",
        (false, true) => "essential",
        (false, false) => "",
    };
    let count = |n: u64| if n == 0 { Cell::default() } else { Cell::count(n) };
    let mut row = Row::new(vec![
        id.as_str().into(),
        stream.from.as_str().into(),
        to.as_str().into(),
        Cell::count(stream.channels),
        count(sum.packet_streams.len() as u64),
        source.networks(&networks).into(),
        rate,
        delay,
        count(u64::from(sum.hops)),
        mark.into(),
    ]);
    row.is_strong = stream.life_safety;
    row
}

/// Multicast groups, one column per network that has any.
pub(super) fn groups(source: &Source<'_>) -> Table {
    let groups = &source.scene.wiring.groups;
    let used: BTreeSet<&Id> = groups.values().flat_map(|by_network| by_network.keys()).collect();
    let networks: Vec<&Id> = source.scene.plan.networks.keys().filter(|network| used.contains(network)).collect();
    let mut heads = columns([("Stream", Role::Name), ("Packet stream", Role::Figure), ("From", Role::Text)]);
    heads.extend(networks.iter().map(|network| {
        let letter = source.networks(std::slice::from_ref(*network));
        Column::new(format!("Group, network {letter}"), Role::Name)
    }));
    let mut table = Table::new(Kind::Groups, heads);
    table.note = "Two groups whose lower 23 bits agree share a MAC address; the findings say where that happens.".to_owned();
    table.rows = groups
        .iter()
        .map(|((stream, number), by_network)| {
            let from = source.scene.plan.streams.get(stream).map_or("", |stream| stream.from.as_str());
            let mut cells = vec![stream.as_str().into(), Cell::count(*number), from.into()];
            cells.extend(networks.iter().map(|network| by_network.get(*network).map_or(String::new(), ToString::to_string).into()));
            Row::new(cells)
        })
        .collect();
    table
}
