//! Search, bound and proof together.

use crate::annealing::{Annealing, COOLINGS};
use crate::bound::{Limits, Relaxed, SCALE};
use crate::close::Closing;
use crate::instance::Instance;
use crate::polish::polish;
use crate::problem::{Cost, MOST, Problem};
use crate::state::State;
use crate::stocked;

/// How much work to do. The same effort gives the same answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Searches by chance, each with a seed of its own; the best counts.
    pub seeds: u64,
    /// Moves in each of them.
    pub moves: u64,
    /// Most steps to raise the bound.
    pub steps: usize,
    /// Most parts to look at to close the gap.
    pub parts: usize,
}

impl Effort {
    /// A second or two for a venue of some hundred devices.
    pub const USUAL: Self = Self { seeds: 4, moves: 400_000, steps: 1_200, parts: 400 };

    /// No more than a glance: for designs that are tried while somebody waits.
    pub const QUICK: Self = Self { seeds: 1, moves: 60_000, steps: 200, parts: 0 };
}

/// What the solver is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Looking for cheaper placements.
    Searching,
    /// Raising the lower bound.
    Bounding,
    /// Closing the gap.
    Closing,
}

/// How far the solver is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What it is at.
    pub step: Step,
    /// Units of work done in this step.
    pub done: u64,
    /// At most so many in this step.
    pub of: u64,
    /// Cost of the best placement so far.
    pub best: Cost,
    /// No placement is cheaper than this.
    pub bound: Cost,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placement {
    /// By item: the place that serves it; `None` if none can.
    pub home: Vec<Option<usize>>,
    /// By layer, then place: how many of each model stand there; empty where no set of models will do.
    pub switches: Vec<Vec<Vec<u32>>>,
    /// How many of each model are used beyond their stock; empty where the problem names no stock.
    pub lacking: Vec<u32>,
    /// What it costs.
    pub cost: Cost,
    /// No placement costs less than this.
    pub bound: Cost,
    /// False if the caller stopped it before its work was done.
    pub finished: bool,
}

impl Placement {
    /// Whether nothing cheaper is possible.
    pub fn is_cheapest(&self) -> bool {
        self.bound >= self.cost
    }

    /// How far above the cheapest possible it can be at most, in millionths of the bound, rounded up.
    pub fn gap_millionths(&self) -> u64 {
        gap_millionths(self.cost, self.bound)
    }
}

/// How far `cost` is above `bound` at most, in millionths of the bound, rounded up.
pub fn gap_millionths(cost: Cost, bound: Cost) -> u64 {
    let above = i128::from(cost) - i128::from(bound);
    match (above > 0, bound > 0) {
        (false, _) => 0,
        (true, false) => u64::MAX,
        (true, true) => u64::try_from((above * 1_000_000 + i128::from(bound) - 1) / i128::from(bound)).unwrap_or(u64::MAX),
    }
}

/// Finds a cheap placement and proves how cheap it is. `keep_going` is told how far it is now and then; when it says no,
/// the best so far is returned, which is always a whole answer.
pub fn solve(problem: &Problem, effort: Effort, keep_going: &mut dyn FnMut(Progress) -> bool) -> Placement {
    let has_stock = problem.layers.iter().flat_map(|layer| &layer.models).any(|model| model.stock.is_some());
    if has_stock { stocked::solve(problem, effort, keep_going) } else { unlimited(problem, effort, keep_going) }
}

/// Solves without a look at the stock.
pub(crate) fn unlimited(problem: &Problem, effort: Effort, keep_going: &mut dyn FnMut(Progress) -> bool) -> Placement {
    let instance = Instance::new(problem);
    let mut work = Work { effort, keep_going, goes_on: true };
    let mut best = State::nearest(&instance);
    polish(&mut best);
    for seed in 0..effort.seeds {
        work.search(&mut best, seed);
    }
    let mut bound = (0..instance.items).filter(|item| instance.is_stranded(*item)).count() as Cost * MOST;
    for layer in 0..instance.planes.len() {
        bound += work.bound(&mut best, layer);
    }
    answer(problem, &best, bound, work.goes_on)
}

fn answer(problem: &Problem, best: &State, bound: Cost, finished: bool) -> Placement {
    let nowhere = problem.places as u32;
    let home = best.home.iter().map(|place| (*place != nowhere).then_some(*place as usize)).collect();
    let bundle = |layer: usize, place: usize| {
        let (load, plane) = (best.load(place, layer), &best.instance.planes[layer]);
        let models = problem.layers[layer].models.len();
        let power = u64::from(load.level) * plane.unit;
        if load.ports == 0 { vec![0; models] } else { plane.prices.bundle(load.ports + plane.reserved, power, models).unwrap_or_default() }
    };
    let switches = (0..problem.layers.len()).map(|layer| (0..problem.places).map(|place| bundle(layer, place)).collect()).collect();
    Placement { home, switches, lacking: Vec::new(), cost: best.total, bound: bound.min(best.total), finished }
}

struct Work<'k> {
    effort: Effort,
    keep_going: &'k mut dyn FnMut(Progress) -> bool,
    goes_on: bool,
}

impl Work<'_> {
    fn search(&mut self, best: &mut State, seed: u64) {
        if !self.goes_on {
            return;
        }
        let mut state = State::new(best.instance, best.home.clone());
        let (known, seeds) = (best.total, self.effort.seeds);
        let run = Annealing::new(&mut state, seed).run(self.effort.moves, &mut |cooling, found| {
            let progress =
                Progress { step: Step::Searching, done: seed * COOLINGS + cooling, of: seeds * COOLINGS, best: known.min(found), bound: 0 };
            self.goes_on = (self.keep_going)(progress);
            self.goes_on
        });
        let mut state = State::new(best.instance, run.1);
        polish(&mut state);
        if state.total < best.total {
            *best = state;
        }
    }

    /// A bound for one layer. Better placements met on the way are kept.
    fn bound<'i>(&mut self, best: &mut State<'i>, layer: usize) -> Cost {
        if !self.goes_on {
            return 0;
        }
        let relaxed = Relaxed::new(best.instance, layer);
        let cost = best.layer_cost(layer);
        let target = (cost - 1).max(0) * SCALE + 1;
        let (steps, total) = (self.effort.steps, best.total);
        let limits = vec![Limits::NONE; best.instance.places];
        let mut done = 0;
        let root = relaxed.raise(relaxed.first_rewards(cost), (&limits, target), (steps, 1.5), &mut |bound| {
            done += 1;
            let bound = whole(bound);
            self.goes_on =
                done % 16 > 0 || (self.keep_going)(Progress { step: Step::Bounding, done, of: steps as u64, best: total, bound });
            self.goes_on
        });
        let mut closing = Closing { instance: best.instance, layer, best };
        closing.try_repair(&root.served);
        let parts = self.effort.parts;
        let found = if self.goes_on {
            closing.run(root, parts, &mut |done, bound, best| {
                let progress = Progress { step: Step::Closing, done: done as u64, of: parts as u64, best, bound: whole(bound) };
                self.goes_on = (self.keep_going)(progress);
                self.goes_on
            })
        } else {
            root.bound
        };
        whole(found)
    }
}

/// A bound in parts as whole cost: as costs are whole, the next whole one above is a bound too.
fn whole(parts: i64) -> Cost {
    parts.max(0).saturating_add(SCALE - 1) / SCALE
}
