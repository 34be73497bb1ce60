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
/// How many frames are remembered at a time. **Source**: own choice: a second of 60,000 frames.
const REMEMBERED: usize = 65_536;
/// How much of a frame is compared. **Unit**: octet. **Source**: own choice: headers and counters of every protocol that counts.
const COMPARED: usize = 128;
/// From how many copies within a second a frame is told. **Source**: own choice: retries come once or twice a second, and a frame
/// that two ways carry comes twice.
const COPIES: u64 = 8;
/// **Unit**: nanosecond.
const SECOND: u64 = 1_000_000_000;

/// Ports that asked for pauses.
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

/// One remembered frame: its mark, when its second began, copies in it.
type Memory = (u64, u64, u64);

/// Frames that came again.
pub struct Repeats {
    memory: Vec<Memory>,
    rows: Limited<u64, Repeat>,
}

impl Default for Repeats {
    fn default() -> Self {
        Self { memory: vec![(0, 0, 0); REMEMBERED], rows: Limited::new(MOST) }
    }
}

impl Repeats {
    /// Adds a frame.
    pub fn add(&mut self, frame: &Frame<'_>) {
        let Some(Moment(now)) = frame.stored.time else { return };
        let mark = mark(frame);
        let slot = usize::try_from(mark % 65_536).unwrap_or_default();
        let Some(memory) = self.memory.get_mut(slot) else { return };
        if memory.0 != mark || now.saturating_sub(memory.1) >= SECOND {
            *memory = (mark, now, 0);
        }
        memory.2 = memory.2.saturating_add(1);
        let copies = memory.2;
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

/// A number that is the same for the same frame on the same interface, and hardly ever for others: multiply and fold, eight octets
/// at a time. **Source**: own choice; the factor is 2^64 divided by the golden ratio, made odd.
fn mark(frame: &Frame<'_>) -> u64 {
    const FACTOR: u128 = 0x9e37_79b9_7f4a_7c15;
    let octets = frame.stored.octets.get(..COMPARED).unwrap_or(frame.stored.octets);
    let fold = |sum: u64, word: u64| {
        let product = u128::from(sum ^ word) * FACTOR;
        u64::try_from(product & u128::from(u64::MAX)).unwrap_or_default() ^ u64::try_from(product >> 64).unwrap_or_default()
    };
    let start = fold(u64::from(frame.stored.length), u64::from(frame.stored.interface) + 1);
    let (words, rest) = octets.as_chunks::<8>();
    let sum = words.iter().fold(start, |sum, word| fold(sum, u64::from_le_bytes(*word)));
    fold(rest.iter().fold(sum, |sum, &octet| fold(sum, octet.into())), u64::from(u32::MAX))
}
