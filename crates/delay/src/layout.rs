//! A [`Network`] laid out for the sweep: one row per hop, those of a stream together, and for every queue a list of rows.
//!
//! What belongs to a stream lies together, as a queue asks of each packet what its queues before did; streams that begin at
//! one queue are neighbours. Lists are filled by [`crate::lists`]. See `docs/decisions/0005-delay-layout.md`.

use crate::alike::Alike;
use crate::lists::{Lists, Ranks};
use crate::network::{Bundle, HopSpec, NONE, Network, StreamSpec};
use crate::overtaken::Once;
use crate::shape::{BLANK, Shape, Shapes};
use std::ops::Range;

/// One hop of a stream, or a bundle, and what its packets have behind them once they have passed its queue and the link,
/// counted from their release.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Row {
    /// Least, worst (or [`crate::sweep::UNKNOWN`]) and reached delay.
    pub(crate) least: u64,
    pub(crate) worst: u64,
    pub(crate) reached: u64,
    pub(crate) port: u32,
    /// Row of the hop before, or [`NONE`].
    pub(crate) parent: u32,
    /// The queue whose link it comes in by, or [`NONE`].
    pub(crate) feeder: u32,
    /// Place in [`Layout::shapes`].
    pub(crate) shape: u32,
    /// Row of a hop that follows, or [`NONE`].
    pub(crate) next: u32,
    /// Whether on the way several packets of one stream can be in one queue.
    pub(crate) is_bunched: bool,
}

/// One class at one queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Region {
    /// Its part of [`Layout::ids`].
    pub(crate) start: u32,
    pub(crate) end: u32,
    pub(crate) class: u8,
}

impl Region {
    pub(crate) fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// Rows, lists and the order of queues.
#[derive(Clone)]
pub(crate) struct Layout {
    /// Bundles after the hops.
    pub(crate) rows: Vec<Row>,
    /// Of rows that follow the same hop as another: that one. Rows beyond its end have none.
    pub(crate) siblings: Vec<u32>,
    pub(crate) shapes: Vec<Shape>,
    /// Rows of each queue's classes.
    pub(crate) ids: Vec<u32>,
    /// Classes of each queue, highest first.
    pub(crate) regions: Vec<Region>,
    /// First and end of each queue's regions.
    pub(crate) at_port: Vec<(u32, u32)>,
    /// First row of each stream.
    pub(crate) stream_start: Vec<u32>,
    /// Streams in the order of their rows.
    pub(crate) streams: Vec<u32>,
    /// Rows that bundles begin at.
    pub(crate) hops: u32,
    /// Row of each bundle.
    pub(crate) bundle_rows: Vec<u32>,
    /// By queue: whether packets are not listed by the ways they came; all are where it is empty.
    pub(crate) is_unordered: Vec<bool>,
    /// Queues, feeders before what they feed.
    pub(crate) order: Vec<u32>,
    /// How many of `order` are in a proper order; the others feed each other in a circle.
    pub(crate) acyclic: usize,
    /// By row: its way with higher classes counted once; empty where there is one class.
    pub(crate) once: Vec<Once>,
}

impl Layout {
    /// Rows, with lists that hold so far only what comes from no other queue. O(hops + queues).
    pub(crate) fn new(network: &Network) -> (Self, Lists) {
        let (ranks, order) = (Ranks::new(network), by_first_queue(network));
        let hops = order.hops as usize;
        let mut alike = Alike::default();
        let mut rows = Rows {
            rows: vec![BLANK_ROW; hops],
            siblings: Vec::new(),
            shapes: Shapes::of(vec![BLANK]),
            kinds: Vec::new(),
            slowest: Vec::new(),
        };
        let mut lists = Lists::new(ranks, network.ports.len());
        for (stream, start) in network.streams.iter().zip(&order.stream_start) {
            let kind = alike.kind(stream, || rows.kind(stream));
            rows.put_alike(stream, *start, kind);
            lists.count_stream(stream, *start);
        }
        for bundle in &network.bundles {
            rows.add_bundle(bundle);
            lists.count_bundle(bundle);
        }
        let Rows { rows, siblings, shapes, .. } = rows;
        let ByFirstQueue { stream_start, streams, hops } = order;
        let (ids, regions, at_port, order) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let bundle_rows = (hops..rows.len() as u32).collect();
        let shapes = shapes.all;
        let once = if lists.has_classes() { vec![Once::NO; rows.len()] } else { Vec::new() };
        let mut layout = Self {
            rows,
            siblings,
            shapes,
            ids,
            regions,
            at_port,
            stream_start,
            streams,
            hops,
            bundle_rows,
            is_unordered: Vec::new(),
            order,
            acyclic: 0,
            once,
        };
        lists.begin(&mut layout);
        (layout, lists)
    }

    /// The classes of a queue, as places in `regions`.
    pub(crate) fn regions_at(&self, port: usize) -> Range<usize> {
        let (start, end) = self.at_port[port];
        start as usize..end as usize
    }

    /// A queue's part of `ids`.
    pub(crate) fn list_at(&self, port: usize) -> Range<usize> {
        let regions = &self.regions[self.regions_at(port)];
        let range = |region: Option<&Region>| region.map_or(0..0, |region| region.range());
        range(regions.first()).start..range(regions.last()).end
    }

    /// The row of a stream's hop.
    pub(crate) fn row(&self, stream: usize, hop: usize) -> usize {
        self.stream_start[stream] as usize + hop
    }

    /// The stream that a row of this network belongs to; `None` for bundles.
    pub(crate) fn stream_of(&self, network: &Network, row: u32) -> Option<usize> {
        let after = self.streams.partition_point(|stream| self.stream_start[*stream as usize] <= row);
        let stream = *self.streams.get(after.checked_sub(1)?)? as usize;
        Some(stream).filter(|stream| self.row(*stream, network.streams[*stream].hops.len()) > row as usize)
    }

    pub(crate) fn shape_of(&self, row: &Row) -> &Shape {
        &self.shapes[row.shape as usize]
    }
}

/// Streams by the queue that they begin at.
struct ByFirstQueue {
    stream_start: Vec<u32>,
    streams: Vec<u32>,
    hops: u32,
}

/// Counting sort, stable.
fn by_first_queue(network: &Network) -> ByFirstQueue {
    let ports = network.ports.len();
    let first = |stream: &StreamSpec| stream.hops.first().map_or(ports, |hop| hop.port as usize);
    let keys: Vec<(u32, u32)> = network.streams.iter().map(|stream| (first(stream) as u32, stream.hops.len() as u32)).collect();
    // Streams and hops of each queue, then those of all queues before.
    let mut next = vec![(0u32, 0u32); ports + 2];
    for (key, hops) in &keys {
        let next = &mut next[*key as usize + 1];
        *next = (next.0 + 1, next.1 + hops);
    }
    for at in 0..=ports {
        next[at + 1] = (next[at + 1].0 + next[at].0, next[at + 1].1 + next[at].1);
    }
    let hops = next[ports + 1].1;
    let (mut streams, mut stream_start) = (vec![0; keys.len()], Vec::with_capacity(keys.len()));
    for (at, (key, hops)) in keys.iter().enumerate() {
        let (place, row) = next[*key as usize];
        next[*key as usize] = (place + 1, row + hops);
        streams[place as usize] = at as u32;
        stream_start.push(row);
    }
    ByFirstQueue { stream_start, streams, hops }
}

/// Rows while they are made.
pub(crate) struct Rows {
    pub(crate) rows: Vec<Row>,
    pub(crate) siblings: Vec<u32>,
    pub(crate) shapes: Shapes,
    /// Shapes of the hops of streams, one stream after the other; those of a kind once.
    pub(crate) kinds: Vec<u32>,
    /// The longest time of a frame of the stream at hand on the links before each of its hops.
    pub(crate) slowest: Vec<u64>,
}

pub(crate) const BLANK_ROW: Row =
    Row { least: 0, worst: 0, reached: 0, port: NONE, parent: NONE, feeder: NONE, shape: 0, next: NONE, is_bunched: false };

impl Rows {
    /// Fills the rows of a stream from `start` on.
    pub(crate) fn put_stream(&mut self, stream: &StreamSpec, start: u32) {
        let kind = self.kind(stream);
        self.put_alike(stream, start, kind);
    }

    /// The shapes of a stream's hops: their place in `kinds`.
    pub(crate) fn kind(&mut self, stream: &StreamSpec) -> usize {
        self.slowest.clear();
        let kind = self.kinds.len();
        for (at, hop) in stream.hops.iter().enumerate() {
            let parent = hop.parent_at(at);
            let before = parent.map(|parent| &stream.hops[parent]);
            let so_far = parent.map_or(0, |parent| self.slowest[parent].max(send(&stream.hops[parent])));
            self.slowest.push(so_far);
            let shape = Shape {
                is_behind_slower: so_far > send(hop),
                is_feeder_behind_slower: parent.is_some_and(|parent| self.slowest[parent] > send(&stream.hops[parent])),
                ..hop_shape(stream, hop, before)
            };
            self.kinds.push(self.shapes.place(shape));
        }
        kind
    }

    /// Fills the rows of a stream of that kind.
    pub(crate) fn put_alike(&mut self, stream: &StreamSpec, start: u32, kind: usize) {
        let rows = &mut self.rows[start as usize..start as usize + stream.hops.len()];
        for ((at, hop), shape) in stream.hops.iter().enumerate().zip(&self.kinds[kind..]) {
            let row = start + at as u32;
            let blank = Row { port: hop.port, shape: *shape, ..BLANK_ROW };
            let Some(parent) = hop.parent_at(at) else {
                rows[at] = blank;
                continue;
            };
            rows[at] = Row { parent: start + parent as u32, feeder: rows[parent].port, ..blank };
            let sibling = std::mem::replace(&mut rows[parent].next, row);
            if sibling != NONE {
                self.siblings.resize(self.siblings.len().max(start as usize + stream.hops.len()), NONE);
                self.siblings[row as usize] = sibling;
            }
        }
    }

    pub(crate) fn add_bundle(&mut self, bundle: &Bundle) {
        let shape = self.shapes.place(bundle_shape(bundle));
        self.rows.push(Row { port: bundle.port, feeder: bundle.feeder, shape, ..BLANK_ROW });
    }
}

fn send(hop: &HopSpec) -> u64 {
    hop.send.picoseconds().max(1)
}

fn hop_shape(stream: &StreamSpec, hop: &HopSpec, before: Option<&HopSpec>) -> Shape {
    let most = hop.forward.most.picoseconds();
    Shape {
        class: stream.class,
        send: send(hop),
        feeder_send: before.map_or(1, send),
        period: stream.period.picoseconds().max(1),
        jitter: stream.jitter.picoseconds(),
        forward_least: hop.forward.least.picoseconds().min(most),
        forward_most: most,
        ..BLANK
    }
}

fn bundle_shape(bundle: &Bundle) -> Shape {
    Shape {
        count: bundle.count,
        class: bundle.class,
        is_new: bundle.kind != bundle.before,
        send: bundle.send.picoseconds().max(1),
        feeder_send: bundle.feeder_send.picoseconds().max(1),
        period: bundle.period.picoseconds().max(1),
        jitter: bundle.jitter.picoseconds(),
        ..BLANK
    }
}
