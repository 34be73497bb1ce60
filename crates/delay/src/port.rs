//! The worst delay of one class at one queue.
//!
//! **Method**: a packet that comes `t` after the spell of work began waits for what can have come in
//! those `t`, for what higher classes bring until it starts, and for one lower frame that was already
//! on the link; no more once its own bits are going out. The longest over all `t` is the bound. `t = 0`, the jumps of
//! the staircases and the bends of the lines between them are the only places to look; the search
//! ends at the first jump that the spell cannot reach.
//! **Source**: network calculus for first-in first-out and static priority, Le Boudec and Thiran
//! (from memory); the treatment of the last frame is derived and checked against simulation.

use crate::curve::{Curve, ONE, up};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Jumps of one queue's staircases looked at before giving up. Own choice: far above what a queue
/// below full load needs.
const MOST_JUMPS: usize = 1 << 18;
/// A delay or a busy spell that no one would call a bound any more: one second. Own choice.
pub(crate) const LONGEST: u64 = 1_000_000_000_000;

/// A staircase: `count` packets of `send` at once, then one more each every `period`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stairs {
    pub(crate) count: u64,
    pub(crate) send: u64,
    pub(crate) period: u64,
    pub(crate) jitter: u64,
    /// The part of the curve that its packets belong to.
    pub(crate) part: u32,
}

impl Stairs {
    /// Work of one packet from each.
    pub(crate) fn step(&self) -> u64 {
        self.send.saturating_mul(self.count)
    }

    /// Packets of one of them in a closed window.
    pub(crate) fn packets(&self, window: u64) -> u64 {
        1 + (u128::from(window) + u128::from(self.jitter)).checked_div(u128::from(self.period)).map_or(0, cap)
    }

    fn work(&self, window: u64) -> u64 {
        self.step().saturating_mul(self.packets(window))
    }

    /// The next window, longer than `window`, at which one more packet fits.
    fn jump_after(&self, window: u64) -> u64 {
        cap(u128::from(self.packets(window)) * u128::from(self.period) - u128::from(self.jitter))
    }
}

pub(crate) fn cap(value: u128) -> u64 {
    u64::try_from(value).unwrap_or(u64::MAX)
}

/// What meets at a queue, for one class.
pub(crate) struct Meeting<'a> {
    /// Staircases of the class, each naming its part of the curve.
    pub(crate) own: &'a [Stairs],
    /// Staircases of all higher classes.
    pub(crate) higher: &'a [Stairs],
    /// The longest frame of lower classes.
    pub(crate) blocking: u64,
}

impl Meeting<'_> {
    /// From last bit in to last bit out; `None` if the search does not end.
    pub(crate) fn worst_delay(&self, curve: &mut Curve) -> Option<u64> {
        let shortest = self.own.iter().map(|stairs| stairs.send).min()?;
        let mut jumps = BinaryHeap::new();
        let mut first = u64::MAX;
        for stairs in self.own {
            let leaf = &mut curve.parts[stairs.part as usize].leaf;
            *leaf = leaf.saturating_add(stairs.work(0));
            first = first.min(stairs.jump_after(0));
        }
        let (mut from, mut to, mut worst) = (0, first, 0i128);
        for _ in 0..MOST_JUMPS {
            worst = worst.max(self.worst_between(curve, from, to)? + i128::from(shortest));
            let arrived = up(curve.read(to).amount) + i128::from(self.blocking);
            if self.settles(arrived)? <= to {
                return u64::try_from(worst).ok();
            }
            if jumps.is_empty() {
                jumps.extend(self.own.iter().enumerate().map(|(at, stairs)| Reverse((stairs.jump_after(0), at))));
            }
            from = to;
            if from > LONGEST {
                return None;
            }
            while let Some(&Reverse((at, which))) = jumps.peek() {
                if at > from {
                    break;
                }
                jumps.pop();
                let stairs = &self.own[which];
                let leaf = &mut curve.parts[stairs.part as usize].leaf;
                *leaf = leaf.saturating_add(stairs.step());
                jumps.push(Reverse((at.saturating_add(stairs.period), which)));
            }
            to = jumps.peek().map_or(u64::MAX, |Reverse((at, _))| *at);
        }
        None
    }

    /// Longest wait (without the last frame) of a packet that comes `from..to` after the spell began.
    fn worst_between(&self, curve: &mut Curve, from: u64, to: u64) -> Option<i128> {
        let shortest = self.own.iter().map(|stairs| stairs.send).min()?;
        let before = i128::from(self.blocking) - i128::from(shortest);
        let mut worst = i128::MIN;
        let mut at = from;
        // Any packet that comes a little sooner than `at`, see below, waits as long.
        let mut sooner = 0;
        loop {
            let (ahead, _) = curve.most_ahead(at, to);
            if self.higher.is_empty() {
                return Some(ahead + before);
            }
            let start = self.settles(up(curve.read(at).amount) + before)?;
            let interference = self.higher_work(start);
            worst = worst.max(ahead + before + i128::from(interference));
            worst = worst.max(i128::from(start) - i128::from(at) + sooner);
            // The next longer wait begins where one more packet of a higher class gets in between.
            let next = self.higher.iter().map(|stairs| stairs.jump_after(start)).min()?;
            let needed = i128::from(next) - i128::from(interference) - before;
            let needed = u128::try_from(needed).unwrap_or(0).saturating_mul(ONE);
            let Some(reached) = curve.least_window(needed, at, to) else { return Some(worst) };
            sooner = i128::from(reached > at && curve.read(reached).amount > needed);
            at = reached;
        }
    }

    fn higher_work(&self, window: u64) -> u64 {
        self.higher.iter().fold(0u64, |sum, stairs| sum.saturating_add(stairs.work(window)))
    }

    /// The first time at which `work` and all that higher classes bring until then is done.
    fn settles(&self, work: i128) -> Option<u64> {
        let work = u64::try_from(work.max(0)).ok()?;
        let mut time = work;
        for _ in 0..MOST_JUMPS {
            let next = work.saturating_add(self.higher_work(time));
            if next <= time || self.higher.is_empty() {
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
