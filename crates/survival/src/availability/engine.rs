//! From demands to functions of boxes.
//!
//! A leg works while every vertex on the way of the block-cut forest does, and while every block with a
//! cycle joins its entry and exit. Each block is worked out once for each pair of entry and exit.

use super::bdd::{ALWAYS, Functions, NEVER};
use super::connect::{Puzzle, joined};
use super::simplify::simplified;
use super::{Down, box_of_vertex};
use crate::Survival;
use crate::blocks::{Forest, Step};
use crate::graph::{Graph, NONE};
use crate::single::Singles;
use std::collections::{BTreeMap, BTreeSet};

/// Most nodes of all functions together; beyond, ranges are given. Own choice: ten megabytes, a second of work.
const MOST_NODES: usize = 150_000;
/// How often that room may be filled for the function of all essential demands. Own choice: some two seconds.
const MOST_ROUNDS: u32 = 8;
/// Most frontier states of one block. Own choice: a second of work.
const MOST_STATES: usize = 60_000;

/// A function from below and from above; the same when it is exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Span {
    /// Works too rarely: its chance of being down is the most.
    pessimist: u32,
    /// Works too often.
    optimist: u32,
}

impl Span {
    const ALWAYS: Self = Self { pessimist: ALWAYS, optimist: ALWAYS };
    const NEVER: Self = Self { pessimist: NEVER, optimist: NEVER };

    fn exact(function: u32) -> Self {
        Self { pessimist: function, optimist: function }
    }
}

/// Makes functions.
pub(crate) struct Engine<'a> {
    survival: &'a Survival,
    forest: &'a Forest,
    functions: Functions,
    /// Box of each vertex.
    boxes: Vec<u32>,
    can_fail: Vec<bool>,
    /// The item that each box is in the functions, and the reverse.
    item_of_box: Vec<u32>,
    box_of_item: Vec<u32>,
    /// Function of each box with what powers it; [`NONE`] while unknown.
    works: Vec<u32>,
    joins: BTreeMap<(u32, u32, u32), Span>,
}

impl<'a> Engine<'a> {
    pub(crate) fn new(survival: &'a Survival, singles: &'a Singles, can_fail: Vec<bool>) -> Self {
        let boxes = survival.things.box_by_vertex(survival.graph.len());
        let box_of_item = order_of_boxes(&survival.graph, &boxes, can_fail.len());
        let mut item_of_box = vec![0; can_fail.len()];
        box_of_item.iter().zip(0u32..).for_each(|(&one, item)| item_of_box[one as usize] = item);
        let works = vec![NONE; can_fail.len()];
        let (forest, functions) = (&singles.forest, Functions::new(2 * MOST_NODES));
        Self { survival, forest, functions, boxes, can_fail, item_of_box, box_of_item, works, joins: BTreeMap::new() }
    }

    /// Forgets everything when the functions take too much room. Spans made before are void.
    pub(crate) fn make_room(&mut self) {
        if self.functions.len() > MOST_NODES / 4 {
            self.functions = Functions::new(2 * MOST_NODES);
            self.works.fill(NONE);
            self.joins.clear();
        }
    }

    /// Chances of boxes, put in the order in which functions ask for them.
    pub(crate) fn in_order(&self, down_of_box: &[f64]) -> Vec<f64> {
        self.box_of_item.iter().map(|&one| down_of_box[one as usize]).collect()
    }

    /// Chance that a span's function is down, with chances from [`Self::in_order`].
    pub(crate) fn chance(&self, span: Span, down: &[f64]) -> Down {
        let most = self.functions.down_chance(span.pessimist, down);
        let least = if span.optimist == span.pessimist { most } else { self.functions.down_chance(span.optimist, down) };
        Down { least, most }
    }

    fn both(&mut self, one: Span, two: Span) -> Span {
        let pessimist = self.functions.both(one.pessimist, two.pessimist);
        if one.pessimist == one.optimist
            && two.pessimist == two.optimist
            && let Some(exact) = pessimist
        {
            return Span::exact(exact);
        }
        // Full: it works never, or while the simpler of the two does.
        let optimist = self.functions.both(one.optimist, two.optimist);
        Span { pessimist: pessimist.unwrap_or(NEVER), optimist: optimist.unwrap_or(one.optimist) }
    }

    fn either(&mut self, one: Span, two: Span) -> Span {
        let pessimist = self.functions.either(one.pessimist, two.pessimist);
        if one.pessimist == one.optimist
            && two.pessimist == two.optimist
            && let Some(exact) = pessimist
        {
            return Span::exact(exact);
        }
        let optimist = self.functions.either(one.optimist, two.optimist);
        Span { pessimist: pessimist.unwrap_or(one.pessimist), optimist: optimist.unwrap_or(ALWAYS) }
    }

    /// Works while all of `demands` are heard; `None` if that grows too large. Takes them one after the other:
    /// demands of the senders that the functions ask first leave little to remember, a random half of all very much.
    pub(crate) fn all_of(&mut self, demands: &[u32]) -> Option<Span> {
        self.all(demands, Self::demand)
    }

    /// Works while all of these blocks join their entries and exits; `None` if that grows too large.
    pub(crate) fn all_through(&mut self, passages: &[(u32, [u32; 2])]) -> Option<Span> {
        self.all(passages, |engine, (block, [from, to])| engine.block(block, from, to))
    }

    fn all<T: Copy>(&mut self, wanted: &[T], make: impl Fn(&mut Self, T) -> Span) -> Option<Span> {
        let mut seen = BTreeSet::new();
        let mut parts: Vec<Span> = Vec::new();
        for &one in wanted {
            let part = make(self, one);
            parts.extend(seen.insert(part).then_some(part));
            if self.functions.len() > MOST_NODES / 2 {
                return None;
            }
        }
        let mut rounds = 0;
        parts.reverse();
        parts.push(Span::ALWAYS);
        while let [.., part, all] = parts[..] {
            parts.truncate(parts.len() - 2);
            parts.push(self.both_exact(all, part)?);
            if self.functions.len() > MOST_NODES {
                rounds += 1;
                if rounds > MOST_ROUNDS {
                    return None;
                }
                self.forget_but(&mut parts)?;
            }
        }
        parts.pop()
    }

    fn both_exact(&mut self, one: Span, two: Span) -> Option<Span> {
        let pessimist = self.functions.both(one.pessimist, two.pessimist)?;
        let is_one = one.pessimist == one.optimist && two.pessimist == two.optimist;
        Some(Span { pessimist, optimist: if is_one { pessimist } else { self.functions.both(one.optimist, two.optimist)? } })
    }

    /// Makes room but keeps `spans`; `None` if they alone take half of it.
    fn forget_but(&mut self, spans: &mut [Span]) -> Option<()> {
        let mut roots: Vec<u32> = spans.iter().flat_map(|span| [span.pessimist, span.optimist]).collect();
        self.functions.keep_only(&mut roots);
        for (span, pair) in spans.iter_mut().zip(roots.chunks(2)) {
            *span = Span { pessimist: pair[0], optimist: pair[1] };
        }
        // What was known has other numbers now.
        self.works.fill(NONE);
        self.joins.clear();
        (self.functions.len() <= MOST_NODES / 2).then_some(())
    }

    /// When a demand is heard: its two ends up, and a leg standing.
    pub(crate) fn demand(&mut self, demand: u32) -> Span {
        let mut any = Span::NEVER;
        for leg in self.survival.demands.legs_of(demand) {
            let leg = self.leg(leg.ends);
            any = self.either(any, leg);
        }
        for end in self.survival.demands.all[demand as usize].ends {
            let end = Span::exact(self.box_works(end, &mut Vec::new()));
            any = self.both(any, end);
        }
        any
    }

    fn leg(&mut self, [from, to]: [u32; 2]) -> Span {
        let component = self.forest.component[from as usize];
        if component == NONE || component != self.forest.component[to as usize] {
            return Span::NEVER;
        }
        let mut steps = Vec::new();
        self.forest.walk(from, to, |step| steps.push(step));
        let mut all = Span::ALWAYS;
        for step in steps {
            let part = match step {
                Step::Cut(vertex) => Span::exact(self.vertex_works(vertex)),
                Step::Through { block, from, to } if self.forest.has_cycle(block) => self.block(block, from, to),
                Step::Through { .. } => Span::ALWAYS,
            };
            all = self.both(all, part);
        }
        all
    }

    fn vertex_works(&mut self, vertex: u32) -> u32 {
        match box_of_vertex(&self.boxes, vertex) {
            Some(at) => self.box_works(at, &mut Vec::new()),
            None => ALWAYS,
        }
    }

    /// A box works while it is up itself and one of the boxes that power it works. Boxes that power each
    /// other in a circle keep each other running.
    fn box_works(&mut self, at: u32, waiting: &mut Vec<u32>) -> u32 {
        if self.works[at as usize] != NONE {
            return self.works[at as usize];
        }
        let own = if self.can_fail[at as usize] { self.functions.item(self.item_of_box[at as usize]) } else { ALWAYS };
        let givers = self.survival.things.givers_of(at);
        if givers.is_empty() || waiting.contains(&at) {
            return own;
        }
        waiting.push(at);
        let mut powered = NEVER;
        for giver in givers {
            let giver = if waiting.contains(&giver) { ALWAYS } else { self.box_works(giver, waiting) };
            powered = self.functions.either(powered, giver).unwrap_or(powered);
        }
        waiting.pop();
        let works = self.functions.both(own, powered).unwrap_or(NEVER);
        if waiting.is_empty() {
            self.works[at as usize] = works;
        }
        works
    }

    /// When a block joins two of its vertices.
    fn block(&mut self, block: u32, from: u32, to: u32) -> Span {
        let key = (block, from.min(to), from.max(to));
        if let Some(&known) = self.joins.get(&key) {
            return known;
        }
        let vertices: Vec<u32> = self.forest.below_top(block).iter().copied().chain([self.forest.top[block as usize]]).collect();
        let place = |vertex: u32| self.forest.position_in(vertex, block).map(|at| at as u32);
        let next_to = |&vertex: &u32| self.survival.graph.next_to(vertex).iter().filter_map(|&next| place(next)).collect::<Vec<_>>();
        let puzzle = Puzzle {
            next_to: vertices.iter().map(next_to).collect(),
            is_terminal: vertices.iter().map(|&vertex| vertex == from || vertex == to).collect(),
        };
        let works: Vec<u32> = vertices.iter().map(|&vertex| self.vertex_works(vertex)).collect();
        let (puzzle, works) = simplified(puzzle, works, &mut self.functions);
        let span = match joined(&puzzle, &works, &mut self.functions, MOST_STATES) {
            Some(function) => Span::exact(function),
            None => self.one_way(&puzzle, &works),
        };
        self.joins.insert(key, span);
        span
    }

    /// Too dense to be exact: not better than its two ends, not worse than one shortest way.
    fn one_way(&mut self, puzzle: &Puzzle, works: &[u32]) -> Span {
        let ends: Vec<u32> = (0u32..).zip(&puzzle.is_terminal).filter(|(_, is)| **is).map(|(at, _)| at).collect();
        let (Some(&from), Some(&to)) = (ends.first(), ends.last()) else { return Span::ALWAYS };
        let mut came_from = vec![NONE; works.len()];
        came_from[from as usize] = from;
        let mut queue = std::collections::VecDeque::from([from]);
        while let Some(vertex) = queue.pop_front() {
            for &next in &puzzle.next_to[vertex as usize] {
                if came_from[next as usize] == NONE {
                    came_from[next as usize] = vertex;
                    queue.push_back(next);
                }
            }
        }
        let mut pessimist = works[from as usize];
        let mut at = to;
        while at != from && came_from[at as usize] != NONE {
            pessimist = self.functions.both(pessimist, works[at as usize]).unwrap_or(NEVER);
            at = came_from[at as usize];
        }
        let optimist = self.functions.both(works[from as usize], works[to as usize]).unwrap_or(ALWAYS);
        Span { pessimist, optimist }
    }
}

/// Boxes in the order in which functions ask them: many neighbours first, so that the two cores and then
/// the pairs of edge switches lie together; among equals as in the plan.
fn order_of_boxes(graph: &Graph, boxes: &[u32], count: usize) -> Vec<u32> {
    let mut degree = vec![0usize; count];
    for vertex in 0..graph.len() as u32 {
        if let Some(at) = box_of_vertex(boxes, vertex) {
            degree[at as usize] += graph.next_to(vertex).len();
        }
    }
    let mut order: Vec<u32> = (0..count as u32).collect();
    order.sort_by_key(|&at| (std::cmp::Reverse(degree[at as usize]), at));
    order
}
