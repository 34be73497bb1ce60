//! A second bound for a stretch of path: what was waited for at one queue is not waited for again.
//!
//! Queue by queue, a bound is kept on the work that can leave in the last `x` of time before the packet does: a
//! few straight lines, of which the least counts. Fresh streams add their burst and rate; streams that leave are
//! kept as if they went on, but never more than what the link brings by their own bursts and rates. Holds for any mix
//! of speeds, classes, and streams that join and leave.
//! **Source**: derived; definitions and proof in `docs/notes/sink-tree-bound.md`. The idea of paying bursts once in first
//! in, first out trees is that of Lenzini, Martorini, Mingozzi and Stea, Performance Evaluation 2006 (abstract read).

use crate::curve::ONE;
use crate::shape::Shape;
use crate::stairs::Stair;

/// Lines kept. Own choice: dropping one is safe, and few matter.
const MOST_LINES: usize = 6;

/// Work that some streams bring at once, in picoseconds of the link, and their share of it, in fixed point.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Sums {
    burst: u128,
    share: u128,
}

impl Sums {
    pub(crate) fn plus(self, other: Self) -> Self {
        Self { burst: self.burst.saturating_add(other.burst), share: self.share.saturating_add(other.share) }
    }

    fn less(self, other: Self) -> Self {
        Self { burst: self.burst.saturating_sub(other.burst), share: self.share.saturating_sub(other.share) }
    }

    /// The staircases drawn as straight lines that touch their corners.
    pub(crate) fn of(stairs: &[Stair], shapes: &[Shape]) -> Self {
        stairs.iter().fold(Self::default(), |sums, stair| {
            let share = shapes[stair.shape as usize].share;
            let moved = share.saturating_mul(u128::from(stair.jitter)).div_ceil(ONE);
            sums.plus(Self { burst: u128::from(stair.step()).saturating_add(moved), share })
        })
    }

    /// As seen by a class that only gets the part `left` of the link.
    fn over(self, left: u128) -> Self {
        Self { burst: over(self.burst, left), share: over(self.share, left) }
    }
}

fn over(value: u128, left: u128) -> u128 {
    value.saturating_mul(ONE).div_ceil(left)
}

/// One class at one queue, as a packet that comes in by one of its links meets it. Work is in time that the class needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Meets {
    /// Everybody of the class, and those that do not come by the link.
    all: Sums,
    fresh: Sums,
    /// One lower frame, and what higher classes bring at once.
    blocking: u128,
    /// Time of a frame that comes by the link, per time on the link, at most; in fixed point.
    scale: u128,
    /// Its longest frame here, and there.
    frame: u128,
    feeder_frame: u128,
    /// Longest time from the far end of the link to the queue, and how much less it can be.
    forward: u64,
    spread: u64,
}

/// What holds for a class at a queue, whatever link.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Standing {
    pub(crate) all: Sums,
    pub(crate) higher: Sums,
    pub(crate) blocking: u64,
}

impl Meets {
    /// `group`: staircases of the class that come in by one link. `None` if higher classes take all.
    pub(crate) fn new(group: &[Stair], standing: Standing, shapes: &[Shape]) -> Option<Self> {
        let left = ONE.checked_sub(standing.higher.share).filter(|left| *left > 0)?;
        let own = Sums::of(group, shapes);
        let most = |of: fn(&Stair) -> u64| group.iter().map(of).max().unwrap_or(0);
        let shape_of = |stair: &Stair| &shapes[stair.shape as usize];
        let most_inside = |of: fn(&Shape) -> u64| group.iter().map(|stair| of(shape_of(stair))).max().unwrap_or(0);
        let scale = group.iter().map(|stair| shape_of(stair).slope).max()?;
        Some(Self {
            all: standing.all.over(left),
            fresh: standing.all.less(own).over(left),
            blocking: over(u128::from(standing.blocking).saturating_add(standing.higher.burst), left),
            scale: over(scale, left),
            frame: over(u128::from(most(|stair| stair.send)), left),
            feeder_frame: u128::from(most_inside(|shape| shape.feeder_send)),
            forward: most_inside(|shape| shape.forward_most),
            spread: most_inside(Shape::spread),
        })
    }
}

/// At most `base + slope * x` leaves in the last `x`; slope in fixed point.
#[derive(Debug, Clone, Copy, Default)]
struct Line {
    base: u128,
    slope: u128,
}

/// The link itself.
const FULL: Line = Line { base: 0, slope: ONE };

/// The bound so far along a stretch.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Progress {
    lines: [Line; MOST_LINES],
    count: usize,
    /// Waiting for streams.
    waiting: u128,
    /// Everything else, where partly sent frames count on the link before them, and where some count on the one behind.
    before: u128,
    behind: u128,
}

impl Progress {
    /// The stretch begins where the packet comes to this queue. `None` if the class wants more than the link.
    pub(crate) fn begin(meets: &Meets) -> Option<Self> {
        let start = Self { lines: [FULL; MOST_LINES], count: 1, waiting: 0, before: 0, behind: 0 };
        let all = Line { base: meets.all.burst, slope: meets.all.share };
        start.pass(&[all], meets)
    }

    /// The stretch goes on over a link this long to the next queue.
    pub(crate) fn extend(&self, propagation: u64, meets: &Meets) -> Option<Self> {
        let mut lines = [FULL; MOST_LINES + 1];
        // Packets that another latency in the box brings ahead: what the link sends meanwhile, and one frame.
        let overtaking = scaled(meets.scale, u128::from(meets.spread)) + if meets.spread > 0 { meets.frame } else { 0 };
        for (line, known) in lines.iter_mut().zip(&self.lines[..self.count]) {
            let base = scaled(meets.scale, known.base).checked_add(overtaking)?.checked_add(meets.fresh.burst)?;
            *line = Line { base, slope: scaled(meets.scale, known.slope).checked_add(meets.fresh.share)? };
        }
        lines[self.count] = Line { base: meets.all.burst, slope: meets.all.share };
        let way = u128::from(propagation) + u128::from(meets.forward);
        let (before, behind) = (self.before + meets.feeder_frame + way, self.behind.min(self.before) + meets.frame + way);
        Self { before, behind, ..*self }.pass(&lines[..=self.count], meets)
    }

    /// Through a queue where so much can come in the last `x` before the packet.
    fn pass(mut self, come: &[Line], meets: &Meets) -> Option<Self> {
        let gained = most_ahead(come)?;
        self.waiting = self.waiting.checked_add(gained)?;
        self.before = self.before.checked_add(meets.blocking)?;
        self.behind = self.behind.checked_add(meets.blocking)?;
        self.count = 1;
        for line in come.iter().filter(|line| line.slope <= ONE) {
            let line = Line { base: line.base - (line.slope * gained / ONE).min(line.base), slope: line.slope };
            self.add(line);
        }
        Some(self)
    }

    /// Keeps a line if no other is below it everywhere, and there is room.
    fn add(&mut self, new: Line) {
        let is_below = |a: &Line, b: &Line| a.base <= b.base && a.slope <= b.slope;
        if self.lines[..self.count].iter().any(|line| is_below(line, &new)) {
            return;
        }
        let place = (1..self.count).find(|at| is_below(&new, &self.lines[*at])).unwrap_or(self.count);
        if place < MOST_LINES {
            self.lines[place] = new;
            self.count = self.count.max(place + 1);
        }
    }

    /// From the first queue to the last bit on the last link, its length apart.
    pub(crate) fn worst(&self) -> u64 {
        u64::try_from(self.waiting.saturating_add(self.before.min(self.behind))).unwrap_or(u64::MAX)
    }
}

/// The largest of (least of the lines at `x`) less `x`, or a little more; `None` if it grows for ever.
fn most_ahead(lines: &[Line]) -> Option<u128> {
    let flat = || lines.iter().filter(|line| line.slope <= ONE);
    let mut most = flat().map(|line| line.base).min()?;
    for steep in lines.iter().filter(|line| line.slope > ONE) {
        for line in flat().filter(|line| line.base > steep.base) {
            // Where the two meet, the flat one has lost so much of its lead.
            let lost = (line.base - steep.base).checked_mul(ONE - line.slope)? / (steep.slope - line.slope);
            most = most.min(line.base - lost);
        }
    }
    Some(most)
}

fn scaled(scale: u128, value: u128) -> u128 {
    scale.saturating_mul(value).div_ceil(ONE)
}
