//! How likely streams stay up, and which spares help most.
//!
//! Only boxes fail here: devices and switches whose gear has a mean time between failures. Cables, feeds,
//! routes and hazards have none in a plan and count as perfect, and so does gear without one:
//! [`Availability::taken_as_perfect`] names it. No statistics of cables, connectors and hands exist that one
//! could honestly put in; on tour they fail most (common practice). Read the figures as a comparison of
//! designs, not as a promise.
//!
//! Every box is one item of a decision diagram, however many vertices it has and whatever it powers, so
//! that what two legs share counts once. The essential streams together are added up by sides where two networks of trees
//! carry them ([`sides`]), else by a diagram of all of them. Exact unless the network is a dense mesh, or the essential
//! streams of a large plan hang together in too many ways; then both ends of a range are given.

mod apart;
mod bdd;
mod by_block;
mod connect;
mod engine;
pub mod formulas;
mod sides;
mod simplify;
mod skeleton;
#[cfg(test)]
mod tests;

use crate::graph::NONE;
use crate::single::Singles;
use crate::{Loss, Survival};
use apart::Apart;
use by_block::ByBlock;
use engine::Engine;
use loomwright_model::{Gear, Hours, Id, Item, Plan, Wiring};
use sides::Sides;
use std::collections::{BTreeMap, BTreeSet};

/// What is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mission {
    /// The chance of silence somewhere in a show of this length, nothing being repaired.
    Show(Hours),
    /// The share of time in silence over years, with repair; the time is for gear that does not say its own.
    Repaired(Hours),
}

/// A chance of being down, from the least it can be to the most; equal when it is exact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Down {
    /// Not less.
    pub least: f64,
    /// Not more.
    pub most: f64,
}

impl Down {
    /// Whether both ends are the same.
    pub fn is_exact(&self) -> bool {
        self.least == self.most
    }

    /// Chance of being up; the lower end if it is a range.
    pub fn up(&self) -> f64 {
        1.0 - self.most
    }
}

/// What a gear type costs in availability.
#[derive(Debug, Clone, PartialEq)]
pub struct Spare {
    /// The gear type.
    pub gear: Id,
    /// By how much the chance that an essential stream is down would shrink if gear of this type never failed:
    /// the most that spares of it can buy.
    pub gain: f64,
    /// How many of it there are.
    pub count: u32,
}

/// How likely streams stay up.
#[derive(Debug, Clone, PartialEq)]
pub struct Availability {
    /// What was asked.
    pub mission: Mission,
    /// Each demand; 1 for those never heard.
    pub demands: Vec<Down>,
    /// That at least one essential demand is down; `None` if there is none.
    pub essential: Option<Down>,
    /// Gear types by what spares of them buy, best first; those that buy nothing are left out.
    pub spares: Vec<Spare>,
    /// Gear types in use without a mean time between failures.
    pub taken_as_perfect: Vec<Id>,
}

/// Gear and chance of each box.
pub(crate) struct Boxes {
    gear: Vec<Option<Id>>,
    pub(crate) down: Vec<f64>,
}

impl Boxes {
    pub(crate) fn new((plan, wiring): (&Plan, &Wiring), mission: Mission) -> Self {
        let devices = plan.devices.values().map(|device| &device.gear);
        let gear: Vec<Option<Id>> = devices.chain(wiring.switches.values().map(|switch| &switch.gear)).cloned().map(Some).collect();
        let chance = |gear: &Option<Id>| gear.as_ref().and_then(|id| plan.gear.get(id)).map_or(0.0, |gear| down_chance(gear, mission));
        Self { down: gear.iter().map(chance).collect(), gear }
    }

    /// The chances with one gear type made perfect.
    fn without(&self, perfect: &Id) -> Vec<f64> {
        let boxes = self.gear.iter().zip(&self.down);
        boxes.map(|(gear, down)| if gear.as_ref() == Some(perfect) { 0.0 } else { *down }).collect()
    }
}

fn down_chance(gear: &Gear, mission: Mission) -> f64 {
    let Some(mtbf) = gear.mtbf.map(Hours::hours).filter(|mtbf| *mtbf > 0.0) else { return 0.0 };
    match mission {
        Mission::Show(length) => formulas::fails_within(mtbf, length.hours()),
        Mission::Repaired(otherwise) => formulas::down_share(mtbf, gear.mttr.unwrap_or(otherwise).hours()),
    }
}

impl Survival {
    /// How likely every demand and the essential ones together stay up. Near-linear for stars, chains and
    /// rings.
    pub fn availability(&self, (plan, wiring): (&Plan, &Wiring), singles: &Singles, mission: Mission) -> Availability {
        let boxes = Boxes::new((plan, wiring), mission);
        let mut engine = Engine::new(self, singles, boxes.down.iter().map(|down| *down > 0.0).collect());
        let down = engine.in_order(&boxes.down);
        let mut apart = Apart::new(self, &singles.forest, &boxes.down);
        let demands = (0..self.demands.all.len() as u32).map(|demand| {
            if let Some(down) = apart.as_mut().and_then(|apart| apart.demand(demand)) {
                return Down { least: down, most: down };
            }
            engine.make_room();
            let span = engine.demand(demand);
            engine.chance(span, &down)
        });
        let demands: Vec<Down> = demands.collect();
        let (essential, spares) = self.essential(singles, &boxes);
        Availability { mission, demands, essential, spares, taken_as_perfect: taken_as_perfect(plan, &boxes) }
    }

    fn essential(&self, singles: &Singles, boxes: &Boxes) -> (Option<Down>, Vec<Spare>) {
        let wanted: Vec<u32> = (0..self.demands.all.len() as u32).filter(|&demand| self.demands.all[demand as usize].essential).collect();
        if wanted.is_empty() {
            return (None, Vec::new());
        }
        if wanted.iter().any(|&demand| !self.is_heard(demand, &self.component)) {
            return (Some(Down { least: 1.0, most: 1.0 }), Vec::new());
        }
        let mut counts: BTreeMap<&Id, u32> = BTreeMap::new();
        for gear in boxes.gear.iter().zip(&boxes.down).filter(|(_, down)| **down > 0.0).filter_map(|(gear, _)| gear.as_ref()) {
            *counts.entry(gear).or_default() += 1;
        }
        let alone = self.needed_alone(singles, &wanted);
        // As it is, then with each gear type perfect.
        let cases: Vec<Vec<f64>> = [boxes.down.clone()].into_iter().chain(counts.keys().map(|gear| boxes.without(gear))).collect();
        let can_fail = failing(&boxes.down, &alone);
        let rest = self.rest_down(singles, &wanted, (&can_fail, &cases));
        let whole: Vec<Down> = cases
            .iter()
            .zip(rest)
            .map(|(down, rest)| {
                let alone = formulas::any_down(alone.iter().map(|&one| down[one as usize]));
                let either = |rest: f64| formulas::any_down([alone, rest]);
                Down { least: either(rest.least), most: either(rest.most) }
            })
            .collect();
        let spare = |((gear, count), perfect): ((&Id, u32), &Down)| Spare { gear: gear.clone(), gain: whole[0].most - perfect.most, count };
        let mut spares: Vec<Spare> = counts.into_iter().zip(&whole[1..]).map(spare).filter(|spare| spare.gain > 0.0).collect();
        spares.sort_by(|one, two| two.gain.total_cmp(&one.gain));
        (Some(whole[0]), spares)
    }

    /// That an essential demand is down, from the failures of one and of two boxes alone: quick, exact but for three
    /// boxes or more failing together, whose chance is the width of the range. `None` if nothing is essential.
    pub fn essential_by_pairs(&self, (plan, wiring): (&Plan, &Wiring), singles: &Singles, mission: Mission) -> Option<Down> {
        let boxes = Boxes::new((plan, wiring), mission);
        let wanted: Vec<u32> = (0..self.demands.all.len() as u32).filter(|&demand| self.demands.all[demand as usize].essential).collect();
        if wanted.iter().any(|&demand| !self.is_heard(demand, &self.component)) {
            return Some(Down { least: 1.0, most: 1.0 });
        }
        let alone = self.needed_alone(singles, &wanted);
        let pairs = self.pairs_of_boxes(singles, &failing(&boxes.down, &alone));
        let rest = by_pairs(&pairs, &boxes.down, &failing(&boxes.down, &alone));
        let alone = formulas::any_down(alone.iter().map(|&one| boxes.down[one as usize]));
        let either = |rest: f64| formulas::any_down([alone, rest]);
        (!wanted.is_empty()).then(|| Down { least: either(rest.least), most: either(rest.most) })
    }

    /// That one of `wanted` is down though every box that any of them needs alone is up, in each of several cases.
    /// Block by block where every demand has one way; by sides, if that is exact or close; else by the function of them all; where that grows too large by sides all the
    /// same; else what pairs of boxes say, not less than the worst of `wanted`, not more than their sum.
    fn rest_down(&self, singles: &Singles, wanted: &[u32], (can_fail, by_box): (&[bool], &[Vec<f64>])) -> Vec<Down> {
        if let Some(found) = ByBlock::new(self, singles, can_fail).down(wanted, by_box) {
            return found;
        }
        let sides = Sides::new(self, singles, (wanted, can_fail)).map(|sides| by_sides(&sides, by_box));
        if let Some(found) = sides.as_ref().filter(|found| found.iter().all(is_close)) {
            return found.clone();
        }
        let mut engine = Engine::new(self, singles, can_fail.to_vec());
        let cases: Vec<Vec<f64>> = by_box.iter().map(|down| engine.in_order(down)).collect();
        if let Some(all) = engine.all_of(wanted) {
            return cases.iter().map(|down| engine.chance(all, down)).collect();
        }
        if let Some(found) = sides {
            return found;
        }
        let mut engine = Engine::new(self, singles, can_fail.to_vec());
        let mut sums = vec![Down { least: 0.0, most: 0.0 }; cases.len()];
        for &demand in wanted {
            engine.make_room();
            let span = engine.demand(demand);
            for (sum, down) in sums.iter_mut().zip(&cases) {
                let one = engine.chance(span, down);
                *sum = Down { least: sum.least.max(one.least), most: (sum.most + one.most).min(1.0) };
            }
        }
        let pairs = self.pairs_of_boxes(singles, can_fail);
        for (sum, down) in sums.iter_mut().zip(by_box) {
            let other = by_pairs(&pairs, down, can_fail);
            *sum = Down { least: sum.least.max(other.least), most: sum.most.min(other.most) };
        }
        sums
    }

    /// Boxes that silence an essential demand alone, its own ends included.
    fn needed_alone(&self, singles: &Singles, wanted: &[u32]) -> BTreeSet<u32> {
        let mut alone: BTreeSet<u32> = wanted.iter().flat_map(|&demand| self.demands.all[demand as usize].ends).collect();
        for (failure, loss) in singles.losses().iter().enumerate() {
            let Loss::Gone(Item::Switch(id) | Item::Device(id)) = loss else { continue };
            if singles.silent(failure).iter().any(|demand| self.demands.all[*demand as usize].essential) {
                alone.extend(self.things.box_of(id));
            }
        }
        alone
    }
}

/// Widest range, as a part of the chance, that is not worth a diagram. Own choice: no more figures are printed.
const CLOSE: f64 = 1e-6;

fn is_close(down: &Down) -> bool {
    down.most - down.least <= CLOSE * down.most
}

/// Each case by sides; a case in which no box of them differs from the first is the first again.
fn by_sides(sides: &Sides, cases: &[Vec<f64>]) -> Vec<Down> {
    let boxes = sides.boxes();
    let mut found: Vec<Down> = Vec::with_capacity(cases.len());
    for case in cases {
        let is_first = |first: &Down| boxes.iter().all(|&at| case[at as usize] == cases[0][at as usize]).then_some(*first);
        let down = found.first().and_then(is_first).unwrap_or_else(|| sides.down(case));
        found.push(down);
    }
    found
}

/// Boxes that fail, and that nothing essential needs alone.
fn failing(down: &[f64], alone: &BTreeSet<u32>) -> Vec<bool> {
    down.iter().zip(0u32..).map(|(down, at)| *down > 0.0 && !alone.contains(&at)).collect()
}

/// Chance that exactly two boxes fail and are one of `pairs`, and that plus the chance of three or more: the sum over all
/// threes of the product of their chances is not less than it, and not more than the cube of the sum over six.
fn by_pairs(pairs: &[[u32; 2]], down: &[f64], can_fail: &[bool]) -> Down {
    let failing = || down.iter().zip(can_fail).filter(|(_, can_fail)| **can_fail).map(|(down, _)| *down);
    let all_up = failing().map(|down| (-down).ln_1p()).sum::<f64>().exp();
    let odds = |at: u32| down[at as usize] / (1.0 - down[at as usize]);
    let least = all_up * pairs.iter().map(|&[one, two]| odds(one) * odds(two)).sum::<f64>();
    if !least.is_finite() {
        return Down { least: 0.0, most: 1.0 };
    }
    Down { least, most: (least + failing().sum::<f64>().powi(3) / 6.0).min(1.0) }
}

fn taken_as_perfect(plan: &Plan, boxes: &Boxes) -> Vec<Id> {
    let mut found: Vec<Id> = Vec::new();
    for id in boxes.gear.iter().flatten() {
        if !found.contains(id) && plan.gear.get(id).is_none_or(|gear| gear.mtbf.is_none()) {
            found.push(id.clone());
        }
    }
    found
}

/// The box of a vertex, if it is a node.
fn box_of_vertex(boxes: &[u32], vertex: u32) -> Option<u32> {
    boxes.get(vertex as usize).copied().filter(|at| *at != NONE)
}
