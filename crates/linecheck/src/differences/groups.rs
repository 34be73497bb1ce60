//! Groups: used by two senders, used by somebody else, unplanned, or on the other leg's network.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::Flow;
use loomwright_model::{Id, Item};
use std::collections::{BTreeMap, BTreeSet};
use std::net::Ipv4Addr;

/// What is known about the use of one group.
#[derive(Default)]
struct Use {
    senders: BTreeSet<Ipv4Addr>,
    numbers: BTreeSet<u32>,
    sightings: Vec<Sighting>,
}

/// Everything about groups.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut uses: BTreeMap<Ipv4Addr, Use> = BTreeMap::new();
    for flow in names.evidence.flows.iter().filter(|flow| flow.destination.is_multicast() && !flow.rtp.is_empty()) {
        let one = uses.entry(flow.destination).or_default();
        one.senders.insert(flow.sender);
        one.numbers.extend(flow.rtp.iter().map(|rtp| rtp.ssrc));
        one.sightings.push(Sighting::new(names.evidence, &flow.seen, format!("{} sends to {}", flow.sender, flow.destination)));
    }
    for row in names.evidence.received.iter().filter(|row| row.senders.len() > 1) {
        let one = uses.entry(row.group).or_default();
        one.numbers.extend(&row.senders);
        let says = format!("{} hears {} RTP senders on {}", row.host, row.senders.len(), row.group);
        one.sightings.push(Sighting::new(names.evidence, &row.seen, says));
    }
    let mut found: Vec<Difference> = uses.iter().filter_map(|(group, one)| of_group(names, *group, one)).collect();
    found.extend(joined(names));
    found
}

fn of_group(names: &Names<'_>, group: Ipv4Addr, one: &Use) -> Option<Difference> {
    let planned = names.group(group);
    let from = planned.and_then(|(stream, _)| Some(&names.plan.streams.get(stream)?.from));
    let mut items: Vec<Item> = planned.map(|(stream, _)| Item::Stream(stream.clone())).into_iter().collect();
    items.extend(one.senders.iter().filter_map(|sender| names.by_address(*sender)).map(|port| Item::Device(port.item.clone())));
    let listed: Vec<String> = one.senders.iter().map(|sender| called(names, *sender)).collect();
    let expected = match planned {
        Some((stream, _)) => format!("{group} for stream {stream} from {}", from.map_or("?", Id::as_str)),
        None => format!("nobody uses {group}"),
    };
    let is_wrong = |sender: &Ipv4Addr| names.by_address(*sender).map(|port| &port.item) != from;
    let (code, certainty, says) = if one.senders.len() > 1 {
        ("seen/group-twice", Certainty::Certain, format!("{group} is used twice: by {}", listed.join(" and ")))
    } else if one.numbers.len() > 1 {
        // One sender may have been restarted and chosen a new number.
        ("seen/group-twice", Certainty::Likely, format!("{} RTP senders are on {group}", one.numbers.len()))
    } else if planned.is_none() {
        ("seen/unplanned-stream", Certainty::Certain, format!("{} sends to {group}, which is not in the plan", listed.join(", ")))
    } else if one.senders.iter().any(is_wrong) {
        ("seen/wrong-sender", Certainty::Certain, format!("{} sends to {group}", listed.join(", ")))
    } else {
        return None;
    };
    let what = Difference::new(code, certainty, items, says);
    Some(
        what.told(expected, "Stop the sender that is not planned, or give it a group of its own.")
            .seen(one.sightings.iter().cloned())
            .loud(),
    )
}

fn called(names: &Names<'_>, sender: Ipv4Addr) -> String {
    names.by_address(sender).map_or_else(|| sender.to_string(), |port| format!("{} ({sender})", port.item))
}

/// Both legs on one network: a group or a sender of another network at a place that does not carry it.
fn joined(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<(Id, Id), Difference> = BTreeMap::new();
    for flow in names.evidence.flows.iter().filter(|flow| flow.vlan.is_none()) {
        let here = names.networks_at(&flow.seen);
        let Some((network, stream)) = foreign(names, flow) else { continue };
        if here.is_empty() || here.contains(&network) {
            continue;
        }
        let key = (network.clone(), here[0].clone());
        let new = || {
            let mut items = vec![Item::Network(network.clone()), Item::Network(here[0].clone())];
            items.extend(stream.clone().map(Item::Stream));
            let says = format!(
                "Packets of network {network} are on network {}: both legs run through one network, and one failure can take both",
                here[0]
            );
            Difference::new("seen/both-legs-together", Certainty::Certain, items, says)
                .told(
                    format!("networks {network} and {} are apart", here[0]),
                    "Look for a cable between the two networks, or a second port plugged into the wrong one.",
                )
                .loud()
        };
        let says = format!("{} sends to {}", called(names, flow.sender), flow.destination);
        let told = found.remove(&key).unwrap_or_else(new).seen([Sighting::new(names.evidence, &flow.seen, says)]);
        found.insert(key, told);
    }
    found.into_values().collect()
}

/// The network that a flow belongs to: by its planned group, else by its sender's planned interface.
fn foreign(names: &Names<'_>, flow: &Flow) -> Option<(Id, Option<Id>)> {
    if flow.rtp.is_empty() {
        return None;
    }
    let by_group = names.group(flow.destination).map(|(stream, network)| (network.clone(), Some(stream.clone())));
    by_group.or_else(|| names.by_address(flow.sender).and_then(|_| names.network_of(flow.sender)).map(|(id, _)| (id.clone(), None)))
}
