//! The worst moment of one delivery, packet by packet.

use super::Proved;
use loomwright_forwarding::Direction;
use loomwright_model::{Id, Time};
use loomwright_proof::Analysis;
use loomwright_replay::{Passing, QueueTimeline, Replay, Replays, Whose};
use std::collections::{BTreeMap, BTreeSet};

/// Most other packet streams that a replay is made for. The work grows with their square: 2,000 took 0.8 s in an unoptimised
/// build, so these take some three seconds there. Own choice.
const MOST_OTHERS: usize = 4_000;

/// One delivery: stream, receiver and network, and which packet stream of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted<'a> {
    /// The stream.
    pub stream: &'a str,
    /// The receiver.
    pub to: &'a str,
    /// The network.
    pub network: &'a str,
    /// The packet stream within the stream, from 1; without it the one whose bound is latest.
    pub packets: Option<u32>,
}

/// A replay with the names that go with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// What happens.
    pub replay: Replay,
    /// The packet stream within the stream, from 1.
    pub packets: u32,
    /// No packet comes later.
    pub bound: Time,
    /// The latest packet known: of the replay, or of the case that the calculation constructs.
    pub reached: Time,
    /// The port of each queue, as an item.
    pub ports: Vec<String>,
    /// The cable behind each queue.
    pub cables: Vec<Id>,
    names: BTreeMap<u32, String>,
}

impl Moment {
    /// The packet itself at a queue, and what stands in front of it, in the order in which it leaves.
    pub fn ahead(queue: &QueueTimeline) -> (Option<Passing>, Vec<Passing>) {
        let Some((own, before)) = queue.packets.split_last() else { return (None, Vec::new()) };
        (Some(*own), before.iter().filter(|packet| packet.ends > own.arrives).copied().collect())
    }

    /// What a label says of a queue.
    pub fn note(queue: &QueueTimeline) -> String {
        let (own, ahead) = Self::ahead(queue);
        match own {
            Some(own) if !ahead.is_empty() => format!("{} ahead, {}", ahead.len(), own.starts - own.arrives),
            _ => "nobody ahead".to_owned(),
        }
    }

    /// Whose packet it is, in words.
    pub fn name(&self, whose: Whose) -> &str {
        match whose {
            Whose::Own => "this stream",
            Whose::Stream(flow) => self.names.get(&flow).map_or("another stream", String::as_str),
            Whose::Clock => "clock message",
            Whose::Other => "lower frame",
        }
    }
}

/// Why there is nothing to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoMoment {
    /// No stream of that name.
    Stream,
    /// The stream does not go to that receiver.
    Receiver,
    /// It does not come to the receiver on that network, or no such packet stream does.
    Network,
    /// The path has no bound.
    Bound,
    /// More packet streams can meet it than are replayed.
    TooMany(usize),
}

impl Proved {
    /// The worst moment of a delivery. Takes as long as [`Replays::worst`].
    pub fn moment(&self, wanted: &Wanted<'_>) -> Result<Moment, NoMoment> {
        let analysis = self.analysis.as_ref().ok_or(NoMoment::Stream)?;
        let id = Id::new(wanted.stream).map_err(|_| NoMoment::Stream)?;
        let stream = analysis.plan.streams.get(&id).ok_or(NoMoment::Stream)?;
        if !stream.to.iter().any(|to| to.as_str() == wanted.to) {
            return Err(NoMoment::Receiver);
        }
        let (flow, hop, packets) = latest(analysis, wanted)?;
        let bound = analysis.delays.bound(flow, hop).map_err(|_| NoMoment::Bound)?;
        let met: BTreeSet<u32> = analysis.delays.hops(flow, hop).into_iter().flat_map(|hop| hop.behind).collect();
        if met.len() > MOST_OTHERS {
            return Err(NoMoment::TooMany(met.len()));
        }
        let replay = Replays::new(analysis.delays.analysis().network()).worst(flow, hop as usize);
        // The replay puts packets picoseconds apart that the calculation has at one instant: that is no other case.
        let is_later = |constructed: &Time| *constructed >= replay.reached + Time::from_nanoseconds(1);
        let reached = analysis.delays.reached(flow, hop).filter(is_later).unwrap_or(replay.reached);
        let cable = |queue: &QueueTimeline| analysis.fabric.cables[Direction(queue.port).cable().0 as usize].id.clone();
        let cables = replay.queues.iter().map(cable).collect();
        let ports = replay.queues.iter().map(|queue| format!("port:{}", analysis.fabric.from_port(Direction(queue.port)))).collect();
        Ok(Moment { packets, bound: bound.worst, reached, ports, cables, names: names(analysis, &replay), replay })
    }
}

/// Flow, hop and number of the packet stream that is wanted.
fn latest(analysis: &Analysis, wanted: &Wanted<'_>) -> Result<(usize, u32, u32), NoMoment> {
    let mut found = Vec::new();
    for (at, (flow, (id, stream), number)) in analysis.flows().enumerate() {
        let network = &analysis.fabric.networks[flow.network.0 as usize];
        let is_meant = id.as_str() == wanted.stream && network.as_str() == wanted.network;
        if !is_meant || wanted.packets.is_some_and(|packets| packets != number) {
            continue;
        }
        let is_there = |receiver: u32| stream.to.get(receiver as usize).is_some_and(|to| to.as_str() == wanted.to);
        found.extend(flow.deliveries.iter().filter(|delivery| is_there(delivery.receiver)).map(|delivery| (at, delivery.hop, number)));
    }
    let worst = |(flow, hop, _): &(usize, u32, u32)| analysis.delays.bound(*flow, *hop).map_or(Time::MAX, |bound| bound.worst);
    // Of equal ones the first.
    found.into_iter().rev().max_by_key(worst).ok_or(NoMoment::Network)
}

/// The names of all other streams in a replay.
fn names(analysis: &Analysis, replay: &Replay) -> BTreeMap<u32, String> {
    let all: Vec<&str> = analysis.flows().map(|(_, (id, _), _)| id.as_str()).collect();
    let packets = replay.queues.iter().flat_map(|queue| &queue.packets);
    let named = packets.filter_map(|packet| match packet.whose {
        Whose::Stream(flow) => Some((flow, (*all.get(flow as usize)?).to_owned())),
        _ => None,
    });
    named.collect()
}
