//! How much can arrive at a queue in a window of time, between two jumps of its staircases.
//!
//! A tree of sums and lines: a leaf part is the packets that a window can hold; a line is a link that
//! they all come through, which passes at most one frame plus its rate. Between jumps the leaf parts
//! are constant, so the whole is concave in the length of the window.
//! Amounts are measured as time on the queue's own link, slopes and sums in units of 2^-40 of it.

use std::cmp::Ordering;

/// One whole, in fixed point.
pub(crate) const ONE: u128 = 1 << 40;

/// Part of the tree, after its children.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Part {
    /// How many parts just before are its children (their own children apart).
    pub(crate) children: u32,
    /// Whether it is itself a child.
    pub(crate) is_inside: bool,
    /// Packets that belong to the part itself.
    pub(crate) leaf: u64,
    /// The line, if it has one.
    pub(crate) line: Option<Line>,
    /// Never more than this before the next jump, if that is known.
    pub(crate) cap: Option<u64>,
}

/// At most `frame + shift + slope * window`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line {
    /// The largest frame.
    pub(crate) frame: u64,
    /// Time on this queue's link per time on the line's link.
    pub(crate) slope: u128,
    /// What delay variation behind the line adds, times the slope.
    pub(crate) shift: u128,
}

impl Line {
    pub(crate) fn at(&self, window: u64) -> u128 {
        // Two narrow factors make one instruction instead of a dozen; slopes are narrow but for absurd speeds.
        let risen = match u64::try_from(self.slope) {
            Ok(slope) => u128::from(slope) * u128::from(window),
            Err(_) => self.slope.saturating_mul(u128::from(window)),
        };
        (u128::from(self.frame) * ONE).saturating_add(risen).saturating_add(self.shift)
    }
}

/// The tree, and memory to evaluate it.
#[derive(Debug, Default)]
pub(crate) struct Curve {
    pub(crate) parts: Vec<Part>,
    /// What arrives at once and never grows before the next jump.
    pub(crate) settled: u64,
    stack: Vec<Reading>,
}

/// Amount and slope to the right, in fixed point.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    pub(crate) amount: u128,
    pub(crate) slope: u128,
}

impl Reading {
    fn plus(self, other: Self) -> Self {
        Self { amount: self.amount.saturating_add(other.amount), slope: self.slope.saturating_add(other.slope) }
    }

    fn at_most(self, cap: u64) -> Self {
        let most = u128::from(cap) * ONE;
        if self.amount < most { self } else { Self { amount: most, slope: 0 } }
    }

    /// What a line lets through of this.
    fn through(self, line: &Line, window: u64) -> Self {
        let most = line.at(window);
        match most.cmp(&self.amount) {
            Ordering::Less => Self { amount: most, slope: line.slope },
            Ordering::Equal => Self { amount: most, slope: self.slope.min(line.slope) },
            Ordering::Greater => self,
        }
    }
}

impl Curve {
    pub(crate) fn clear(&mut self) {
        self.parts.clear();
        self.settled = 0;
    }

    /// All packets, however long the window.
    pub(crate) fn most(&self) -> u64 {
        self.parts.iter().fold(self.settled, |sum, part| sum.saturating_add(part.leaf))
    }

    /// What can arrive in a closed window of this length.
    pub(crate) fn read(&mut self, window: u64) -> Reading {
        let mut total = Reading { amount: u128::from(self.settled) * ONE, slope: 0 };
        for part in &self.parts {
            let mut here = Reading { amount: u128::from(part.leaf) * ONE, slope: 0 };
            for _ in 0..part.children {
                here = self.stack.pop().map_or(here, |child| here.plus(child));
            }
            let here = part.line.map_or(here, |line| here.through(&line, window));
            let here = part.cap.map_or(here, |cap| here.at_most(cap));
            if part.is_inside { self.stack.push(here) } else { total = total.plus(here) }
        }
        total
    }

    /// The largest `amount - window` for windows from `from` to just before `to`, rounded up to a
    /// picosecond, and where it lies. Exact where the curve bends at whole picoseconds, else at most
    /// the slope too high. Looks where the tangents at both sides of the summit meet, again and again:
    /// O(parts * bends), few in practice.
    pub(crate) fn most_ahead(&mut self, from: u64, to: u64) -> (i128, u64) {
        let first = self.read(from);
        if first.slope <= ONE || to <= from {
            return (up(first.amount) - i128::from(from), from);
        }
        let at_end = self.read(to);
        if at_end.slope > ONE {
            return (up(at_end.amount) - i128::from(to), to);
        }
        let (mut low, mut high) = ((from, first), (to, at_end));
        loop {
            let meeting = Tangents::new(low, high);
            if high.0 - low.0 <= 1 {
                return (meeting.ahead, high.0);
            }
            let at = meeting.at.clamp(low.0 + 1, high.0 - 1);
            let reading = self.read(at);
            if up(reading.amount) - i128::from(at) >= meeting.ahead {
                return (meeting.ahead, at);
            }
            if reading.slope > ONE { low = (at, reading) } else { high = (at, reading) }
        }
    }

    /// The least window from `from` to `to` in which `amount` can arrive; `None` if it cannot.
    pub(crate) fn least_window(&mut self, amount: u128, from: u64, to: u64) -> Option<u64> {
        if self.read(to).amount < amount {
            return None;
        }
        let (mut low, mut high) = (from, to);
        while low < high {
            let middle = low + (high - low) / 2;
            if self.read(middle).amount >= amount { high = middle } else { low = middle + 1 }
        }
        Some(high)
    }
}

/// Where the tangents of two points on either side of the summit meet: nothing in between is higher.
struct Tangents {
    /// The whole picosecond before.
    at: u64,
    /// Amount less window there, rounded up.
    ahead: i128,
}

impl Tangents {
    fn new(low: (u64, Reading), high: (u64, Reading)) -> Self {
        let width = u128::from(high.0 - low.0);
        let rise = high.1.amount.saturating_sub(low.1.amount.saturating_add(high.1.slope.saturating_mul(width)));
        let bend = (low.1.slope - high.1.slope).max(1);
        let gain = (low.1.slope - ONE).saturating_mul(rise).div_ceil(bend);
        let at = low.0.saturating_add(u64::try_from(rise / bend).unwrap_or(u64::MAX));
        Self { at, ahead: up(low.1.amount.saturating_add(gain)) - i128::from(low.0) }
    }
}

/// Fixed point to whole picoseconds, rounded up.
pub(crate) fn up(amount: u128) -> i128 {
    i128::try_from(amount.div_ceil(ONE)).unwrap_or(i128::MAX)
}
