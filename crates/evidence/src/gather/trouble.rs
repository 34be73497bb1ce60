//! Pauses, and frames that come again and again.

use super::limited::Limited;
use super::seen;
use crate::facts::{PauseSender, Repeat};
use crate::frame::Frame;
use crate::mac::Mac;
use crate::protocol::pause;
use crate::seen::{Moment, Trust};

/// Most senders and frames that are kept. **Source**: own choice.
const MOST: usize = 1_024;
/// How many frames are remembered at a time. **Source**: own choice: the table fits the fast memory of processors; a frame that comes
/// again and again keeps its place against others.
const REMEMBERED: u16 = 16_384;
/// How much of a frame is compared. **Unit**: octet. **Source**: own choice: headers and counters of every protocol that counts.
const COMPARED: usize = 128;
/// From how many copies within a second a frame is told. **Source**: own choice: retries come once or twice a second, and a frame
/// that two ways carry comes twice.
const COPIES: u64 = 8;
/// **Unit**: nanosecond.
const SECOND: u64 = 1_000_000_000;

/// Ports that asked for pauses.
#[derive(Clone)]
pub struct Pauses(Limited<(u32, Mac), PauseSender>);

impl Default for Pauses {
    fn default() -> Self {
        Self(Limited::new(MOST))
    }
}

impl Pauses {
    /// Adds a MAC control frame.
    pub fn add(&mut self, frame: &Frame<'_>) {
        let Some((pause, mac)) = pause::read(frame.payload).zip(frame.from) else { return };
        let row = self.0.get_or((frame.stored.interface, mac), || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            PauseSender { seen, mac, longest: 0, by_class: false }
        });
        if let Some(row) = row {
            row.seen.again(frame.stored.time);
            row.longest = row.longest.max(pause.longest);
            row.by_class |= pause.by_class;
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<PauseSender> {
        self.0.into_values().collect()
    }
}

/// One remembered frame.
#[derive(Clone, Copy, Default)]
struct Memory {
    /// The upper half of its mark; the place in the table tells a part of the rest.
    mark: u32,
    /// Copies in its second.
    copies: u32,
    /// When its second began. **Unit**: nanosecond.
    begun: u64,
}

/// Frames that came again.
#[derive(Clone)]
pub struct Repeats {
    memory: Vec<Memory>,
    rows: Limited<u64, Repeat>,
}

impl Default for Repeats {
    fn default() -> Self {
        Self { memory: vec![Memory::default(); REMEMBERED.into()], rows: Limited::new(MOST) }
    }
}

impl Repeats {
    /// Adds a frame.
    pub fn add(&mut self, frame: &Frame<'_>) {
        let Some(Moment(now)) = frame.stored.time else { return };
        let mark = mark(frame);
        let (upper, lower) = (u32::try_from(mark >> 32).unwrap_or_default(), u16::try_from(mark & 0xffff).unwrap_or_default());
        let Some(memory) = self.memory.get_mut(usize::from(lower % REMEMBERED)) else { return };
        let is_over = now.saturating_sub(memory.begun) >= SECOND;
        if memory.mark != upper || is_over {
            // What came again within this second stays.
            if memory.copies > 1 && !is_over {
                return;
            }
            *memory = Memory { mark: upper, copies: 0, begun: now };
        }
        memory.copies = memory.copies.saturating_add(1);
        let copies = u64::from(memory.copies);
        if copies >= COPIES {
            self.told(frame, mark, copies);
        }
    }

    fn told(&mut self, frame: &Frame<'_>, mark: u64, copies: u64) {
        let row = self.rows.get_or(mark, || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            let (mac, to) = (frame.from.unwrap_or(Mac::ZERO), frame.to.unwrap_or(Mac::ZERO));
            Repeat { seen, mac, to, ether_type: frame.inside.number(), most_per_second: 0, worst: None }
        });
        let Some(row) = row else { return };
        // Those that came before it was told count as well.
        let before = if copies == COPIES { COPIES - 1 } else { 0 };
        row.seen.times = row.seen.times.saturating_add(before);
        row.seen.again(frame.stored.time);
        if copies > row.most_per_second {
            (row.most_per_second, row.worst) = (copies, frame.stored.time);
        }
    }

    /// All of them.
    pub fn finish(self) -> Vec<Repeat> {
        self.rows.into_values().collect()
    }
}

/// A number that is the same for the same frame on the same interface, and hardly ever for others: multiply and fold, sixteen octets
/// at a time. **Source**: own choice; the factor is 2^64 divided by the golden ratio, made odd.
fn mark(frame: &Frame<'_>) -> u64 {
    const FACTOR: u64 = 0x9e37_79b9_7f4a_7c15;
    let octets = frame.stored.octets.get(..COMPARED).unwrap_or(frame.stored.octets);
    let fold = |one: u64, other: u64| {
        let product = u128::from(one) * u128::from(other);
        u64::try_from(product & u128::from(u64::MAX)).unwrap_or_default() ^ u64::try_from(product >> 64).unwrap_or_default()
    };
    let start = fold(u64::from(frame.stored.length) ^ FACTOR, (u64::from(frame.stored.interface) + 1) ^ FACTOR.rotate_left(32));
    let (pairs, rest) = octets.as_chunks::<16>();
    let sum = pairs.iter().fold(start, |sum, pair| {
        let both = u128::from_le_bytes(*pair);
        let (one, other) = (u64::try_from(both & u128::from(u64::MAX)).unwrap_or_default(), u64::try_from(both >> 64).unwrap_or_default());
        fold(sum ^ one, other ^ FACTOR)
    });
    let sum = rest.iter().fold(sum, |sum, &octet| fold(sum ^ u64::from(octet), FACTOR));
    fold(sum, FACTOR)
}
