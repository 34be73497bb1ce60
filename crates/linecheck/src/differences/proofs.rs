//! What was measured against what was proved: jitter that the planned network cannot make.

use super::Proved;
use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::Seen;
use loomwright_model::{Id, Item};
use std::collections::BTreeMap;
use std::net::Ipv4Addr;

/// Smallest jitter that is judged: below it the clock of a measuring computer is what is seen. **Unit**: nanosecond. **Source**: own
/// choice; 3 to 70 us were measured between idle programs of one computer.
const SMALLEST: u64 = 100_000;

/// Every stream that arrives with more jitter than was proved.
pub fn differences(names: &Names<'_>, proved: &Proved) -> Vec<Difference> {
    let counted = names
        .evidence
        .received
        .iter()
        .filter(|row| row.senders.len() < 2)
        .filter_map(|row| Some((row.seen, names.receiver(&row.host)?, row.group, row.jitter?)));
    let captured = names.evidence.flows.iter().flat_map(|flow| flow.rtp.iter().map(move |rtp| (flow, rtp)));
    let captured = captured
        .filter(|(_, rtp)| rtp.lost < rtp.packets && rtp.restarts == 0)
        .filter_map(|(flow, rtp)| Some((flow.seen, names.source(&flow.seen)?, flow.destination, rtp.jitter?)));
    let mut found: BTreeMap<(Id, Id), Difference> = BTreeMap::new();
    for (seen, receiver, group, jitter) in counted.chain(captured) {
        let Some((stream, limit)) = limit(names, proved, (receiver, group)).filter(|(_, limit)| jitter > (*limit).max(SMALLEST)) else {
            continue;
        };
        let key = (stream.clone(), receiver.clone());
        let one = found.remove(&key).unwrap_or_else(|| above(&key, jitter, limit));
        found.insert(key, one.seen([sighting(names, &seen, jitter)]));
    }
    found.into_values().collect()
}

fn sighting(names: &Names<'_>, seen: &Seen, jitter: u64) -> Sighting {
    Sighting::new(names.evidence, seen, format!("jitter {} us", jitter / 1_000))
}

/// The stream of a group and the most jitter that its network can make at a receiver.
fn limit<'n>(names: &'n Names<'_>, proved: &Proved, (receiver, group): (&Id, Ipv4Addr)) -> Option<(&'n Id, u64)> {
    let (stream, network) = names.group(group)?;
    let limit = proved.jitter.get(&(stream.clone(), receiver.clone(), network.clone()))?;
    Some((stream, *limit))
}

fn above((stream, receiver): &(Id, Id), jitter: u64, limit: u64) -> Difference {
    let items = vec![Item::Stream(stream.clone()), Item::Device(receiver.clone())];
    let says =
        format!("Stream {stream} arrives at {receiver} with {} us of jitter, more than the planned network can make", jitter / 1_000);
    Difference::new("seen/jitter-above-proof", Certainty::Likely, items, says).told(
        format!("at most {} us", limit / 1_000),
        "Measure at the sender's port: if it is even there, look for traffic that is not planned and for priorities that a switch does not keep.",
    )
}
