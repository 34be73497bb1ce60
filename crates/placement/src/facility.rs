//! Which depots to open when each can serve so much, and demand may be split (capacitated facility location).
//!
//! Depots are opened, closed and exchanged as long as that helps; for every set of open depots the cheapest deliveries
//! are worked out exactly as a flow. The bound is that of [`crate::bound`], with depots that may serve parts of a demand.

use crate::flow;
use crate::problem::Cost;

/// Steps of the bound. Own choice.
const STEPS: usize = 1_200;

/// Parts of a unit in which rewards count.
const SCALE: i64 = 256;

/// Dearest single cost: 2^36. Own choice, so that sums fit.
const DEAREST: Cost = 1 << 36;

/// One depot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Depot {
    /// The most that it can deliver.
    pub capacity: u64,
    /// What it costs to have it.
    pub opening: Cost,
}

/// One customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Customer {
    /// What it needs.
    pub demand: u64,
    /// By depot: what delivering all of it costs.
    pub cost: Vec<Cost>,
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// By depot.
    pub open: Vec<bool>,
    /// Openings and deliveries, rounded up to whole units.
    pub cost: Cost,
    /// No answer costs less.
    pub bound: Cost,
}

/// Opens depots for all customers; `None` if all depots together cannot deliver what is needed.
pub fn open(depots: &[Depot], customers: &[Customer]) -> Option<Opened> {
    let mut open = vec![true; depots.len()];
    let mut cost = total(depots, customers, &open)?;
    let cheaper = |sets: Vec<Vec<bool>>, cost: Cost| {
        let best = sets.into_iter().filter_map(|set| Some((total(depots, customers, &set)?, set))).min();
        best.filter(|(other, _)| *other < cost)
    };
    while let Some(better) = cheaper(flips(&open), cost).or_else(|| cheaper(exchanges(&open), cost)) {
        (cost, open) = better;
    }
    let bound = bound(depots, customers, cost).min(cost);
    Some(Opened { open, cost, bound })
}

/// Every set with one depot more or less.
fn flips(open: &[bool]) -> Vec<Vec<bool>> {
    (0..open.len()).map(|at| flipped(open, at)).collect()
}

/// Every set with one open depot exchanged for a closed one.
fn exchanges(open: &[bool]) -> Vec<Vec<bool>> {
    let closed = || (0..open.len()).filter(|at| !open[*at]);
    (0..open.len()).filter(|at| open[*at]).flat_map(|one| closed().map(move |other| flipped(&flipped(open, one), other))).collect()
}

fn flipped(open: &[bool], at: usize) -> Vec<bool> {
    let mut set = open.to_vec();
    set[at] = !set[at];
    set
}

/// What a set of open depots costs with the cheapest deliveries; `None` if it cannot deliver all.
fn total(depots: &[Depot], customers: &[Customer], open: &[bool]) -> Option<Cost> {
    let chosen: Vec<usize> = (0..depots.len()).filter(|at| open[*at]).collect();
    let supply: Vec<u64> = chosen.iter().map(|at| depots[*at].capacity).collect();
    let rows: Vec<(u64, Vec<Cost>)> =
        customers.iter().map(|own| (own.demand, chosen.iter().map(|at| own.cost[*at].clamp(0, DEAREST)).collect())).collect();
    let opening: Cost = chosen.iter().map(|at| depots[*at].opening.clamp(0, DEAREST)).sum();
    Some(flow::cheapest(&supply, &rows)? + opening)
}

/// What a depot offers: its cost in parts, its capacity, and the parts of demands it delivers.
type Offer = (i64, u64, Vec<(usize, f64)>);

fn bound(depots: &[Depot], customers: &[Customer], known: Cost) -> Cost {
    let mut rewards: Vec<i64> = customers.iter().map(|own| own.cost.iter().min().copied().unwrap_or(0).clamp(0, DEAREST) * SCALE).collect();
    let (mut bound, mut top, mut stale, mut eagerness) = (0i64, rewards.clone(), 0, 1.5);
    for _ in 0..STEPS {
        let mut misses = vec![1.0f64; customers.len()];
        let mut value: i64 = rewards.iter().sum();
        let mut offers: Vec<Offer> = depots
            .iter()
            .enumerate()
            .map(|(at, depot)| {
                let (cost, parts) = offer((at, depot), customers, &rewards);
                (cost, depot.capacity, parts)
            })
            .collect();
        value += take(&mut offers, customers.iter().map(|own| own.demand).sum());
        offers.iter().flat_map(|(_, _, parts)| parts).for_each(|(customer, part)| misses[*customer] -= part);
        if value > bound {
            (bound, stale) = (value, 0);
            top.clone_from(&rewards);
        } else {
            stale += 1;
        }
        if bound > (known - 1) * SCALE || eagerness < 1e-4 {
            break;
        }
        if stale == 20 {
            (stale, eagerness) = (0, eagerness * 0.7);
            rewards.clone_from(&top);
        }
        let norm: f64 = misses.iter().map(|miss| miss * miss).sum();
        if norm < 1e-9 {
            break;
        }
        let step = eagerness * (known * SCALE - value) as f64 / norm;
        rewards.iter_mut().zip(&misses).for_each(|(reward, miss)| *reward = (*reward + (step * miss) as i64).clamp(0, DEAREST * SCALE));
    }
    bound.saturating_add(SCALE - 1) / SCALE
}

/// Keeps every offer that pays, and as many more, cheapest by capacity, as the whole demand needs; returns their cost,
/// rounded down. The last one may be kept in part as far as cost goes: that can only make the bound lower.
fn take(offers: &mut Vec<Offer>, demand: u64) -> i64 {
    offers.sort_by(|a, b| {
        let cross = i128::from(a.0) * i128::from(b.1.max(1)) - i128::from(b.0) * i128::from(a.1.max(1));
        cross.cmp(&0)
    });
    let (mut cost, mut capacity) = (0i64, 0u64);
    let mut kept = 0;
    for (own, room, _) in offers.iter() {
        if *own > 0 && capacity >= demand {
            break;
        }
        let wanted = demand.saturating_sub(capacity);
        cost += if *own > 0 && *room > wanted { (i128::from(*own) * i128::from(wanted) / i128::from(*room)) as i64 } else { *own };
        capacity = capacity.saturating_add(*room);
        kept += 1;
    }
    offers.truncate(kept);
    cost
}

/// What a depot costs, openings included, if it delivers what pays best, and the parts of demands it delivers.
fn offer((at, depot): (usize, &Depot), customers: &[Customer], rewards: &[i64]) -> (i64, Vec<(usize, f64)>) {
    let reduced = |customer: usize| customers[customer].cost[at].clamp(0, DEAREST) * SCALE - rewards[customer];
    let mut paying: Vec<(i64, usize)> =
        (0..customers.len()).map(|customer| (reduced(customer), customer)).filter(|(r, _)| *r < 0).collect();
    paying.sort_by(|a, b| {
        let cross = i128::from(a.0) * i128::from(customers[b.1].demand) - i128::from(b.0) * i128::from(customers[a.1].demand);
        cross.cmp(&0).then(a.1.cmp(&b.1))
    });
    let (mut left, mut cost, mut parts) = (depot.capacity, depot.opening.clamp(0, DEAREST) * SCALE, Vec::new());
    for (gain, customer) in paying {
        let demand = customers[customer].demand;
        let part = demand.min(left);
        if demand > 0 && part == 0 {
            break;
        }
        // Rounded towards the lower bound.
        cost += if part == demand { gain } else { (i128::from(gain) * i128::from(part)).div_euclid(i128::from(demand)) as i64 };
        parts.push((customer, if demand == 0 { 1.0 } else { part as f64 / demand as f64 }));
        left -= part;
    }
    (cost, parts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    #[test]
    fn open_depots_equal_trying_every_set() {
        let mut random = Random::new(12);
        let mut met = 0;
        for number in 0..40 {
            let depots: Vec<Depot> =
                (0..5).map(|_| Depot { capacity: 10 + random.below(20) as u64, opening: 1_000 + random.below(4_000) as Cost }).collect();
            let customer = |random: &mut Random| Customer {
                demand: 1 + random.below(9) as u64,
                cost: (0..5).map(|_| random.below(2_000) as Cost).collect(),
            };
            let customers: Vec<Customer> = (0..6).map(|_| customer(&mut random)).collect();
            let set = |set: usize| (0..5).map(|at| set >> at & 1 == 1).collect::<Vec<bool>>();
            let cheapest = (0..32).filter_map(|number| total(&depots, &customers, &set(number))).min();
            let found = open(&depots, &customers);
            assert_eq!(found.is_some(), cheapest.is_some());
            let (Some(found), Some(cheapest)) = (found, cheapest) else { continue };
            assert!(found.bound <= cheapest, "{number}: {} above {cheapest}", found.bound);
            assert!(found.cost >= cheapest && found.cost <= cheapest + cheapest / 20, "{number}: {} not {cheapest}", found.cost);
            met += usize::from(found.cost == cheapest);
        }
        assert!(met >= 30, "{met}");
    }
}
