//! Builds the arrival curve of one class at one queue, with a line for every link that its packets
//! came through, as far upstream as a slower link keeps them apart.
//!
//! Nested lines matter where speeds differ: packets that crossed a slow edge link keep its spacing on
//! a fast trunk, widened by what the queues in between can add: their worst delay less their least.

use crate::curve::{Curve, Line, Part};
use crate::layout::Entry;
use crate::network::NONE;
use crate::ratios::Ratios;
use std::ops::Range;

/// Worst delay of a class at a queue, for queues already done.
pub(crate) trait Done {
    /// `None` if there is no bound.
    fn worst(&self, port: u32, class: u8) -> Option<u64>;
}

/// Memory that one queue after the other uses.
#[derive(Default)]
pub(crate) struct Workspace {
    pub(crate) ratios: Ratios,
    /// Entries of a nest, each with its entry at the link in question.
    work: Vec<(u32, u32)>,
}

/// Fills a curve for the time before the first jump of a staircase, or for all time.
pub(crate) struct Nesting<'a, D: Done> {
    pub(crate) entries: &'a [Entry],
    pub(crate) done: &'a D,
    pub(crate) curve: &'a mut Curve,
    pub(crate) space: &'a mut Workspace,
    /// For all time: the part of the curve that each own entry belongs to, in the order of `own`.
    pub(crate) part_of: Option<&'a mut [u32]>,
    pub(crate) own: Range<usize>,
}

impl<D: Done> Nesting<'_, D> {
    /// `own`: entries of one class at one queue, those of a feeder together.
    pub(crate) fn fill(&mut self) {
        self.curve.clear();
        let (entries, mut from) = (self.entries, self.own.start);
        for group in entries[self.own.clone()].chunk_by(|a, b| a.feeder == b.feeder) {
            let range = from as u32..(from + group.len()) as u32;
            from += group.len();
            if group[0].feeder == NONE {
                self.leaf(range, None);
            } else if group.len() > 1 && group.iter().any(|entry| entry.is_feeder_behind_slower) {
                self.nest(range);
            } else {
                let line = self.line(group.iter().map(|entry| (entry.send, entry.feeder_send)), 0);
                self.leaf(range, Some(line));
            }
        }
    }

    /// A part of its own for these entries, or none where it cannot grow before the first jump.
    fn leaf(&mut self, entries: Range<u32>, line: Option<Line>) {
        let leaf = entries.fold(0, |leaf, at| self.claim(at, leaf));
        if self.part_of.is_none() && line.is_none_or(|line| leaf <= line.frame) {
            self.curve.settled = self.curve.settled.saturating_add(leaf);
        } else {
            self.curve.parts.push(Part { leaf, line, ..Part::default() });
        }
    }

    /// Adds the packets of an entry at once to those of the part that is added next.
    fn claim(&mut self, at: u32, leaf: u64) -> u64 {
        if let Some(part_of) = &mut self.part_of {
            part_of[at as usize - self.own.start] = self.curve.parts.len() as u32;
        }
        leaf.saturating_add(self.entries[at as usize].work(0))
    }

    /// The line of a link, from the times of every frame here and there.
    fn line(&mut self, sends: impl Iterator<Item = (u64, u64)>, shift: u64) -> Line {
        let (mut frame, mut steepest) = (0, (0, 1));
        for (send, on_link) in sends {
            frame = frame.max(send);
            if u128::from(send) * u128::from(steepest.1) > u128::from(steepest.0) * u128::from(on_link) {
                steepest = (send, on_link);
            }
        }
        let slope = self.space.ratios.of(steepest.0, steepest.1);
        Line { frame, slope, shift: slope.saturating_mul(u128::from(shift)) }
    }

    fn nest(&mut self, group: Range<u32>) {
        let start = self.space.work.len();
        let entries = self.entries;
        let link = entries[group.start as usize].feeder;
        self.space.work.extend(group.map(|at| (at, entries[at as usize].parent)));
        self.nest_work((start, link), 0);
        self.space.work.truncate(start);
        if let Some(outermost) = self.curve.parts.last_mut() {
            outermost.is_inside = false;
        }
    }

    /// Entries from `start` of the work list on all came over one link: each with its entry at that
    /// link's queue (none for bundles). Adds their parts, the link's own last.
    fn nest_work(&mut self, (start, link): (usize, u32), shift: u64) {
        let end = self.space.work.len();
        let line = self.link_line(start, shift);
        let widened = self.variation(start, link).map(|variation| shift.saturating_add(variation));
        let is_worth_it = self.space.work[start..].iter().any(|(_, before)| self.entry(*before).is_some_and(|it| it.is_behind_slower));
        let Some(widened) = widened.filter(|_| is_worth_it) else { return self.close(start..end, (0, line)) };
        let entries = self.entries;
        let feeder_of = |before: u32| entries.get(before as usize).map_or(NONE, |before| before.feeder);
        self.space.work[start..].sort_unstable_by_key(|(at, before)| (feeder_of(*before), *at));
        let (mut from, mut children) = (start, 0);
        while from < end && feeder_of(self.space.work[from].1) != NONE {
            let feeder = feeder_of(self.space.work[from].1);
            let to = from + self.space.work[from..end].iter().take_while(|(_, before)| feeder_of(*before) == feeder).count();
            self.space.work.extend_from_within(from..to);
            self.space.work[end..].iter_mut().for_each(|(_, before)| *before = entries[*before as usize].parent);
            self.nest_work((end, feeder), widened);
            self.space.work.truncate(end);
            (from, children) = (to, children + 1);
        }
        self.close(from..end, (children, line));
    }

    /// The part of a link: its children, and the packets of these items of the work list.
    fn close(&mut self, items: Range<usize>, (children, line): (u32, Line)) {
        let leaf = items.fold(0, |leaf, item| self.claim(self.space.work[item].0, leaf));
        self.curve.parts.push(Part { children, is_inside: true, leaf, line: Some(line) });
    }

    fn entry(&self, at: u32) -> Option<&Entry> {
        self.entries.get(at as usize)
    }

    /// The line of the link that the work list from `start` on came over.
    fn link_line(&mut self, start: usize, shift: u64) -> Line {
        let work = std::mem::take(&mut self.space.work);
        let entries = self.entries;
        let sends = work[start..].iter().map(|(at, before)| {
            let own = &entries[*at as usize];
            (own.send, entries.get(*before as usize).map_or(own.feeder_send, |before| before.send))
        });
        let line = self.line(sends, shift);
        self.space.work = work;
        line
    }

    /// Worst less least delay of the work list's packets at the queue of the link they came over.
    fn variation(&self, start: usize, link: u32) -> Option<u64> {
        let least = self.space.work[start..].iter().filter_map(|(_, before)| self.entry(*before)).map(|before| before.send).min()?;
        let class = self.entries[self.own.start].class;
        Some(self.done.worst(link, class)?.saturating_sub(least))
    }
}
