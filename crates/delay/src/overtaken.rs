//! A third bound, where higher classes come rarely: each of their frames overtakes a packet once on its way, not at every queue.
//!
//! A frame that overtook the packet at one queue goes ahead of it over the link, and so comes before it to the next. There it is in what
//! the link brings before the packet, which the link's own rate bounds, and it cannot overtake again. So queues are summed up without
//! higher classes that join the way, and each frame of those is added once, for the slowest link that it shares with the packet.
//! **Source**: derived; definitions and proof in `docs/notes/overtaken-once.md`.

use crate::curve::ONE;
use crate::layout::Layout;
use crate::network::{NONE, PortSpec};
use crate::stairs::{Stair, Stairs, cap, is_own};
use crate::sweep::{Classes, Sweep, UNKNOWN};

/// The way of a packet so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Once {
    /// All queues and links, without frames of higher classes that join.
    apart: u64,
    /// All those frames, once.
    above: u64,
    /// The first window in which more of a higher class can come than at once.
    again: u64,
}

impl Once {
    /// Before the first queue.
    const START: Self = Self { apart: 0, above: 0, again: UNKNOWN };
    /// The bound does not hold.
    pub(crate) const NO: Self = Self { apart: UNKNOWN, above: 0, again: 0 };

    fn worst(&self) -> u64 {
        self.apart.saturating_add(self.above)
    }
}

/// Frames of higher classes that come by one link.
#[derive(Debug, Clone, Copy)]
struct Higher {
    feeder: u32,
    /// Those that have come the packet's way, if it came by this link, and those made or turned in the box.
    known: u64,
    new: u64,
    frame: u64,
    /// Longest time here per time on the link.
    slope: u128,
}

impl Higher {
    const fn none(feeder: u32) -> Self {
        Self { feeder, known: 0, new: 0, frame: 0, slope: 0 }
    }

    fn add(&mut self, layout: &Layout, stair: &Stair) {
        let shape = &layout.shapes[stair.shape as usize];
        let sum = if shape.is_new || is_own(self.feeder) { &mut self.new } else { &mut self.known };
        *sum = sum.saturating_add(stair.work(0));
        self.frame = self.frame.max(stair.send);
        self.slope = self.slope.max(shape.slope);
    }
}

/// What one class meets at one queue.
struct Queue<'a> {
    classes: &'a Classes,
    /// Its region.
    at: usize,
    spec: &'a PortSpec,
    higher: &'a [Higher],
    /// Packets of the class, one of each stream.
    own: u64,
    again: u64,
}

/// Memory that one queue after the other uses.
#[derive(Default)]
pub(crate) struct Overtaken {
    higher: Vec<Higher>,
    /// The highest class of all.
    highest: Option<u8>,
}

impl Overtaken {
    /// Nothing overtakes packets of the highest class.
    fn is_highest(&mut self, layout: &Layout, class: u8) -> bool {
        let find = || layout.shapes.iter().map(|shape| shape.class).max().unwrap_or(0);
        *self.highest.get_or_insert_with(find) == class
    }

    /// Lowers the bounds of packets at a queue just visited, all queues before it done.
    pub(crate) fn pay_once(&mut self, sweep: &mut Sweep, (port, spec): (usize, &PortSpec), stairs: &Stairs) {
        if sweep.layout.once.is_empty() {
            return;
        }
        self.higher.clear();
        let mut again = UNKNOWN;
        for (class, at) in stairs.classes.iter().zip(sweep.layout.regions_at(port)) {
            let all = &stairs.all[class.start..class.end];
            let own = all.iter().fold(0u64, |sum, stair| sum.saturating_add(stair.step()));
            if self.is_highest(&sweep.layout, class.class) {
                self.add(&sweep.layout, all);
                again = again.min(class.first_jump);
                continue;
            }
            let ids = sweep.layout.regions[at].range();
            let Sweep { classes, layout, .. } = &mut *sweep;
            let queue = Queue { classes, at, spec, higher: &self.higher, own, again };
            queue.pass(layout, (all, ids));
            self.add(&sweep.layout, all);
            again = again.min(class.first_jump);
        }
    }

    /// Counts a class among the higher ones from now on.
    fn add(&mut self, layout: &Layout, all: &[Stair]) {
        for stair in all {
            let known = self.higher.iter().position(|higher| higher.feeder == stair.feeder);
            let at = known.unwrap_or_else(|| {
                self.higher.push(Higher::none(stair.feeder));
                self.higher.len() - 1
            });
            self.higher[at].add(layout, stair);
        }
    }
}

impl Queue<'_> {
    fn pass(&self, layout: &mut Layout, (all, ids): (&[Stair], std::ops::Range<usize>)) {
        let mut ids = ids;
        for group in all.chunk_by(|a, b| a.feeder == b.feeder) {
            let stop = self.stop(layout, group);
            for (stair, id) in group.iter().zip(ids.by_ref()) {
                let row = layout.ids[id] as usize;
                let before = if stair.parent == NONE && is_own(stair.feeder) {
                    Once::START
                } else {
                    *layout.once.get(stair.parent as usize).unwrap_or(&Once::NO)
                };
                let once = self.after(&before, layout.shapes[stair.shape as usize].forward_most, &stop);
                let worst = layout.rows[row].worst;
                // Packets do not bunch, so no queue is busy for longer than a period before the packet comes.
                let is_held = once.again > worst.saturating_add(stair.period);
                layout.once[row] = if is_held { once } else { Once::NO };
                if is_held && once.worst() < worst {
                    layout.rows[row].worst = once.worst();
                }
            }
        }
    }

    /// The queue for those that come by one link: longest delay without what joins, what joins, and the slope of what has come along.
    fn stop(&self, layout: &Layout, group: &[Stair]) -> Stop {
        let feeder = group[0].feeder;
        let along = self.higher.iter().find(|higher| higher.feeder == feeder).copied().unwrap_or(Higher::none(feeder));
        let all = self.higher.iter().fold(0u64, |sum, higher| sum.saturating_add(higher.known).saturating_add(higher.new));
        let joins = all.saturating_sub(along.known);
        let (plain, blocking) = (self.classes.plain[self.at], self.classes.all[self.at].blocking);
        let mut delay = plain.saturating_sub(self.classes.gain(self.at, feeder).plain).saturating_add(along.known);
        let (mut slope, mut frame, mut work) = (along.slope, along.frame, 0u64);
        for stair in group {
            slope = slope.max(layout.shapes[stair.shape as usize].slope);
            (frame, work) = (frame.max(stair.send), work.saturating_add(stair.step()));
        }
        if !is_own(feeder) && slope <= ONE {
            // Over a link that is no faster than this one nothing piles up: no more than one frame of it waits for what else comes.
            delay = delay.min(blocking.saturating_add(self.own.saturating_sub(work)).saturating_add(frame));
        }
        Stop { delay, joins, slope: along.slope.max(ONE) }
    }

    fn after(&self, before: &Once, inside: u64, stop: &Stop) -> Once {
        if self.classes.plain[self.at] == UNKNOWN || before.apart == UNKNOWN {
            return Once::NO;
        }
        let parts = [inside, stop.delay, self.spec.propagation.picoseconds()];
        Once {
            apart: parts.into_iter().fold(before.apart, u64::saturating_add),
            above: cap(stop.slope.saturating_mul(u128::from(before.above)).div_ceil(ONE)).saturating_add(stop.joins),
            again: before.again.min(self.again),
        }
    }
}

struct Stop {
    delay: u64,
    joins: u64,
    slope: u128,
}
