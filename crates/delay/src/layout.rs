//! A [`Network`] laid out for the sweep: one entry per stream and queue, entries of a queue side by side.
//!
//! Hops are numbered in the order of streams, which is how they are asked for. Entries lie in the order of queues,
//! which is how they are worked out: within a queue by class, highest first, then by the link they come in by.
//! Three stable counting sorts bring one into the other. See `docs/decisions/0005-delay-layout.md`.

use crate::network::{HopSpec, NONE, Network, StreamSpec};
use std::ops::Range;

/// One stream (or bundle) at one queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Entry {
    /// Place of the entry of the hop before, or [`NONE`].
    pub(crate) parent: u32,
    /// The queue whose link it comes in by, or [`NONE`].
    pub(crate) feeder: u32,
    /// [`NONE`] for a bundle.
    pub(crate) stream: u32,
    /// How many equal streams this stands for.
    pub(crate) count: u32,
    /// What it meets at the queue, as the sweep numbers it, or [`NONE`].
    pub(crate) meets: u32,
    pub(crate) class: u8,
    /// Whether a link before takes longer for a frame than this queue's.
    pub(crate) is_behind_slower: bool,
    /// The same, of the feeder's link.
    pub(crate) is_feeder_behind_slower: bool,
    pub(crate) send: u64,
    /// Time of one frame on the feeder's link.
    pub(crate) feeder_send: u64,
    pub(crate) period: u64,
    /// Jitter on arrival. That of the first hop is given; the sweep fills in the others.
    pub(crate) jitter: u64,
    /// Time in the box before the queue.
    pub(crate) forward_least: u64,
    pub(crate) forward_most: u64,
}

const BLANK: Entry = Entry {
    parent: NONE,
    feeder: NONE,
    stream: NONE,
    count: 1,
    meets: NONE,
    class: 0,
    is_behind_slower: false,
    is_feeder_behind_slower: false,
    send: 1,
    feeder_send: 1,
    period: 1,
    jitter: 0,
    forward_least: 0,
    forward_most: 0,
};

/// Entries and the order of queues.
pub(crate) struct Layout {
    pub(crate) entries: Vec<Entry>,
    /// First entry of each queue, one longer than the queues.
    port_start: Vec<u32>,
    /// First hop of each stream, one longer than the streams.
    stream_start: Vec<u32>,
    /// Where the entry of each hop is; bundles after the hops.
    places: Vec<u32>,
    /// Queues, feeders before what they feed.
    pub(crate) order: Vec<u32>,
    /// How many of `order` are in a proper order; the others feed each other in a circle.
    pub(crate) acyclic: usize,
}

impl Layout {
    /// O(hops + queues).
    pub(crate) fn new(network: &Network) -> Self {
        let (stream_start, addresses) = addresses(network);
        let (ports, hops) = (network.ports.len(), *stream_start.last().unwrap_or(&0));
        let (feeder_start, by_feeder) = sorted(&addresses, ports + 1, |address| (address.feeder as usize).min(ports));
        let (order, acyclic) = order(&feeder_start[..=ports], &by_feeder, hops);
        let has_classes = addresses.iter().any(|address| address.class != addresses[0].class);
        let by_class = if has_classes { sorted(&by_feeder, 256, |address| 255 - usize::from(address.class)).1 } else { by_feeder };
        let (port_start, by_port) = sorted(&by_class, ports, |address| address.port as usize);
        let mut places = vec![0; addresses.len()];
        for (place, address) in by_port.iter().enumerate() {
            places[address.hop as usize] = place as u32;
        }
        let mut layout = Self { entries: vec![BLANK; places.len()], port_start, stream_start, places, order, acyclic };
        layout.fill(network);
        layout
    }

    pub(crate) fn at_port(&self, port: usize) -> Range<usize> {
        self.port_start[port] as usize..self.port_start[port + 1] as usize
    }

    pub(crate) fn ports(&self) -> usize {
        self.port_start.len() - 1
    }

    /// The entry of a stream's hop.
    pub(crate) fn place(&self, stream: usize, hop: usize) -> usize {
        self.places[self.stream_start[stream] as usize + hop] as usize
    }

    fn fill(&mut self, network: &Network) {
        let mut slowest: Vec<u64> = Vec::new();
        for (at, stream) in network.streams.iter().enumerate() {
            slowest.clear();
            let places = &self.places[self.stream_start[at] as usize..];
            for (hop, place) in stream.hops.iter().zip(places) {
                let before = stream.hops.get(hop.parent as usize).filter(|_| hop.parent != NONE);
                let so_far = before.map_or(0, |before| slowest[hop.parent as usize].max(send(before)));
                slowest.push(so_far);
                self.entries[*place as usize] = Entry {
                    parent: before.map_or(NONE, |_| places[hop.parent as usize]),
                    stream: at as u32,
                    is_behind_slower: so_far > send(hop),
                    is_feeder_behind_slower: before.is_some_and(|before| slowest[hop.parent as usize] > send(before)),
                    ..entry(stream, hop, before)
                };
            }
        }
        for (bundle, place) in network.bundles.iter().zip(&self.places[*self.stream_start.last().unwrap_or(&0) as usize..]) {
            self.entries[*place as usize] = Entry {
                feeder: bundle.feeder,
                count: bundle.count,
                class: bundle.class,
                send: bundle.send.picoseconds().max(1),
                feeder_send: bundle.feeder_send.picoseconds().max(1),
                period: bundle.period.picoseconds().max(1),
                jitter: bundle.jitter.picoseconds(),
                ..BLANK
            };
        }
    }
}

fn send(hop: &HopSpec) -> u64 {
    hop.send.picoseconds().max(1)
}

fn entry(stream: &StreamSpec, hop: &HopSpec, before: Option<&HopSpec>) -> Entry {
    Entry {
        feeder: before.map_or(NONE, |before| before.port),
        class: stream.class,
        send: send(hop),
        feeder_send: before.map_or(1, send),
        period: stream.period.picoseconds().max(1),
        jitter: stream.jitter.picoseconds(),
        forward_least: hop.forward.least.picoseconds(),
        forward_most: hop.forward.most.picoseconds(),
        ..BLANK
    }
}

/// What a hop or bundle is sorted by.
#[derive(Debug, Clone, Copy)]
struct Address {
    hop: u32,
    port: u32,
    feeder: u32,
    class: u8,
}

/// First hop of each stream, and all hops, then all bundles.
fn addresses(network: &Network) -> (Vec<u32>, Vec<Address>) {
    let count = network.streams.iter().map(|stream| stream.hops.len()).sum::<usize>() + network.bundles.len();
    let mut addresses: Vec<Address> = Vec::with_capacity(count);
    let mut start = Vec::with_capacity(network.streams.len() + 1);
    for stream in &network.streams {
        start.push(addresses.len() as u32);
        for hop in &stream.hops {
            let feeder = stream.hops.get(hop.parent as usize).map_or(NONE, |before| before.port);
            addresses.push(Address { hop: addresses.len() as u32, port: hop.port, feeder, class: stream.class });
        }
    }
    start.push(addresses.len() as u32);
    for bundle in &network.bundles {
        addresses.push(Address { hop: addresses.len() as u32, port: bundle.port, feeder: bundle.feeder, class: bundle.class });
    }
    (start, addresses)
}

/// Counting sort, stable: where each key's items start, one longer than the keys, and the items.
fn sorted(items: &[Address], keys: usize, key: impl Fn(&Address) -> usize) -> (Vec<u32>, Vec<Address>) {
    let mut start = vec![0u32; keys + 1];
    items.iter().for_each(|item| start[key(item) + 1] += 1);
    for at in 0..keys {
        start[at + 1] += start[at];
    }
    let mut next = start.clone();
    let mut sorted = vec![Address { hop: 0, port: 0, feeder: 0, class: 0 }; items.len()];
    for item in items {
        let place = &mut next[key(item)];
        sorted[*place as usize] = *item;
        *place += 1;
    }
    (start, sorted)
}

/// Feeders before what they feed, as far as that goes; then the rest. Bundles bind nothing: their
/// jitter is given.
fn order(feeder_start: &[u32], by_feeder: &[Address], hops: u32) -> (Vec<u32>, usize) {
    let ports = feeder_start.len() - 1;
    let fed_by = |range: Range<u32>| by_feeder[range.start as usize..range.end as usize].iter().filter(|address| address.hop < hops);
    let mut waits_for = vec![0u32; ports];
    fed_by(0..feeder_start[ports]).for_each(|address| waits_for[address.port as usize] += 1);
    let mut order = Vec::with_capacity(ports);
    order.extend((0..ports as u32).filter(|port| waits_for[*port as usize] == 0));
    let mut next = 0;
    while next < order.len() {
        let from = order[next] as usize;
        next += 1;
        for address in fed_by(feeder_start[from]..feeder_start[from + 1]) {
            let waits_for = &mut waits_for[address.port as usize];
            *waits_for -= 1;
            if *waits_for == 0 {
                order.push(address.port);
            }
        }
    }
    let acyclic = order.len();
    order.extend((0..ports as u32).filter(|port| waits_for[*port as usize] > 0));
    (order, acyclic)
}
