//! What the packets of many streams at many queues have in common, kept once.
//!
//! A network has few frame sizes, speeds, periods and kinds of box. Everything that a queue has to know of a hop and
//! that the plan fixes lies in a table short enough for the nearest cache; a hop has only its place in it.

use crate::ratios::Ratios;

/// A kind of hop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Shape {
    pub(crate) send: u64,
    /// Time of one frame on the feeder's link.
    pub(crate) feeder_send: u64,
    pub(crate) period: u64,
    /// Jitter of the release; for bundles that on arrival.
    pub(crate) jitter: u64,
    /// Time in the box before the queue.
    pub(crate) forward_least: u64,
    pub(crate) forward_most: u64,
    /// Part of the link that all of them take, and the longest time here per time on the feeder's link; in fixed point.
    pub(crate) share: u128,
    pub(crate) slope: u128,
    /// Least time in the box and on the link; work of one packet from each.
    pub(crate) least: u64,
    pub(crate) step: u64,
    /// How many equal streams this stands for.
    pub(crate) count: u32,
    pub(crate) class: u8,
    /// Whether the box made it of another message, or it is of no stream and begins here.
    pub(crate) is_new: bool,
    /// Whether a link before takes longer for a frame than this queue's.
    pub(crate) is_behind_slower: bool,
    /// The same, of the feeder's link.
    pub(crate) is_feeder_behind_slower: bool,
}

pub(crate) const BLANK: Shape = Shape {
    send: 1,
    feeder_send: 1,
    period: 1,
    jitter: 0,
    forward_least: 0,
    forward_most: 0,
    share: 0,
    slope: 0,
    least: 0,
    step: 1,
    count: 1,
    class: 0,
    is_new: false,
    is_behind_slower: false,
    is_feeder_behind_slower: false,
};

impl Shape {
    /// How much the box before the queue can vary.
    pub(crate) fn spread(&self) -> u64 {
        self.forward_most.saturating_sub(self.forward_least)
    }
}

/// How many shapes are remembered while the table is filled. Own choice: sizes times speeds times periods of a large
/// network; fits the nearest cache.
const REMEMBERED: usize = 256;

/// The table. One shape may be in it several times.
pub(crate) struct Shapes {
    pub(crate) all: Vec<Shape>,
    lately: [u32; REMEMBERED],
    ratios: Ratios,
}

impl Shapes {
    /// Goes on with a table that has at least one shape.
    pub(crate) fn of(all: Vec<Shape>) -> Self {
        Self { all, lately: [0; REMEMBERED], ratios: Ratios::default() }
    }

    /// The place of a shape; what follows from the rest of it is filled in here.
    pub(crate) fn place(&mut self, shape: Shape) -> u32 {
        let slot = slot(&shape);
        let known = self.lately[slot];
        let Shape { share, slope, least, step, .. } = self.all[known as usize];
        if self.all[known as usize] == (Shape { share, slope, least, step, ..shape }) {
            return known;
        }
        self.lately[slot] = self.all.len() as u32;
        let shape = self.completed(shape);
        self.all.push(shape);
        self.lately[slot]
    }

    fn completed(&mut self, shape: Shape) -> Shape {
        Shape {
            share: self.ratios.of(shape.send, shape.period).saturating_mul(u128::from(shape.count)),
            slope: self.ratios.of(shape.send, shape.feeder_send),
            least: shape.forward_least.saturating_add(shape.send),
            step: shape.send.saturating_mul(u64::from(shape.count)),
            ..shape
        }
    }
}

/// Multiplicative hashing; the constant is 2^64 over the golden ratio (Knuth, from memory).
fn slot(shape: &Shape) -> usize {
    let kind = u64::from(shape.count) << 8 | u64::from(shape.class) | u64::from(shape.is_behind_slower) << 40;
    let times = shape.send ^ shape.feeder_send.rotate_left(19) ^ shape.forward_most.rotate_left(38);
    let stream = shape.period ^ shape.jitter.rotate_left(29) ^ kind.rotate_left(13);
    let mixed = (times ^ stream.wrapping_mul(0xD6E8_FEB8_6659_FD93)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> 56) as usize
}
