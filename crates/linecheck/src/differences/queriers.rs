//! Who asks about groups: nobody, two, or the wrong one.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::Querier;
use loomwright_evidence::{Seen, Source, Spot, Trust};
use loomwright_model::{Id, Item};
use std::collections::{BTreeMap, BTreeSet};
use std::net::Ipv4Addr;

/// Shortest listening after which a missing query tells something. **Unit**: nanosecond. **Source**: own choice: a hint after 20 s.
const SHORTEST: u64 = 20_000_000_000;
/// Longest usual time between queries, and one response time. **Unit**: nanosecond. **Source**: RFC 3376 sections 8.2 and 8.3 (from memory).
const USUAL: u64 = 135_000_000_000;
/// Longest that a group comes to a port without members while switches still learn. **Unit**: nanosecond. **Source**: own choice;
/// about 1 s was measured on a small network that was just started.
const LEARNING: u64 = 10_000_000_000;

/// Everything about queriers.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found = too_many(names);
    found.extend(nobody(names));
    found
}

fn by_network<'n>(names: &'n Names<'_>) -> BTreeMap<Id, Vec<&'n Querier>> {
    let mut all: BTreeMap<Id, Vec<&Querier>> = BTreeMap::new();
    for row in names.evidence.queriers.iter().filter(|row| !row.address.is_unspecified()) {
        let at = names.networks_at(&row.seen);
        let network = if let [one] = &at[..] { Some(one.clone()) } else { names.network_of(row.address).map(|(id, _)| id.clone()) };
        if let Some(network) = network {
            all.entry(network).or_default().push(row);
        }
    }
    all
}

fn too_many(names: &Names<'_>) -> Vec<Difference> {
    let mut found = Vec::new();
    for (network, rows) in by_network(names) {
        let addresses: BTreeSet<Ipv4Addr> = rows.iter().map(|row| row.address).collect();
        let planned = names.wiring.querier.get(&network);
        let is_right = |address: &Ipv4Addr| names.by_address(*address).is_some_and(|port| Some(&port.item) == planned);
        let sightings =
            rows.iter().map(|row| Sighting::new(names.evidence, &row.seen, format!("{} asks, {} times", row.address, row.general)));
        let listed: Vec<String> = addresses.iter().map(ToString::to_string).collect();
        let what = if addresses.len() > 1 {
            let says = format!("{} boxes ask about groups on network {network}: {}", addresses.len(), listed.join(", "));
            Difference::new("seen/two-queriers", Certainty::Likely, vec![Item::Network(network.clone())], says)
        } else if planned.is_some() && !addresses.iter().any(is_right) && addresses.iter().all(|one| names.by_address(*one).is_some()) {
            let says = format!("{} asks about groups on network {network}", listed.join(", "));
            Difference::new("seen/wrong-querier", Certainty::Likely, vec![Item::Network(network.clone())], says)
        } else {
            continue;
        };
        let expected = planned.map_or_else(|| "no querier is named".to_owned(), |id| format!("{id} asks"));
        found.push(what.told(expected, "Leave the querier on at the planned switch only.").seen(sightings));
    }
    found
}

fn nobody(names: &Names<'_>) -> Vec<Difference> {
    let asked = by_network(names);
    let mut found = Vec::new();
    for (network, switch) in names.wiring.querier.iter().filter(|(network, _)| !asked.contains_key(*network)) {
        let listened = captures(names).filter(|(seen, lasted)| *lasted >= SHORTEST && names.networks_at(seen) == [network.clone()]);
        let listened: Vec<(Seen, u64)> = listened.collect();
        let Some(longest) = listened.iter().map(|(_, lasted)| *lasted).max() else { continue };
        let flooded = flooded(names, network);
        let certainty = if longest >= USUAL || !flooded.is_empty() { Certainty::Likely } else { Certainty::Hint };
        let silent =
            listened.iter().map(|(seen, lasted)| Sighting::new(names.evidence, seen, format!("no query in {} s", lasted / 1_000_000_000)));
        let says = format!("Nobody asks about groups on network {network}: streams may flood every port, or stop when memberships run out");
        let what = Difference::new("seen/no-querier", certainty, vec![Item::Network(network.clone()), Item::Switch(switch.clone())], says)
            .told(format!("{switch} asks"), format!("Switch the querier on at {switch}."))
            .seen(silent.chain(flooded))
            .loud();
        found.push(what);
    }
    found
}

/// Captures, and how long each lasted.
fn captures<'n>(names: &'n Names<'_>) -> impl Iterator<Item = (Seen, u64)> + 'n {
    let time = |source: &Source| source.capture.as_ref().and_then(|capture| capture.time);
    names.evidence.sources.iter().enumerate().filter_map(move |(n, source)| {
        let (first, last) = time(source)?;
        let seen = Seen { source: n, first: Some(first), last: Some(last), ..Seen::at(Spot::Whole, Trust::Measured) };
        Some((seen, last.since(first)))
    })
}

/// Streams that came to a port of a box that nobody planned as their receiver or sender, for longer than switches need to learn.
fn flooded(names: &Names<'_>, network: &Id) -> Vec<Sighting> {
    let is_stray = |flow: &&loomwright_evidence::facts::Flow| {
        let here = names.source(&flow.seen);
        let stream =
            names.group(flow.destination).filter(|(_, one)| *one == network).and_then(|(stream, _)| names.plan.streams.get(stream));
        let is_wanted = |id: &Id| stream.is_some_and(|stream| stream.to.contains(id) || stream.from == *id);
        let is_end = here.is_some_and(|id| names.plan.devices.contains_key(id) && !names.is_chained(id) && !is_wanted(id));
        stream.is_some() && is_end && flow.seen.lasted() > LEARNING
    };
    let stray = names.evidence.flows.iter().filter(is_stray);
    stray
        .map(|flow| Sighting::new(names.evidence, &flow.seen, format!("{} comes to a port that has no member", flow.destination)))
        .collect()
}
