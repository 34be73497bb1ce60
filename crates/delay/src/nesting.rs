//! Builds the arrival curve of one class at one queue, with a line for every link that its packets
//! came through, as far upstream as a slower link keeps them apart.
//!
//! Nested lines matter where speeds differ: packets that crossed a slow edge link keep its spacing on
//! a fast trunk, widened by what the queues in between can add: their worst delay less their least.

use crate::curve::{Curve, Line, Part, ratio};
use crate::layout::{Entry, Layout};
use crate::network::NONE;
use crate::port::{Stairs, cap};

/// Worst delay of a class at a queue, for queues already done.
pub(crate) trait Done {
    /// `None` if there is no bound.
    fn worst(&self, port: u32, class: u8) -> Option<u64>;
}

/// Fills a curve and its staircases.
pub(crate) struct Nesting<'a, D: Done> {
    pub(crate) layout: &'a Layout,
    pub(crate) jitter: &'a [u64],
    pub(crate) done: &'a D,
    pub(crate) curve: &'a mut Curve,
    pub(crate) own: &'a mut Vec<Stairs>,
    pub(crate) work: &'a mut Vec<(u32, u32)>,
}

impl<D: Done> Nesting<'_, D> {
    /// `members`: entries of one class at one queue, those of a feeder together.
    pub(crate) fn fill(&mut self, members: &[u32]) {
        self.curve.clear();
        self.own.clear();
        let entries = &self.layout.entries;
        for group in members.chunk_by(|a, b| entries[*a as usize].feeder == entries[*b as usize].feeder) {
            let first = &entries[group[0] as usize];
            if first.feeder == NONE {
                self.leaf(group.iter().copied(), None);
            } else if group.len() > 1 && group.iter().any(|at| self.is_slower_before(*at)) {
                self.nest(group);
            } else {
                let line = self.line(group.iter().map(|at| (*at, entries[*at as usize].feeder_send)), 0);
                self.leaf(group.iter().copied(), Some(line));
            }
        }
    }

    /// Whether a link before the last one takes longer for a frame than the last.
    fn is_slower_before(&self, at: u32) -> bool {
        let entry = &self.layout.entries[at as usize];
        entry.slowest > entry.feeder_send
    }

    /// A part of its own for these entries; says how many parts it added.
    fn leaf(&mut self, entries: impl Iterator<Item = u32>, line: Option<Line>) {
        let part = self.curve.parts.len() as u32;
        for at in entries {
            let stairs = self.stairs(at, part);
            self.own.push(stairs);
        }
        self.curve.parts.push(Part { children: 0, leaf: 0, line });
    }

    fn stairs(&self, at: u32, part: u32) -> Stairs {
        let entry = &self.layout.entries[at as usize];
        Stairs { count: u64::from(entry.count), send: entry.send, period: entry.period, jitter: self.jitter[at as usize], part }
    }

    /// The line of a link, from each entry and the time of its frame there.
    fn line(&self, sends: impl Iterator<Item = (u32, u64)>, shift: u64) -> Line {
        let (mut frame, mut steepest) = (0, (0, 1));
        for (at, on_link) in sends {
            let send = self.layout.entries[at as usize].send;
            frame = frame.max(send);
            if u128::from(send) * u128::from(steepest.1) > u128::from(steepest.0) * u128::from(on_link) {
                steepest = (send, on_link);
            }
        }
        let slope = ratio(steepest.0, steepest.1);
        Line { frame, slope, shift: slope.saturating_mul(u128::from(shift)) }
    }

    fn nest(&mut self, group: &[u32]) {
        let start = self.work.len();
        self.work.extend(group.iter().map(|at| (*at, self.layout.entries[*at as usize].parent)));
        self.nest_work(start, 0);
        self.work.truncate(start);
    }

    /// Entries from `start` of the work list on all came over one link: each with its entry at that
    /// link's queue (none for bundles). Adds their parts, the link's own last.
    fn nest_work(&mut self, start: usize, shift: u64) {
        let sends = (start..self.work.len()).map(|at| self.work[at]);
        let line = self.line(sends.clone().map(|(at, before)| (at, self.send_at(at, before))), shift);
        let widened = self.variation(start).map(|variation| shift.saturating_add(variation));
        let is_worth_it = (start..self.work.len()).any(|at| self.is_slower_further(self.work[at].1));
        let (Some(widened), true) = (widened, is_worth_it) else {
            let entries: Vec<u32> = sends.map(|(at, _)| at).collect();
            return self.leaf(entries.into_iter(), Some(line));
        };
        let mut inner: Vec<(u32, u32, u32)> = sends.map(|(at, before)| (self.feeder_of(before), at, before)).collect();
        inner.sort_unstable();
        let mut children = 0;
        let mut local = Vec::new();
        for chunk in inner.chunk_by(|a, b| a.0 == b.0) {
            if chunk[0].0 == NONE {
                local.extend(chunk.iter().map(|(_, at, _)| *at));
                continue;
            }
            let next = self.work.len();
            self.work.extend(chunk.iter().map(|(_, at, before)| (*at, self.layout.entries[*before as usize].parent)));
            self.nest_work(next, widened);
            self.work.truncate(next);
            children += 1;
        }
        let part = self.curve.parts.len() as u32;
        for at in local {
            let stairs = self.stairs(at, part);
            self.own.push(stairs);
        }
        self.curve.parts.push(Part { children, leaf: 0, line: Some(line) });
    }

    fn entry(&self, at: u32) -> Option<&Entry> {
        self.layout.entries.get(at as usize)
    }

    /// Time of the frame of entry `at` on the link of the queue where its entry is `before`.
    fn send_at(&self, at: u32, before: u32) -> u64 {
        self.entry(before).map_or(self.layout.entries[at as usize].feeder_send, |before| before.send)
    }

    fn feeder_of(&self, before: u32) -> u32 {
        self.entry(before).map_or(NONE, |before| before.feeder)
    }

    fn is_slower_further(&self, before: u32) -> bool {
        self.entry(before).is_some_and(|before| before.slowest > before.send)
    }

    /// Worst less least delay of the work list's packets at the queue they all came from.
    fn variation(&self, start: usize) -> Option<u64> {
        let before = self.work[start..].iter().filter_map(|(_, before)| self.entry(*before));
        let least = before.clone().map(|before| before.send).min()?;
        let first = before.clone().next()?;
        Some(self.done.worst(first.port, first.class)?.saturating_sub(least))
    }
}

/// What a packet's later arrival can vary by: the jitter behind a queue with this worst delay.
pub(crate) fn jitter_behind(jitter: u64, worst: u64, send: u64) -> u64 {
    cap(u128::from(jitter) + u128::from(worst.saturating_sub(send)))
}
