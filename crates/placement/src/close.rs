//! Closes the gap of small cases: the bound again and again, with what single places may serve cut in two.
//!
//! **Shape** (branch and bound): the relaxed problem mixes, say, a closed place and one with eight ports. Two smaller
//! problems forbid the mix: at most so many ports there, or more. The one with the lowest bound is looked at next. All
//! cases whose bound reaches the cost of the best known placement are done with. With every load fixed, what remains is
//! a transport problem, whose relaxation is exact; so items of one port and one power class always close in the end.

use crate::bound::{Limits, Relaxed, Rewards, SCALE, Seen, Served};
use crate::instance::{Instance, Load};
use crate::polish::polish;
use crate::problem::{Cost, MOST};
use crate::state::State;
use std::collections::{BTreeMap, BinaryHeap};

/// Subgradient steps in each part. Own choice, found by trying.
const STEPS: usize = 60;

/// How eager steps are at the start of each part. Own choice, found by trying.
const EAGERNESS: f64 = 0.5;

/// How often a part without anything to cut is tried again. Own choice.
const TRIES: usize = 3;

/// A part of the problem that may still hold something better.
#[derive(Debug)]
struct Part {
    bound: i64,
    number: usize,
    /// How often it was looked at without anything to cut.
    tries: usize,
    limits: Vec<Limits>,
    rewards: Vec<i64>,
    seen: Vec<Seen>,
}

impl PartialEq for Part {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}
impl Eq for Part {}
impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Part {
    /// The lowest bound is the greatest, so that the heap gives it first.
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        (other.bound, other.number).cmp(&(self.bound, self.number))
    }
}

/// What the search knows while it runs.
pub(crate) struct Closing<'c, 'i> {
    pub instance: &'i Instance,
    pub layer: usize,
    /// The cheapest placement known; better ones met are put here.
    pub best: &'c mut State<'i>,
}

impl Closing<'_, '_> {
    /// Looks at up to `parts` parts and returns a bound for the layer, in parts of a unit: never below `root.bound`.
    pub fn run(&mut self, root: Rewards, parts: usize, keep_going: &mut dyn FnMut(usize, i64, Cost) -> bool) -> i64 {
        let relaxed = Relaxed::new(self.instance, self.layer);
        let limits = vec![Limits::NONE; self.instance.places];
        let first = root.bound;
        let mut heap = BinaryHeap::from([Part { bound: first, number: 0, tries: 0, limits, rewards: root.best, seen: root.seen }]);
        // Parts that cannot be cut any more keep the bound down.
        let mut stuck = i64::MAX;
        for number in 0..parts {
            let Some(mut part) = heap.pop() else { break };
            if part.bound >= self.target() || part.bound >= stuck || !keep_going(number, part.bound.max(first), self.best.total) {
                heap.push(part);
                break;
            }
            let Some(cut) = worst_mix(&relaxed, &part) else {
                // Nothing is mixed, yet the rewards have not settled: more steps, once.
                part.tries += 1;
                match self.settle(&relaxed, part) {
                    Some(part) if part.tries < TRIES => heap.push(part),
                    Some(part) => stuck = stuck.min(part.bound),
                    None => {}
                }
                continue;
            };
            for (side, limits) in cut.halves(&part.limits).into_iter().enumerate() {
                if let Some(part) = self.look(&relaxed, &part, limits, number * 2 + side + 1) {
                    heap.push(part);
                }
            }
        }
        let open = heap.peek().map_or(i64::MAX, |part| part.bound);
        open.min(stuck).min(self.target()).max(first)
    }

    /// What a bound must reach for its part to hold nothing better: costs are whole.
    fn target(&self) -> i64 {
        (self.best.layer_cost(self.layer) - 1) * SCALE + 1
    }

    fn look(&mut self, relaxed: &Relaxed, above: &Part, limits: Vec<Limits>, number: usize) -> Option<Part> {
        let part = Part { bound: above.bound, number, tries: 0, limits, rewards: above.rewards.clone(), seen: Vec::new() };
        self.raise(relaxed, part, (STEPS, EAGERNESS))
    }

    fn settle(&mut self, relaxed: &Relaxed, part: Part) -> Option<Part> {
        self.raise(relaxed, part, (STEPS * 8, EAGERNESS))
    }

    /// Raises the bound of a part; `None` if it then holds nothing better.
    fn raise(&mut self, relaxed: &Relaxed, part: Part, steps: (usize, f64)) -> Option<Part> {
        let Part { bound: above, number, tries, limits, rewards, .. } = part;
        let mut found = relaxed.raise(rewards, (&limits, self.target()), steps, &mut |_| true);
        if found.bound < self.target() {
            self.try_repair(&found.served);
        }
        let bound = found.bound.max(above);
        found.seen.iter_mut().zip(&limits).for_each(|(seen, limits)| seen.retain(|load, _| limits.holds(*load)));
        (bound < self.target()).then_some(Part { bound, number, tries, limits, rewards: found.best, seen: found.seen })
    }

    /// Makes a placement of what the relaxed problem serves and keeps it if it is the best so far.
    pub fn try_repair(&mut self, served: &[Served]) {
        let mut state = repair(self.instance, served, self.best);
        if state.total < self.best.total + self.best.total / 50 {
            polish(&mut state);
        }
        if state.total < self.best.total {
            *self.best = state;
        }
    }
}

/// Serves each item from the cheapest of the places that would, those that none would from where they are now in `known`.
fn repair<'i>(instance: &'i Instance, served: &[Served], known: &State) -> State<'i> {
    let mut home = vec![u32::MAX; instance.items];
    for (place, own) in served.iter().enumerate() {
        for item in own.items.iter().map(|item| *item as usize) {
            if home[item] == u32::MAX || instance.cable(item, place) < instance.cable(item, home[item] as usize) {
                home[item] = place as u32;
            }
        }
    }
    let missing: Vec<usize> = (0..instance.items).filter(|item| home[*item] == u32::MAX).collect();
    for item in &missing {
        home[*item] = known.home[*item];
    }
    let mut state = State::new(instance, home);
    for item in missing {
        let best = instance.reach[item].iter().map(|place| (state.shifting(item, *place as usize), *place)).min();
        if let Some((_, place)) = best.filter(|(added, _)| *added < 0) {
            state.shift(item, place as usize);
        }
    }
    state
}

/// Where to cut a part in two.
struct Cut {
    place: usize,
    /// True to cut by power level, false by ports.
    by_level: bool,
    /// The most on the lower side.
    at: u32,
}

impl Cut {
    fn halves(&self, limits: &[Limits]) -> [Vec<Limits>; 2] {
        let [mut lower, mut upper] = [limits.to_vec(), limits.to_vec()];
        let side = |load: &mut Load, value: u32| if self.by_level { load.level = value } else { load.ports = value };
        side(&mut lower[self.place].most, self.at);
        side(&mut upper[self.place].least, self.at + 1);
        [lower, upper]
    }
}

/// The place and step that the relaxed problem mixes most, weighed by the price between.
fn worst_mix(relaxed: &Relaxed, part: &Part) -> Option<Cut> {
    let mut best: Option<(f64, Cut)> = None;
    for (place, seen) in part.seen.iter().enumerate() {
        for by_level in [false, true] {
            let mut by_size: BTreeMap<u32, [f64; 2]> = BTreeMap::new();
            for (load, weight) in seen {
                let own = by_size.entry(if by_level { load.1 } else { load.0 }).or_default();
                own[0] += weight;
                own[1] += weight * relaxed.price(*load).min(MOST / 1_024) as f64;
            }
            let all = by_size.values().fold([0.0; 2], |sum, own| [sum[0] + own[0], sum[1] + own[1]]);
            let mut below = [0.0; 2];
            for (size, own) in &by_size {
                below = [below[0] + own[0], below[1] + own[1]];
                let above = [all[0] - below[0], all[1] - below[1]];
                if above[0] <= all[0] * 1e-9 || below[0] <= 0.0 {
                    continue;
                }
                let step = above[1] / above[0] - below[1] / below[0];
                let score = (step.max(0.0) + 1.0) * (above[0] / all[0]) * (below[0] / all[0]);
                if best.as_ref().is_none_or(|(known, _)| score > *known) {
                    best = Some((score, Cut { place, by_level, at: *size }));
                }
            }
        }
    }
    best.map(|(_, cut)| cut)
}
