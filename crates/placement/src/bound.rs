//! A lower bound on the cost of every possible placement, without a solver.
//!
//! **Shape** (Lagrangian relaxation of "each item is served once", subgradient steps after Held and Karp, from memory):
//! each item gets a reward for being served. Given rewards, every place decides alone, and exactly, what it would serve:
//! items of equal needs are interchangeable, so it takes those of least cable cost less reward; running sums and a table
//! over (ports, power) give the best mix including the price steps of switches. The rewards plus what the places then
//! cost is a bound for any rewards. Rewards of items served twice fall, those of items not served rise.
//! Layers are bounded one by one: serving an item from different places in each can only be cheaper.
//! All sums are whole numbers ([`SCALE`] parts of a unit), so rounding cannot spoil the bound.

use crate::instance::{Instance, Load, Plane};
use crate::problem::{Cost, MOST};
use std::collections::BTreeMap;

/// Parts of one unit of cost in which rewards are counted.
pub(crate) const SCALE: i64 = 1_024;

/// What a place may serve: `least` to `most` ports and levels of power.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Limits {
    pub least: Load,
    pub most: Load,
}

impl Limits {
    pub const NONE: Self = Self { least: Load { ports: 0, level: 0 }, most: Load { ports: u32::MAX, level: u32::MAX } };

    /// Whether a place may serve (ports, level).
    pub fn holds(self, (ports, level): (u32, u32)) -> bool {
        self.allows(Load { ports, level })
    }

    fn allows(self, load: Load) -> bool {
        (self.least.ports..=self.most.ports).contains(&load.ports) && (self.least.level..=self.most.level).contains(&load.level)
    }
}

/// Items of equal needs within reach of one place.
#[derive(Debug, Clone)]
struct Class {
    need: Load,
    /// Item and what its cables cost, in parts.
    items: Vec<(u32, i64)>,
}

/// What one place serves in the relaxed problem.
#[derive(Debug, Clone, Default)]
pub(crate) struct Served {
    pub items: Vec<u32>,
    pub load: Load,
}

/// One layer, relaxed.
#[derive(Debug, Clone)]
pub(crate) struct Relaxed<'i> {
    plane: &'i Plane,
    items: usize,
    /// What must be served in this layer.
    pub active: Vec<bool>,
    classes: Vec<Vec<Class>>,
    /// No reward is above this: not serving an item costs it.
    highest: i64,
}

/// Loads that were best for a place, by (ports, level), each with its weight.
pub(crate) type Seen = BTreeMap<(u32, u32), f64>;

/// Rewards and what they gave.
#[derive(Debug, Clone)]
pub(crate) struct Rewards {
    /// By item, in parts.
    pub best: Vec<i64>,
    /// The bound that they give, in parts; `i64::MAX` if no placement keeps the limits.
    pub bound: i64,
    /// By place: how often each load was best, later steps counting more.
    pub seen: Vec<Seen>,
    /// What every place serves at the last step.
    pub served: Vec<Served>,
}

impl<'i> Relaxed<'i> {
    /// What the switches for a load cost.
    pub fn price(&self, (ports, level): (u32, u32)) -> Cost {
        if ports == 0 { 0 } else { self.plane.floor.cost(Load { ports, level }) }
    }

    /// One layer of `instance`.
    pub fn new(instance: &'i Instance, layer: usize) -> Self {
        let plane = &instance.planes[layer];
        let active: Vec<bool> = plane.least.iter().enumerate().map(|(item, need)| need.ports > 0 && !instance.is_stranded(item)).collect();
        let classes = (0..instance.places)
            .map(|place| {
                let mut by_need: BTreeMap<(u32, u32), Vec<(u32, i64)>> = BTreeMap::new();
                for item in (0..instance.items).filter(|item| active[*item]) {
                    let cost = instance.port_cost[item * (instance.places + 1) + place];
                    if cost < MOST {
                        let need = plane.least[item];
                        let cables = cost.saturating_mul(i64::from(need.ports)).min(MOST - 1);
                        by_need.entry((need.ports, need.level)).or_default().push((item as u32, cables * SCALE));
                    }
                }
                by_need.into_iter().map(|((ports, level), items)| Class { need: Load { ports, level }, items }).collect()
            })
            .collect();
        let highest = MOST / instance.planes.len().max(1) as i64 * SCALE;
        Self { plane, items: instance.items, active, classes, highest }
    }

    /// Rewards to begin with: what each item costs now, its part of the switches included.
    pub fn first_rewards(&self, cost: Cost) -> Vec<i64> {
        let count = self.active.iter().filter(|active| **active).count().max(1) as i64;
        let each = (cost.min(MOST) / count * SCALE).min(self.highest);
        self.active.iter().map(|active| if *active { each } else { 0 }).collect()
    }

    /// The bound for these rewards, in parts; `None` if a place cannot keep its limits. Fills `served`.
    pub fn evaluate(&self, rewards: &[i64], limits: &[Limits], served: &mut Vec<Served>) -> Option<i64> {
        let mut sum: i64 = rewards.iter().sum();
        served.clear();
        for place in 0..self.classes.len() {
            let (cost, own) = self.best_of(place, rewards, limits.get(place).copied().unwrap_or(Limits::NONE))?;
            sum = sum.saturating_add(cost);
            served.push(own);
        }
        Some(sum)
    }

    /// What `place` serves, given rewards, and what that costs.
    fn best_of(&self, place: usize, rewards: &[i64], limits: Limits) -> Option<(i64, Served)> {
        let mut ranked: Vec<(Load, Vec<(i64, u32)>)> = Vec::with_capacity(self.classes[place].len());
        for class in &self.classes[place] {
            let mut items: Vec<(i64, u32)> = Vec::new();
            let wants_more = limits.least.ports > 0 || limits.least.level > 0;
            items.extend(
                class
                    .items
                    .iter()
                    .map(|(item, cost)| (cost - rewards[*item as usize], *item))
                    .filter(|(reduced, _)| wants_more || *reduced < 0),
            );
            items.sort_unstable();
            let most = (limits.most.ports.min(self.plane.floor.ports) / class.need.ports.max(1)) as usize;
            items.truncate(most);
            if wants_more {
                let negative = items.partition_point(|(reduced, _)| *reduced < 0);
                items.truncate(negative.max(limits.least.ports as usize + limits.least.level as usize));
            }
            if !items.is_empty() {
                ranked.push((class.need, items));
            }
        }
        let mix = Mix::new(&ranked, self.plane, limits);
        let (cost, load) = mix.best(self.plane, place, limits)?;
        Some((cost, Served { items: mix.items(&ranked, load), load }))
    }

    /// Raises the bound for `steps` steps from `rewards`, aiming at `target` (in parts), the cost of a known placement.
    /// `keep_going` is told the best bound at every step.
    pub fn raise(
        &self,
        mut rewards: Vec<i64>,
        (limits, target): (&[Limits], i64),
        (steps, mut eagerness): (usize, f64),
        keep_going: &mut dyn FnMut(i64) -> bool,
    ) -> Rewards {
        let mut result =
            Rewards { best: rewards.clone(), bound: i64::MIN, seen: vec![Seen::new(); self.classes.len()], served: Vec::new() };
        let mut weight = 1.0;
        let mut served = Vec::new();
        let mut direction = vec![0.0f64; self.items];
        let mut stale = 0;
        for _ in 0..steps {
            let Some(bound) = self.evaluate(&rewards, limits, &mut served) else {
                result.bound = i64::MAX;
                return result;
            };
            if bound > result.bound {
                stale = if bound - result.bound.max(0) > target / 100_000 { 0 } else { stale + 1 };
                (result.bound, result.best) = (bound, rewards.clone());
            } else {
                stale += 1;
            }
            if stale >= PATIENCE {
                (stale, eagerness) = (0, eagerness * 0.7);
                rewards.clone_from(&result.best);
                direction.fill(0.0);
            }
            for (seen, served) in result.seen.iter_mut().zip(&served) {
                *seen.entry((served.load.ports, served.load.level)).or_default() += weight;
            }
            weight *= RECENCY;
            if result.bound >= target || eagerness < 1e-4 || !keep_going(result.bound) {
                break;
            }
            if !self.step(&mut rewards, (&mut direction, &served), eagerness * (target + SCALE - bound) as f64) {
                break;
            }
        }
        result.served = served;
        result
    }

    /// Moves the rewards; false if every item is served once, so that the bound is the answer.
    fn step(&self, rewards: &mut [i64], (direction, served): (&mut [f64], &[Served]), push: f64) -> bool {
        let mut misses: Vec<f64> = self.active.iter().map(|active| f64::from(u8::from(*active))).collect();
        served.iter().flat_map(|own| &own.items).for_each(|item| misses[*item as usize] -= 1.0);
        if misses.iter().all(|miss| *miss == 0.0) {
            return false;
        }
        for (own, miss) in direction.iter_mut().zip(&misses) {
            *own = miss + MOMENTUM * *own;
        }
        let norm: f64 = direction.iter().map(|own| own * own).sum();
        let size = push / norm.max(1e-9);
        for ((reward, own), active) in rewards.iter_mut().zip(direction.iter()).zip(&self.active) {
            if *active {
                *reward = (*reward).saturating_add((size * own) as i64).clamp(0, self.highest);
            }
        }
        true
    }
}

/// Steps without a better bound before steps get smaller, how much of the last direction is kept, and by how
/// much a step counts more than the one before it in what was seen. Own choices, found by trying.
const PATIENCE: usize = 20;
const MOMENTUM: f64 = 0.6;
const RECENCY: f64 = 1.05;

/// The best choice from every class, by (ports, level).
struct Mix {
    /// After each class: least cost by state; `i64::MAX` where it cannot be.
    stages: Vec<Vec<i64>>,
    sums: Vec<Vec<i64>>,
    ports: usize,
    levels: usize,
}

impl Mix {
    fn new(ranked: &[(Load, Vec<(i64, u32)>)], plane: &Plane, limits: Limits) -> Self {
        let all = |need: fn(&Load) -> u32| ranked.iter().map(|(load, items)| need(load) as usize * items.len()).sum::<usize>();
        let ports = all(|load| load.ports).min(plane.floor.ports.min(limits.most.ports) as usize);
        let levels = all(|load| load.level).min(plane.floor.levels.min(limits.most.level) as usize);
        let width = levels + 1;
        let mut start = vec![i64::MAX; (ports + 1) * width];
        start[0] = 0;
        let mut mix = Self { stages: vec![start], sums: Vec::new(), ports, levels };
        let mut full = Load::default();
        for (need, items) in ranked {
            let sums: Vec<i64> = std::iter::once(0)
                .chain(items.iter().scan(0i64, |sum, (reduced, _)| {
                    *sum += reduced;
                    Some(*sum)
                }))
                .collect();
            let before = &mix.stages[mix.stages.len() - 1];
            let mut after = vec![i64::MAX; before.len()];
            let (step_ports, step_level) = (need.ports as usize, need.level as usize);
            for p in 0..=(full.ports as usize).min(ports) {
                for l in 0..=(full.level as usize).min(levels) {
                    let from = before[p * width + l];
                    if from == i64::MAX {
                        continue;
                    }
                    for (count, sum) in sums.iter().enumerate() {
                        let (to_ports, to_level) = (p + count * step_ports, l + count * step_level);
                        if to_ports > ports || to_level > levels {
                            break;
                        }
                        let to = &mut after[to_ports * width + to_level];
                        *to = (*to).min(from + sum);
                    }
                }
            }
            full = full.plus(Load { ports: need.ports * items.len() as u32, level: need.level * items.len() as u32 });
            mix.stages.push(after);
            mix.sums.push(sums);
        }
        mix
    }

    fn best(&self, plane: &Plane, place: usize, limits: Limits) -> Option<(i64, Load)> {
        let last = &self.stages[self.stages.len() - 1];
        let mut best = limits.allows(Load::default()).then_some((0, Load::default()));
        for ports in 1..=self.ports as u32 {
            for level in 0..=self.levels as u32 {
                let load = Load { ports, level };
                let sum = last[ports as usize * (self.levels + 1) + level as usize];
                if sum == i64::MAX || !limits.allows(load) {
                    continue;
                }
                let cost = sum + (plane.floor.cost(load) + plane.opening[place]) * SCALE;
                if best.is_none_or(|(known, _)| cost < known) {
                    best = Some((cost, load));
                }
            }
        }
        best
    }

    /// The items behind a state, found by walking back through the classes.
    fn items(&self, ranked: &[(Load, Vec<(i64, u32)>)], load: Load) -> Vec<u32> {
        let (mut ports, mut level) = (load.ports as usize, load.level as usize);
        let width = self.levels + 1;
        let mut items = Vec::new();
        for (stage, (need, own)) in ranked.iter().enumerate().rev() {
            let now = self.stages[stage + 1][ports * width + level];
            let count = (0..=own.len()).find(|count| {
                let (less_ports, less_level) = (count * need.ports as usize, count * need.level as usize);
                if less_ports > ports || less_level > level {
                    return false;
                }
                let before = self.stages[stage][(ports - less_ports) * width + level - less_level];
                before != i64::MAX && before + self.sums[stage][*count] == now
            });
            let count = count.unwrap_or(0);
            items.extend(own[..count].iter().map(|(_, item)| *item));
            ports -= count * need.ports as usize;
            level -= count * need.level as usize;
        }
        items
    }
}
