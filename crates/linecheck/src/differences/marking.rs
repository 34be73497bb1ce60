//! Code points: streams and clock messages that are marked otherwise than planned.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_model::{Id, Item};
use std::collections::BTreeMap;

/// Everything that is marked otherwise than planned.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<Item, Difference> = BTreeMap::new();
    for flow in names.evidence.flows.iter().filter(|flow| !flow.rtp.is_empty()) {
        let Some((stream, _)) = names.group(flow.destination) else { continue };
        let Some(planned) = names.plan.streams.get(stream).map(|one| one.format.media_dscp.get()) else { continue };
        if flow.code_points.iter().any(|one| *one != planned) {
            let says = format!("{} to {} with {}", flow.sender, flow.destination, listed(&flow.code_points));
            let item = Item::Stream(stream.clone());
            let what = found.remove(&item).unwrap_or_else(|| stream_marked(stream, (&flow.code_points, planned)));
            found.insert(item, what.seen([Sighting::new(names.evidence, &flow.seen, says)]));
        }
    }
    let planned = names.plan.stream_format.clock_dscp.get();
    for clock in names.evidence.clocks.iter().filter(|clock| clock.event_code_points.iter().any(|one| *one != planned)) {
        let Some(id) = names.by_clock(clock.identity) else { continue };
        let says = format!("clock event messages with {}", listed(&clock.event_code_points));
        let item = Item::Device(id.clone());
        let what = found.remove(&item).unwrap_or_else(|| clock_marked(id, (&clock.event_code_points, planned)));
        found.insert(item, what.seen([Sighting::new(names.evidence, &clock.seen, says)]));
    }
    found.into_values().collect()
}

fn listed(points: &[u8]) -> String {
    let all: Vec<String> = points.iter().map(ToString::to_string).collect();
    format!("DSCP {}", all.join(", "))
}

fn stream_marked(stream: &Id, (seen, planned): (&[u8], u8)) -> Difference {
    let says = format!("Packets of stream {stream} carry {}", listed(seen));
    Difference::new("seen/wrong-dscp", Certainty::Certain, vec![Item::Stream(stream.clone())], says)
        .told(format!("DSCP {planned}"), "Set the sender's DSCP; if the sender is right, look for a switch on the way that rewrites it.")
}

fn clock_marked(id: &Id, (seen, planned): (&[u8], u8)) -> Difference {
    let says = format!("Clock messages of `{id}` carry {}", listed(seen));
    Difference::new("seen/wrong-dscp", Certainty::Certain, vec![Item::Device(id.clone())], says)
        .told(format!("DSCP {planned}"), "Set the DSCP of its clock messages: in a queue with others the clock becomes worse.")
}
