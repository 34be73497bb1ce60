//! The worst delay of one class at one queue.
//!
//! **Method**: a packet that comes `t` after the spell of work began waits for what can have come in
//! those `t`, for what higher classes bring until it starts, and for one lower frame that was already
//! on the link; no more once its own bits are going out. The longest over all `t` is the bound. `t = 0`, the jumps of
//! the staircases and the bends of the lines between them are the only places to look; the search
//! ends at the first jump that the spell cannot reach.
//! **Source**: network calculus for first-in first-out and static priority, Le Boudec and Thiran
//! (from memory); the treatment of the last frame is derived and checked against simulation.

use crate::curve::{Curve, Line, ONE, up};
use crate::nesting::{Gain, Nesting, Workspace};
use crate::outflow::Outflow;
use crate::stairs::{ClassSums, Stair, is_own};
use crate::sweep::{Sweep, UNKNOWN};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Jumps of one queue's staircases looked at before giving up. Own choice: far above what a queue
/// below full load needs.
const MOST_JUMPS: usize = 1 << 18;
/// A delay or a busy spell that no one would call a bound any more: one second. Own choice.
pub(crate) const LONGEST: u64 = 1_000_000_000_000;

/// What meets at a queue, for one class.
#[derive(Clone, Copy)]
pub(crate) struct Meeting<'a> {
    /// What is known of the queues before.
    pub(crate) sweep: &'a Sweep,
    /// All that comes to the queue, higher classes first.
    pub(crate) stairs: &'a [Stair],
    pub(crate) class: ClassSums,
    /// The longest frame of lower classes.
    pub(crate) blocking: u64,
    /// Whether packets are not listed by the ways they came.
    pub(crate) is_unordered: bool,
    /// Whether queues before are not done yet.
    pub(crate) is_circular: bool,
}

/// The longest delay of a class at a queue.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Longest {
    /// From last bit in to last bit out.
    pub(crate) worst: u64,
    /// Whether several packets of one stream can be there in one spell of work.
    pub(crate) is_bunched: bool,
    /// The longest delay if no higher class came, or [`UNKNOWN`] where packets bunch.
    pub(crate) plain: u64,
}

impl Meeting<'_> {
    /// From last bit in to last bit out; `None` if the search does not end. `space`: memory for nests.
    pub(crate) fn worst_delay(&self, curve: &mut Curve, space: &mut Workspace) -> Option<Longest> {
        Nesting { meeting: *self, curve, space, part_of: None }.fill();
        space.gains.clear();
        let ClassSums { first_jump, is_bunched, .. } = self.class;
        let worst = self.worst_before(curve)?;
        if self.is_over_by(curve, first_jump)? {
            let plain = if is_bunched { UNKNOWN } else { self.plain(curve)? };
            let longest = Longest { worst, is_bunched, plain };
            self.find_gains((curve, space), longest);
            return Some(longest);
        }
        let worst = i128::from(worst);
        Some(Longest { worst: self.worst_after((curve, space), first_jump, worst)?, is_bunched: true, plain: UNKNOWN })
    }

    /// The longest delay before the first jump.
    fn worst_before(&self, curve: &mut Curve) -> Option<u64> {
        let shortest = i128::from(self.class.shortest);
        u64::try_from(self.worst_between(curve, 0, self.class.first_jump)?.max(-shortest) + shortest).ok()
    }

    /// For packets of every link whose line was widened: how much less late they are, as theirs is not.
    fn find_gains(&self, (curve, space): (&mut Curve, &mut Workspace), longest: Longest) {
        for (feeder, part) in &space.widened {
            let wide = curve.parts[*part as usize].line;
            curve.parts[*part as usize].line = wide.map(|line| Line { shift: 0, ..line });
            if let (Some(worst), Some(plain)) = (self.worst_before(curve), self.plain(curve)) {
                let gain = Gain {
                    feeder: *feeder,
                    worst: longest.worst.saturating_sub(worst),
                    plain: if longest.is_bunched { 0 } else { longest.plain.saturating_sub(plain) },
                };
                space.gains.extend(Some(gain).filter(|gain| gain.worst > 0 || gain.plain > 0));
            }
            curve.parts[*part as usize].line = wide;
        }
    }

    /// The longest delay before the first jump if no higher class came.
    fn plain(&self, curve: &mut Curve) -> Option<u64> {
        let shortest = i128::from(self.class.shortest);
        let (ahead, _) = curve.most_ahead(0, self.class.first_jump);
        let worst = (ahead + i128::from(self.blocking) - shortest).max(-shortest) + shortest;
        u64::try_from(worst).ok()
    }

    /// Staircases of the class.
    pub(crate) fn own(&self) -> &[Stair] {
        &self.stairs[self.class.start..self.class.end]
    }

    /// Staircases of all higher classes.
    fn higher(&self) -> &[Stair] {
        &self.stairs[..self.class.start]
    }

    /// Whether the spell of work ends before a packet that comes as late as `window`.
    fn is_over_by(&self, curve: &mut Curve, window: u64) -> Option<bool> {
        let blocking = i128::from(self.blocking);
        if self.settles(i128::from(curve.most()) + blocking).is_some_and(|end| end <= window) {
            return Some(true);
        }
        let arrived = up(curve.read(window).amount) + blocking;
        Some(self.settles(arrived)? <= window)
    }

    /// Goes on from the first jump, from jump to jump.
    fn worst_after(&self, (curve, space): (&mut Curve, &mut Workspace), first: u64, mut worst: i128) -> Option<u64> {
        let own = self.own();
        let mut part_of = vec![0; own.len()];
        Nesting { meeting: *self, curve, space, part_of: Some(&mut part_of) }.fill();
        let mut outflows = self.outflows(&part_of, curve);
        let shortest = i128::from(self.class.shortest);
        let mut jumps: BinaryHeap<_> = own.iter().enumerate().map(|(at, stair)| Reverse((stair.jump_after(0), at))).collect();
        let mut from = first;
        for _ in 1..MOST_JUMPS {
            if from > LONGEST {
                return None;
            }
            while let Some(&Reverse((at, which))) = jumps.peek().filter(|jump| jump.0.0 <= from) {
                jumps.pop();
                let leaf = &mut curve.parts[part_of[which] as usize].leaf;
                *leaf = leaf.saturating_add(own[which].step());
                jumps.push(Reverse((at.saturating_add(own[which].period), which)));
            }
            let to = jumps.peek().map_or(u64::MAX, |Reverse((at, _))| *at);
            worst = worst.max(self.worst_capped(curve, &mut outflows, (from, to, worst - shortest))? + shortest);
            if self.is_over_by(curve, to)? {
                return u64::try_from(worst).ok();
            }
            from = to;
        }
        None
    }

    /// Like [`Self::worst_between`], with no more than can come out of the queues before: what can by the end of a stretch of
    /// time counts for all of it, so one that might be worse than `least` is halved.
    fn worst_capped(&self, curve: &mut Curve, outflows: &mut [(u32, Outflow)], (from, to, least): (u64, u64, i128)) -> Option<i128> {
        for (part, outflow) in outflows.iter_mut() {
            curve.parts[*part as usize].cap = Some(outflow.most(to));
        }
        let whole = self.worst_between(curve, from, to)?;
        if outflows.is_empty() || whole <= least || to - from <= self.class.shortest / 2 {
            return Some(whole);
        }
        let middle = from + (to - from) / 2;
        let first = self.worst_capped(curve, outflows, (from, middle, least))?;
        Some(first.max(self.worst_capped(curve, outflows, (middle, to, least.max(first)))?))
    }

    /// For each link with a known queue before: the outermost part of its packets, and what can come over it.
    fn outflows(&self, part_of: &[u32], curve: &Curve) -> Vec<(u32, Outflow)> {
        let mut from = 0;
        let mut outflows = Vec::new();
        for group in self.own().chunk_by(|a, b| a.feeder == b.feeder) {
            let range = from..from + group.len();
            from += group.len();
            let innermost = part_of[range.clone()].iter().max();
            let outermost = innermost.and_then(|part| (*part..).find(|part| !curve.parts[*part as usize].is_inside));
            let range = self.class.start + range.start..self.class.start + range.end;
            outflows.extend(outermost.filter(|_| !is_own(group[0].feeder)).and_then(|part| Some((part, Outflow::new(self, range)?))));
        }
        outflows
    }

    /// Longest wait (without the last frame) of a packet that comes `from..to` after the spell began.
    fn worst_between(&self, curve: &mut Curve, from: u64, to: u64) -> Option<i128> {
        let before = i128::from(self.blocking) - i128::from(self.class.shortest);
        let mut worst = i128::MIN;
        let mut at = from;
        // Any packet that comes a little sooner than `at`, see below, waits as long.
        let mut sooner = 0;
        loop {
            let (ahead, _) = curve.most_ahead(at, to);
            if self.higher().is_empty() {
                return Some(ahead + before);
            }
            let start = self.settles(up(curve.read(at).amount) + before)?;
            let interference = self.higher_work(start);
            worst = worst.max(ahead + before + i128::from(interference));
            worst = worst.max(i128::from(start) - i128::from(at) + sooner);
            // The next longer wait begins where one more packet of a higher class gets in between.
            let next = self.higher().iter().map(|stair| stair.jump_after(start)).min()?;
            let needed = i128::from(next) - i128::from(interference) - before;
            let needed = u128::try_from(needed).unwrap_or(0).saturating_mul(ONE);
            if needed > u128::from(curve.most()) * ONE {
                return Some(worst);
            }
            let Some(reached) = curve.least_window(needed, at, to) else { return Some(worst) };
            sooner = i128::from(reached > at && curve.read(reached).amount > needed);
            at = reached;
        }
    }

    fn higher_work(&self, window: u64) -> u64 {
        self.higher().iter().fold(0u64, |sum, stair| sum.saturating_add(stair.work(window)))
    }

    /// The first time at which `work` and all that higher classes bring until then is done.
    fn settles(&self, work: i128) -> Option<u64> {
        let work = u64::try_from(work.max(0)).ok()?;
        let mut time = work;
        for _ in 0..MOST_JUMPS {
            let next = work.saturating_add(self.higher_work(time));
            if next <= time || self.higher().is_empty() {
                return Some(time);
            }
            if next > LONGEST {
                return None;
            }
            time = next;
        }
        None
    }
}
