//! What arrives: streams that do not come, lost packets, jitter above a limit, and a wrong packet rate.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::{Flow, Received, Rtp};
use loomwright_model::{Id, Item};

/// Packets below which a rate or a share of loss tells nothing. **Source**: own choice.
const FEWEST: u64 = 100;
/// How far the packet rate may be from the plan, in per cent: short recordings begin and end within a burst. **Source**: own choice.
const RATE_MARGIN: u64 = 10;

/// Everything about arrival.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found: Vec<Difference> = names.evidence.received.iter().flat_map(|row| counted(names, row)).collect();
    for flow in &names.evidence.flows {
        found.extend(flow.rtp.iter().flat_map(|rtp| captured(names, flow, rtp)));
    }
    merged(found)
}

/// The same about the same items, from several sources, once.
fn merged(all: Vec<Difference>) -> Vec<Difference> {
    let mut found: Vec<Difference> = Vec::new();
    for one in all {
        match found.iter_mut().find(|other| other.code == one.code && other.items == one.items) {
            Some(other) => other.seen.extend(one.seen),
            None => found.push(one),
        }
    }
    found
}

fn counted(names: &Names<'_>, row: &Received) -> Vec<Difference> {
    let receiver = names.receiver(&row.host);
    let Some((stream, network)) = names.group(row.group) else { return Vec::new() };
    let is_wanted = receiver.is_some_and(|id| names.plan.streams.get(stream).is_some_and(|one| one.to.contains(id)));
    let mut items = vec![Item::Stream(stream.clone())];
    items.extend(receiver.cloned().map(Item::Device));
    let planned = format!("stream {stream} to {} on network {network}", row.host);
    // Two senders on one group make every count of lost packets and every jitter meaningless.
    let is_mixed = row.senders.len() > 1;
    let seen = |says: String| Sighting::new(names.evidence, &row.seen, says);
    if row.packets == 0 && is_wanted {
        let what =
            Difference::new("seen/stream-missing", Certainty::Certain, items, format!("{} gets nothing of stream {stream}", row.host));
        let remedy = "Look first for a missing cable or a box without power on its way, then at the sender.";
        return vec![what.told(planned, remedy).seen([seen(format!("0 packets of {}", row.group))]).loud()];
    }
    let mut found = Vec::new();
    if row.lost > 0 && !is_mixed {
        let says = format!("{} loses {} of stream {stream}", row.host, share(row.lost, row.packets));
        let what = Difference::new("seen/loss", Certainty::Certain, items.clone(), says);
        found.push(what.told("no packet is lost", LOSS).seen([seen(format!("{} lost, {} came", row.lost, row.packets))]));
    }
    let over = packet_time(names, stream).zip(row.jitter).filter(|(limit, jitter)| jitter > limit && !is_mixed);
    found.extend(over.map(|(limit, jitter)| {
        let says = format!("jitter {} us", jitter / 1_000);
        jitters(items, (&row.host, stream), (jitter, limit)).seen([seen(says)])
    }));
    found
}

const LOSS: &str = "Compare receivers: the loss lies behind the last point where nothing is lost yet. Look at errors and discards of the ports from there on.";

fn share(lost: u64, came: u64) -> String {
    let all = u128::from(lost) + u128::from(came);
    let hundredths = (u128::from(lost) * 10_000).checked_div(all).unwrap_or(0);
    format!("{}.{:02} %", hundredths / 100, hundredths % 100)
}

/// One packet time in nanoseconds, the limit of jitter. **Source**: own choice: with more, packets overtake each other's turn.
fn packet_time(names: &Names<'_>, stream: &Id) -> Option<u64> {
    Some(names.plan.streams.get(stream)?.format.packet_time.nanoseconds_up())
}

fn jitters(items: Vec<Item>, (host, stream): (&str, &Id), (jitter, limit): (u64, u64)) -> Difference {
    let says = format!("Stream {stream} arrives at {host} with {} us of jitter", jitter / 1_000);
    Difference::new("seen/jitter", Certainty::Likely, items, says).told(
        format!("at most one packet time, {} us", limit / 1_000),
        "Look at the sender's load first, then at queues on the way; a busy measuring computer also shows jitter.",
    )
}

fn captured(names: &Names<'_>, flow: &Flow, rtp: &Rtp) -> Vec<Difference> {
    let Some((stream, _)) = names.group(flow.destination) else { return Vec::new() };
    let items = vec![Item::Stream(stream.clone())];
    let seen = |says: String| [Sighting::new(names.evidence, &flow.seen, says)];
    let mut found = Vec::new();
    // More than half lost is no loss on the way but a capture that was thinned.
    let is_whole = rtp.lost < rtp.packets;
    if rtp.lost > 0 && is_whole && rtp.packets >= FEWEST {
        let says = format!("{} of stream {stream} is lost before the place of the capture", share(rtp.lost, rtp.packets));
        let told = format!("{} lost, {} came", rtp.lost, rtp.packets);
        found.push(Difference::new("seen/loss", Certainty::Likely, items.clone(), says).told("no packet is lost", LOSS).seen(seen(told)));
    }
    if let Some(limit) = packet_time(names, stream) {
        if let Some(jitter) = rtp.jitter.filter(|jitter| *jitter > limit && is_whole) {
            let told = seen(format!("jitter {} us", jitter / 1_000));
            found.push(jitters(items.clone(), ("the capture", stream), (jitter, limit)).seen(told));
        }
        found.extend(rate(rtp, limit).map(|(rate, planned)| {
            let says = format!("Stream {stream} runs at {rate} packets a second");
            let remedy = "Look at packet time and load of the sender: receivers run dry at this rate.";
            let what = Difference::new("seen/packet-rate", Certainty::Likely, items, says);
            what.told(format!("{planned} packets a second"), remedy).seen(seen(format!("{rate} packets a second")))
        }));
    }
    found
}

/// The packet rate and the planned one, if they are far apart.
fn rate(rtp: &Rtp, packet_time: u64) -> Option<(u64, u64)> {
    let lasted = rtp.last.zip(rtp.first).map(|(last, first)| last.since(first)).filter(|lasted| *lasted > 0)?;
    if rtp.expected < FEWEST || rtp.restarts > 0 {
        return None;
    }
    let second = 1_000_000_000_u128;
    let rate = u64::try_from(u128::from(rtp.expected.saturating_sub(1)) * second / u128::from(lasted)).unwrap_or(u64::MAX);
    let planned = u64::try_from(second.checked_div(u128::from(packet_time))?).unwrap_or(u64::MAX);
    (rate.abs_diff(planned).saturating_mul(100) > planned.saturating_mul(RATE_MARGIN)).then_some((rate, planned))
}
