//! What comes to one queue, side by side while the queue is worked out.

use crate::layout::{Layout, Row};
use crate::network::NONE;
use crate::shape::Shape;
use crate::sweep::UNKNOWN;

/// A staircase: `count` packets of `send` at once, then one more of each every `period`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stair {
    pub(crate) send: u64,
    /// Work of one packet from each.
    step: u64,
    pub(crate) period: u64,
    /// Jitter on arrival, or [`UNKNOWN`].
    pub(crate) jitter: u64,
    pub(crate) shape: u32,
    /// Row of the hop before, or [`NONE`].
    pub(crate) parent: u32,
    /// The queue whose link it comes in by, or [`NONE`].
    pub(crate) feeder: u32,
    /// Row of a hop that follows, and its queue, or [`NONE`].
    pub(crate) next: (u32, u32),
}

impl Stair {
    /// A row, wherever it goes on to.
    pub(crate) fn of(layout: &Layout, row: u32) -> Self {
        Self::new(layout, (&layout.rows[row as usize], NONE))
    }

    /// A row with what is known of the packets behind each queue so far.
    fn new(layout: &Layout, (row, to): (&Row, u32)) -> Self {
        let shape = &layout.shapes[row.shape as usize];
        let jitter = layout.rows.get(row.parent as usize).map_or(shape.jitter, |before| arriving(shape, before));
        let Shape { send, step, period, .. } = *shape;
        let Row { shape, parent, feeder, next, .. } = *row;
        Self { send, step, period, jitter, shape, parent, feeder, next: (next, to) }
    }

    /// Work of one packet from each.
    pub(crate) fn step(&self) -> u64 {
        self.step
    }

    /// Packets of one of them in a closed window.
    fn packets(&self, window: u64) -> u64 {
        match window.checked_add(self.jitter) {
            Some(reach) if reach < self.period => 1,
            Some(reach) => (reach / self.period).saturating_add(1),
            None => cap((u128::from(window) + u128::from(self.jitter)) / u128::from(self.period)).saturating_add(1),
        }
    }

    /// Work that a closed window can bring.
    pub(crate) fn work(&self, window: u64) -> u64 {
        self.step().saturating_mul(self.packets(window))
    }

    /// The next window, longer than `window`, at which one more packet fits.
    pub(crate) fn jump_after(&self, window: u64) -> u64 {
        cap(u128::from(self.packets(window)) * u128::from(self.period) - u128::from(self.jitter))
    }
}

/// Jitter of packets that leave the queue before so.
fn arriving(shape: &Shape, before: &Row) -> u64 {
    if before.worst == UNKNOWN {
        return UNKNOWN;
    }
    shape.jitter.saturating_add(before.worst.saturating_sub(before.least)).saturating_add(shape.spread())
}

pub(crate) fn cap(value: u128) -> u64 {
    u64::try_from(value).unwrap_or(u64::MAX)
}

/// Whether packets of a box's own come from nowhere.
pub(crate) fn is_own(feeder: u32) -> bool {
    feeder == NONE
}

/// The staircases of one queue, and where each class of it ends.
#[derive(Default)]
pub(crate) struct Stairs {
    pub(crate) all: Vec<Stair>,
    pub(crate) classes: Vec<ClassSums>,
}

/// One class at one queue, added up.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ClassSums {
    pub(crate) class: u8,
    /// Its part of [`Stairs::all`].
    pub(crate) start: usize,
    pub(crate) end: usize,
    /// Share of the link asked for.
    pub(crate) load: u128,
    /// Whether any of it has no bound so far.
    pub(crate) is_lost: bool,
    pub(crate) shortest: u64,
    pub(crate) longest: u64,
    /// The first window in which one more packet of any fits.
    pub(crate) first_jump: u64,
    /// Whether two packets of one of them can come at once.
    pub(crate) is_bunched: bool,
}

impl Stairs {
    /// Gathers what comes to a queue. The rows lie far apart: whatever is needed of each is fetched here, in one short loop, so that
    /// the memory can bring many at a time.
    pub(crate) fn gather(&mut self, layout: &Layout, port: usize) {
        self.all.clear();
        self.classes.clear();
        for region in &layout.regions[layout.regions_at(port)] {
            let start = self.all.len();
            self.all.extend(layout.ids[region.range()].iter().map(|at| {
                let row = &layout.rows[*at as usize];
                Stair::new(layout, (row, layout.rows.get(row.next as usize).map_or(NONE, |next| next.port)))
            }));
            self.classes.push(ClassSums::new((&self.all, &layout.shapes), start, region.class));
        }
    }
}

impl ClassSums {
    fn new((all, shapes): (&[Stair], &[Shape]), start: usize, class: u8) -> Self {
        let (shortest, first_jump) = (u64::MAX, u64::MAX);
        let mut sums = Self { class, start, end: all.len(), load: 0, is_lost: false, shortest, longest: 0, first_jump, is_bunched: false };
        for stair in &all[start..] {
            sums.load = sums.load.saturating_add(shapes[stair.shape as usize].share);
            sums.is_lost |= stair.jitter == UNKNOWN;
            sums.shortest = sums.shortest.min(stair.send);
            sums.longest = sums.longest.max(stair.send);
            sums.first_jump = sums.first_jump.min(stair.first_jump());
            sums.is_bunched |= stair.jitter >= stair.period;
        }
        sums
    }
}

impl Stair {
    fn first_jump(&self) -> u64 {
        if self.jitter < self.period { self.period - self.jitter } else { self.jump_after(0) }
    }
}
