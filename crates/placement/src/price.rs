//! What the switches of one place cost: the cheapest set of models for so many ports and so much power.
//!
//! **Shape**: for every number of ports, a staircase of (power, cost): each step has more power and costs more than the
//! one before. The staircase for `n` ports grows from those for `n` less the ports of each model; that for 0 ports holds
//! sets bought for their power alone. Exact, so price steps and bundles (two small for one big) come out right, and
//! nobody who searches for places has to think of models. O(ports x models x steps).
//!
//! Where as few switches as will do are wanted, sets are compared by their number first. More ports can then cost less:
//! two small switches in place of one big one. Bounds use the lower envelope, which never falls with ports or power.

use crate::problem::{Cost, MOST, Model};

/// One set of switches: a smaller set and the model added to it.
#[derive(Debug, Clone, Copy)]
struct Set {
    power: u64,
    cost: Cost,
    /// How many switches it has, where fewest are wanted; else 0.
    count: u32,
    /// The model added last and the set it was added to; `None` for the empty set.
    added: Option<(usize, usize)>,
}

/// Cheapest sets of switches by ports and power.
#[derive(Debug, Clone)]
pub struct Prices {
    sets: Vec<Set>,
    /// By ports: positions in `sets`, power and cost rising.
    stairs: Vec<Vec<usize>>,
    /// No set needs to have more.
    power: u64,
    fewest: bool,
}

impl Prices {
    /// For up to `ports` ports and `power`. Stock is not looked at here.
    pub fn new(models: &[Model], ports: u32, power: u64) -> Self {
        Self::of(models, (ports, power), false)
    }

    /// The same with as few switches as will do.
    pub fn fewest(models: &[Model], ports: u32, power: u64) -> Self {
        Self::of(models, (ports, power), true)
    }

    /// One or the other.
    pub(crate) fn of(models: &[Model], (ports, power): (u32, u64), fewest: bool) -> Self {
        let mut prices = Self { sets: vec![Set { power: 0, cost: 0, count: 0, added: None }], stairs: vec![vec![0]], power, fewest };
        prices.for_power_alone(models);
        for wanted in 1..=ports as usize {
            let mut found = Vec::new();
            for (number, model) in models.iter().enumerate().filter(|(_, model)| model.ports > 0) {
                let smaller = &prices.stairs[wanted.saturating_sub(model.ports as usize)];
                found.extend(smaller.iter().map(|set| prices.with(*set, number, model)));
            }
            let kept = staircase(found);
            prices.keep(kept);
        }
        prices
    }

    /// Adds every model to the sets for 0 ports until that gives nothing better.
    fn for_power_alone(&mut self, models: &[Model]) {
        if self.power == 0 {
            return;
        }
        loop {
            let stairs = self.stairs.remove(0);
            let mut found: Vec<Set> = stairs.iter().map(|at| self.sets[*at]).collect();
            let known: Vec<(u64, u32, Cost)> = found.iter().map(|set| (set.power, set.count, set.cost)).collect();
            for (number, model) in models.iter().enumerate().filter(|(_, model)| model.power > 0) {
                found.extend(stairs.iter().map(|set| self.with(*set, number, model)));
            }
            let kept = staircase(found);
            let is_settled = kept.iter().map(|set| (set.power, set.count, set.cost)).eq(known);
            self.keep(kept);
            if is_settled {
                return;
            }
        }
    }

    fn with(&self, set: usize, number: usize, model: &Model) -> Set {
        let smaller = self.sets[set];
        Set {
            power: smaller.power.saturating_add(model.power).min(self.power),
            cost: smaller.cost.saturating_add(model.price.clamp(0, MOST)).min(MOST),
            count: smaller.count + u32::from(self.fewest),
            added: Some((number, set)),
        }
    }

    fn keep(&mut self, kept: Vec<Set>) {
        let first = self.sets.len();
        self.stairs.push((first..first + kept.len()).collect());
        self.sets.extend(kept);
    }

    /// The least cost of switches with so many ports and so much power; `None` if no set has them.
    pub fn cost(&self, ports: u32, power: u64) -> Option<Cost> {
        self.set(ports, power).map(|set| self.sets[set].cost)
    }

    /// How many of each of `models` models the cheapest set has; `None` if no set will do.
    pub fn bundle(&self, ports: u32, power: u64, models: usize) -> Option<Vec<u32>> {
        let mut set = self.sets[self.set(ports, power)?];
        let mut counts = vec![0; models];
        while let Some((model, smaller)) = set.added {
            counts[model] += 1;
            set = self.sets[smaller];
        }
        Some(counts)
    }

    fn set(&self, ports: u32, power: u64) -> Option<usize> {
        let stairs = self.stairs.get(ports as usize)?;
        let at = stairs.partition_point(|set| self.sets[*set].power < power);
        stairs.get(at).copied().filter(|set| self.sets[*set].cost < MOST)
    }
}

/// Leaves only sets that are better (fewer, then cheaper) than all with as much power, least power first.
fn staircase(mut sets: Vec<Set>) -> Vec<Set> {
    sets.sort_by_key(|set| (std::cmp::Reverse(set.power), set.count, set.cost, set.added));
    let mut kept: Vec<Set> = Vec::new();
    let mut best = (u32::MAX, Cost::MAX);
    for set in sets {
        if (set.count, set.cost) < best {
            best = (set.count, set.cost);
            kept.push(set);
        }
    }
    kept.reverse();
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    fn model(ports: u32, power: u64, price: Cost) -> Model {
        Model { ports, power, price, stock: None }
    }

    /// Every set of at most `left` switches, one by one.
    fn slow(models: &[Model], ports: i64, power: i64, left: usize) -> Option<Cost> {
        if ports <= 0 && power <= 0 {
            return Some(0);
        }
        if left == 0 {
            return None;
        }
        let with = |model: &Model| {
            slow(models, ports - i64::from(model.ports), power - model.power as i64, left - 1).map(|cost| cost + model.price)
        };
        models.iter().filter_map(with).min()
    }

    #[test]
    fn cheapest_set_equals_trying_every_set() {
        let mut random = Random::new(3);
        for _ in 0..30 {
            let models: Vec<Model> =
                (0..3).map(|_| model(2 + random.below(6) as u32, random.below(5) as u64, 10 + random.below(30) as i64)).collect();
            let prices = Prices::new(&models, 12, 8);
            for (ports, power) in (0..=12).flat_map(|ports| (0..=8).map(move |power| (ports, power))) {
                let expected = slow(&models, i64::from(ports), power as i64, 8);
                assert_eq!(prices.cost(ports, power), expected.or(prices.cost(ports, power)), "{models:?} {ports} {power}");
                let bundle = prices.bundle(ports, power, 3);
                let sum = |value: &dyn Fn(&Model) -> i64| {
                    bundle
                        .as_ref()
                        .map(|counts| models.iter().zip(counts).map(|(model, count)| value(model) * i64::from(*count)).sum::<i64>())
                };
                assert_eq!(sum(&|model| model.price), prices.cost(ports, power));
                assert!(sum(&|model| i64::from(model.ports)).is_none_or(|has| has >= i64::from(ports)));
                assert!(sum(&|model| model.power as i64).is_none_or(|has| has >= power as i64));
            }
        }
    }

    /// Fewest switches of every set of at most `left`, then least cost, one by one.
    fn slow_fewest(models: &[Model], ports: i64, power: i64, left: usize) -> Option<(usize, Cost)> {
        (0..=left).find_map(|count| slow(models, ports, power, count).map(|cost| (count, cost)))
    }

    #[test]
    fn fewest_switches_equal_trying_every_set() {
        let mut random = Random::new(8);
        let mut falls = 0;
        for _ in 0..30 {
            let models: Vec<Model> =
                (0..3).map(|_| model(2 + random.below(6) as u32, random.below(5) as u64, 10 + random.below(30) as i64)).collect();
            let prices = Prices::fewest(&models, 12, 8);
            for (ports, power) in (1..=12).flat_map(|ports| (0..=8).map(move |power| (ports, power))) {
                let expected = slow_fewest(&models, i64::from(ports), power as i64, 6);
                let found = prices.bundle(ports, power, 3).map(|counts| counts.iter().sum::<u32>() as usize).zip(prices.cost(ports, power));
                assert!(expected.is_none() || found == expected, "{models:?} {ports} {power}: {found:?} {expected:?}");
                falls += usize::from(prices.cost(ports, power) < prices.cost(ports - 1, power));
            }
        }
        assert!(falls > 0, "the case that more ports cost less is never met");
    }

    #[test]
    fn power_that_no_model_gives_has_no_price() {
        let prices = Prices::new(&[model(8, 0, 100)], 10, 5);
        assert_eq!((prices.cost(9, 0), prices.cost(1, 1), prices.cost(0, 0)), (Some(200), None, Some(0)));
        assert_eq!(Prices::new(&[], 4, 0).cost(1, 0), None);
    }
}
