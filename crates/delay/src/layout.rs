//! A [`Network`] laid out for the sweep: one entry per stream and queue, entries of a queue together.

use crate::network::{NONE, Network};

/// One stream (or bundle) at one queue.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Entry {
    /// The entry of the hop before, or [`NONE`].
    pub(crate) parent: u32,
    pub(crate) port: u32,
    /// The queue whose link it comes in by, or [`NONE`].
    pub(crate) feeder: u32,
    pub(crate) class: u8,
    /// How many equal streams this stands for.
    pub(crate) count: u32,
    pub(crate) send: u64,
    /// Time of one frame on the feeder's link.
    pub(crate) feeder_send: u64,
    pub(crate) period: u64,
    /// Initial jitter; for later hops, what the box in between adds.
    pub(crate) spread: u64,
    /// The longest time of a frame on any link up to and with the feeder.
    pub(crate) slowest: u64,
}

/// Entries and the order of queues.
pub(crate) struct Layout {
    /// Hops in stream order, then bundles.
    pub(crate) entries: Vec<Entry>,
    /// First entry of each stream, one longer than the streams.
    pub(crate) stream_start: Vec<u32>,
    /// Entries by queue; within one by class, highest first, then by feeder.
    pub(crate) members: Vec<u32>,
    pub(crate) port_start: Vec<u32>,
    /// Queues, feeders before what they feed.
    pub(crate) order: Vec<u32>,
    /// How many of `order` are in a proper order; the others feed each other in a circle.
    pub(crate) acyclic: usize,
}

impl Layout {
    pub(crate) fn new(network: &Network) -> Self {
        let (entries, stream_start) = entries(network);
        let ports = network.ports.len();
        let (port_start, mut members) = group(ports, entries.iter().map(|entry| entry.port));
        for port in 0..ports {
            let slice = &mut members[port_start[port] as usize..port_start[port + 1] as usize];
            slice.sort_unstable_by_key(|at| {
                let entry = &entries[*at as usize];
                (std::cmp::Reverse(entry.class), entry.feeder, *at)
            });
        }
        let (order, acyclic) = order(ports, &entries);
        Self { entries, stream_start, members, port_start, order, acyclic }
    }

    pub(crate) fn at_port(&self, port: usize) -> &[u32] {
        &self.members[self.port_start[port] as usize..self.port_start[port + 1] as usize]
    }
}

fn entries(network: &Network) -> (Vec<Entry>, Vec<u32>) {
    let mut entries: Vec<Entry> = Vec::with_capacity(network.streams.iter().map(|stream| stream.hops.len()).sum());
    let mut stream_start = Vec::with_capacity(network.streams.len() + 1);
    for stream in &network.streams {
        let first = entries.len();
        stream_start.push(first as u32);
        for hop in &stream.hops {
            let before = (hop.parent != NONE).then(|| entries[first + hop.parent as usize]);
            entries.push(Entry {
                parent: before.map_or(NONE, |_| first as u32 + hop.parent),
                port: hop.port,
                feeder: before.map_or(NONE, |before| before.port),
                class: stream.class,
                count: 1,
                send: hop.send.picoseconds().max(1),
                feeder_send: before.map_or(1, |before| before.send),
                period: stream.period.picoseconds().max(1),
                spread: before.map_or(stream.jitter, |_| hop.forward.most - hop.forward.least).picoseconds(),
                slowest: before.map_or(0, |before| before.slowest.max(before.send)),
            });
        }
    }
    stream_start.push(entries.len() as u32);
    entries.extend(network.bundles.iter().map(|bundle| Entry {
        parent: NONE,
        port: bundle.port,
        feeder: bundle.feeder,
        class: bundle.class,
        count: bundle.count,
        send: bundle.send.picoseconds().max(1),
        feeder_send: bundle.feeder_send.picoseconds().max(1),
        period: bundle.period.picoseconds().max(1),
        spread: bundle.jitter.picoseconds(),
        slowest: 0,
    }));
    (entries, stream_start)
}

/// Indexes grouped by key: where each group starts, and the members.
fn group(count: usize, keys: impl Iterator<Item = u32> + Clone) -> (Vec<u32>, Vec<u32>) {
    let mut start = vec![0u32; count + 1];
    keys.clone().for_each(|key| start[key as usize + 1] += 1);
    for at in 0..count {
        start[at + 1] += start[at];
    }
    let (mut next, mut members) = (start.clone(), vec![0; start[count] as usize]);
    for (at, key) in keys.enumerate() {
        members[next[key as usize] as usize] = at as u32;
        next[key as usize] += 1;
    }
    (start, members)
}

/// Feeders before what they feed, as far as that goes; then the rest. Bundles bind nothing: their
/// jitter is given.
fn order(ports: usize, entries: &[Entry]) -> (Vec<u32>, usize) {
    let mut edges: Vec<(u32, u32)> = entries.iter().filter(|entry| entry.parent != NONE).map(|entry| (entry.feeder, entry.port)).collect();
    edges.sort_unstable();
    edges.dedup();
    let mut waits_for = vec![0u32; ports];
    edges.iter().for_each(|(_, to)| waits_for[*to as usize] += 1);
    let mut order: Vec<u32> = (0..ports as u32).filter(|port| waits_for[*port as usize] == 0).collect();
    let mut next = 0;
    while next < order.len() {
        let from = order[next];
        next += 1;
        let first = edges.partition_point(|edge| edge.0 < from);
        for (_, to) in edges[first..].iter().take_while(|edge| edge.0 == from) {
            waits_for[*to as usize] -= 1;
            if waits_for[*to as usize] == 0 {
                order.push(*to);
            }
        }
    }
    let acyclic = order.len();
    order.extend((0..ports as u32).filter(|port| waits_for[*port as usize] > 0));
    (order, acyclic)
}
