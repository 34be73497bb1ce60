//! Builds the arrival curve of one class at one queue, with a line for every link that its packets
//! came through, as far upstream as a slower link keeps them apart.
//!
//! Nested lines matter where speeds differ: packets that crossed a slow edge link keep its spacing on
//! a fast trunk, widened by what the queues and boxes in between can add: their worst delay less their least. A line is widened even by
//! the box behind its own link: one packet may take long inside and the next may not.
//! Before the first moment at which a second packet of any stream can come, most links let all packets through at once: such a
//! link is no part of the curve, only its packets are.

use crate::curve::{Curve, Line, ONE, Part};
use crate::network::NONE;
use crate::port::Meeting;
use crate::ratios::Ratios;
use crate::stairs::{Stair, is_own};
use std::ops::Range;

/// Memory that one queue after the other uses.
#[derive(Default)]
pub(crate) struct Workspace {
    ratios: Ratios,
    /// Staircases of a nest, by their place in the meeting, each with its row at the link in question.
    work: Vec<(u32, u32)>,
    /// Links whose line is widened by the box behind them and is no steeper than time, each with its part of the curve.
    pub(crate) widened: Vec<(u32, u32)>,
    /// What [`Meeting::worst_delay`] found packets of such a link to be less late than others.
    pub(crate) gains: Vec<Gain>,
}

/// How much less late packets of one link are than the latest of their class: boxes keep them in order, so none behind one comes before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Gain {
    pub(crate) feeder: u32,
    pub(crate) worst: u64,
    /// The same if no higher class came.
    pub(crate) plain: u64,
}

/// Fills a curve for the time before the first jump of a staircase, or for all time.
pub(crate) struct Nesting<'a> {
    pub(crate) meeting: Meeting<'a>,
    pub(crate) curve: &'a mut Curve,
    pub(crate) space: &'a mut Workspace,
    /// For all time: the part of the curve that each of the class's staircases belongs to.
    pub(crate) part_of: Option<&'a mut [u32]>,
}

/// What a nest adds to the part around it.
#[derive(Default)]
struct Nested {
    /// Packets that its own link does not hold up.
    leaf: u64,
    /// Parts just before that belong to the part around it.
    children: u32,
    /// All packets.
    all: u64,
}

/// What is known of a link and those that came by it.
#[derive(Clone, Copy)]
struct Link {
    steepest: Steepest,
    /// Least time of a frame of theirs there.
    least: u64,
    /// Whether any came over a slower link before.
    is_behind_slower: bool,
    /// By how much the box behind it can take longer for one than for another.
    spread: u64,
}

impl Link {
    const NONE: Self = Self { steepest: Steepest::NONE, least: u64::MAX, is_behind_slower: false, spread: 0 };
}

/// The steepest line of a link: largest frame, and the longest time here per time there, in fixed point.
#[derive(Clone, Copy)]
struct Steepest {
    frame: u64,
    slope: u128,
}

impl Steepest {
    const NONE: Self = Self { frame: 0, slope: 0 };

    fn add(&mut self, frame: u64, slope: u128) {
        self.frame = self.frame.max(frame);
        self.slope = self.slope.max(slope);
    }

    fn line(&self, shift: u64) -> Line {
        Line { frame: self.frame, slope: self.slope, shift: self.slope.saturating_mul(u128::from(shift)) }
    }
}

impl Nesting<'_> {
    pub(crate) fn fill(&mut self) {
        self.curve.clear();
        self.space.widened.clear();
        let meeting = self.meeting;
        let mut from = meeting.class.start;
        for group in meeting.stairs[from..meeting.class.end].chunk_by(|a, b| a.feeder == b.feeder) {
            let range = from as u32..(from + group.len()) as u32;
            from += group.len();
            if is_own(group[0].feeder) {
                self.leaf(range, None);
                continue;
            }
            let link = self.last_link(group);
            if (group.len() > 1 || self.is_many(&group[0])) && link.is_behind_slower {
                self.nest(range, link);
            } else {
                let parts = self.curve.parts.len();
                self.leaf(range, Some(link));
                if link.spread > 0 && link.steepest.slope <= ONE && self.curve.parts.len() > parts {
                    self.space.widened.push((group[0].feeder, parts as u32));
                }
            }
        }
    }

    /// Whether more than one packet of a staircase may count.
    fn is_many(&self, stair: &Stair) -> bool {
        self.part_of.is_some() || stair.work(0) > stair.send
    }

    /// A part of its own for these staircases, or none where it cannot grow before the first jump.
    fn leaf(&mut self, stairs: Range<u32>, link: Option<Link>) {
        let leaf = stairs.fold(0, |leaf, at| self.claim(at, leaf));
        if self.part_of.is_none() && link.is_none_or(|link| leaf <= link.steepest.frame) {
            self.curve.settled = self.curve.settled.saturating_add(leaf);
        } else {
            let line = link.map(|link| link.steepest.line(link.spread));
            self.curve.parts.push(Part { leaf, line, ..Part::default() });
        }
    }

    /// Adds the packets of a staircase at once to those of the part that is added next.
    fn claim(&mut self, at: u32, leaf: u64) -> u64 {
        if let Some(part_of) = &mut self.part_of {
            part_of[at as usize - self.meeting.class.start] = self.curve.parts.len() as u32;
        }
        leaf.saturating_add(self.meeting.stairs[at as usize].work(0))
    }

    /// The link behind the queue that a group came from, which the staircases themselves tell of.
    fn last_link(&self, group: &[Stair]) -> Link {
        let shapes = &self.meeting.sweep.layout.shapes;
        let mut link = Link::NONE;
        for stair in group {
            let shape = &shapes[stair.shape as usize];
            link.steepest.add(stair.send, shape.slope);
            link.is_behind_slower |= shape.is_feeder_behind_slower;
            link.spread = link.spread.max(shape.spread());
            if stair.parent != NONE {
                link.least = link.least.min(shape.feeder_send);
            }
        }
        link
    }

    fn nest(&mut self, group: Range<u32>, link: Link) {
        let stairs = self.meeting.stairs;
        let feeder = stairs[group.start as usize].feeder;
        self.space.work.clear();
        self.space.work.extend(group.map(|at| (at, stairs[at as usize].parent)));
        let nested = self.nest_work((0..self.space.work.len(), feeder), link, link.spread);
        match (nested.leaf, nested.children) {
            (leaf, 0) => self.curve.settled = self.curve.settled.saturating_add(leaf),
            (0, 1) => self.curve.parts.last_mut().into_iter().for_each(|part| part.is_inside = false),
            (leaf, children) => self.curve.parts.push(Part { children, leaf, ..Part::default() }),
        }
    }

    /// These items of the work list all came over one link: each with its row at that link's queue (none for
    /// bundles). Adds their parts, the link's own last, and goes on to the links before; rows are lost.
    fn nest_work(&mut self, (items, feeder): (Range<usize>, u32), link: Link, shift: u64) -> Nested {
        let Link { steepest, least, is_behind_slower, .. } = link;
        let mut nested = Nested::default();
        let worst = || self.meeting.sweep.worst(feeder, self.meeting.class.class);
        let Some(variation) = is_behind_slower.then(worst).flatten().map(|worst| worst.saturating_sub(least)) else {
            for at in items {
                nested.leaf = self.claim(self.space.work[at].0, nested.leaf);
            }
            nested.all = nested.leaf;
            return self.close(nested, (steepest, shift));
        };
        let widened = shift.saturating_add(variation);
        if self.meeting.is_unordered || self.part_of.is_some() {
            let rows = &self.meeting.sweep.layout.rows;
            let feeder = |before: u32| rows.get(before as usize).map_or(NONE, |row| row.feeder);
            self.space.work[items.clone()].sort_unstable_by_key(|(at, before)| (feeder(*before), *at));
        }
        let mut from = items.start;
        while from < items.end {
            let feeder = self.feeder(from);
            let to = from + 1 + (from + 1..items.end).take_while(|at| self.feeder(*at) == feeder).count();
            let part = self.run((from..to, feeder), widened);
            nested.leaf = nested.leaf.saturating_add(part.leaf);
            nested.children += part.children;
            nested.all = nested.all.saturating_add(part.all);
            from = to;
        }
        self.close(nested, (steepest, shift))
    }

    /// Items that came to a link by one link before it, or were the box's own.
    fn run(&mut self, (items, feeder): (Range<usize>, u32), shift: u64) -> Nested {
        let at = self.space.work[items.start].0;
        let is_one_packet = items.len() == 1 && !self.is_many(&self.meeting.stairs[at as usize]);
        if is_own(feeder) || is_one_packet {
            let leaf = items.fold(0, |leaf, item| self.claim(self.space.work[item].0, leaf));
            return Nested { leaf, children: 0, all: leaf };
        }
        let layout = &self.meeting.sweep.layout;
        let mut spread = 0;
        for (_, before) in &mut self.space.work[items.clone()] {
            let row = &layout.rows[*before as usize];
            spread = spread.max(layout.shape_of(row).spread());
            *before = row.parent;
        }
        let link = self.link(items.clone());
        self.nest_work((items, feeder), link, shift.saturating_add(spread))
    }

    /// The part of a link, unless it can hold nothing up before the first jump.
    fn close(&mut self, nested: Nested, (steepest, shift): (Steepest, u64)) -> Nested {
        let Nested { leaf, children, all } = nested;
        if self.part_of.is_none() && all <= steepest.frame {
            return nested;
        }
        let line = steepest.line(shift);
        if self.part_of.is_none() && u128::from(all) * ONE <= line.at(0) {
            return nested;
        }
        self.curve.parts.push(Part { children, is_inside: true, leaf, line: Some(line), cap: None });
        Nested { leaf: 0, children: 1, all }
    }

    /// The queue whose link an item came by before the link in question.
    fn feeder(&self, item: usize) -> u32 {
        self.meeting.sweep.layout.rows.get(self.space.work[item].1 as usize).map_or(NONE, |row| row.feeder)
    }

    /// A link further up, as the rows at its queue tell.
    fn link(&mut self, items: Range<usize>) -> Link {
        let (layout, stairs) = (&self.meeting.sweep.layout, self.meeting.stairs);
        let Workspace { ratios, work, .. } = &mut *self.space;
        let mut link = Link::NONE;
        for (at, before) in &work[items] {
            let own = &stairs[*at as usize];
            let Some(before) = layout.rows.get(*before as usize) else {
                link.steepest.add(own.send, layout.shapes[own.shape as usize].slope);
                continue;
            };
            let shape = layout.shape_of(before);
            link.steepest.add(own.send, ratios.of(own.send, shape.send));
            link.least = link.least.min(shape.send);
            link.is_behind_slower |= shape.is_behind_slower;
        }
        link
    }
}
