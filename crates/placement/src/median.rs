//! Which `p` centres serve all with the least walking (the p-median problem).
//!
//! Centres are exchanged one for one as long as that helps (Teitz and Bart, from memory), from several starts by chance.
//! The bound gives each customer a reward for being served; every centre then decides alone, and the `p` best ones count.

use crate::problem::{Cost, MOST};
use crate::random::Random;

/// Starts by chance, and steps of the bound. Own choices.
const STARTS: u64 = 24;
const STEPS: usize = 1_500;

/// Parts of a unit in which rewards count.
const SCALE: i64 = 1_024;

/// Chosen centres.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Medians {
    /// Rising.
    pub centres: Vec<usize>,
    /// The sum over customers of the cost from the nearest chosen centre.
    pub cost: Cost,
    /// No choice of as many centres costs less.
    pub bound: Cost,
}

/// Chooses `count` of the centres; `cost` is by customer, then centre.
pub fn choose(cost: &[Vec<Cost>], count: usize) -> Medians {
    let centres = cost.first().map_or(0, Vec::len);
    let count = count.clamp(1, centres.max(1));
    let table: Vec<Vec<Cost>> =
        cost.iter().map(|row| (0..centres).map(|at| row.get(at).map_or(MOST, |c| (*c).clamp(0, MOST))).collect()).collect();
    if centres == 0 {
        return Medians { centres: Vec::new(), cost: 0, bound: 0 };
    }
    let mut best = (Cost::MAX, Vec::new());
    for seed in 0..STARTS {
        let mut chosen = start(centres, count, seed);
        let cost = exchange(&table, &mut chosen);
        chosen.sort_unstable();
        best = best.min((cost, chosen));
    }
    let bound = bound(&table, count, &mut best);
    Medians { bound: bound.min(best.0), cost: best.0, centres: best.1 }
}

fn start(centres: usize, count: usize, seed: u64) -> Vec<usize> {
    let mut random = Random::new(seed);
    let mut all: Vec<usize> = (0..centres).collect();
    (0..count).for_each(|at| all.swap(at, at + random.below(centres - at)));
    all.truncate(count);
    all
}

fn total(table: &[Vec<Cost>], chosen: &[usize]) -> Cost {
    table.iter().map(|row| chosen.iter().map(|centre| row[*centre]).min().unwrap_or(MOST)).sum()
}

/// Exchanges one centre for another, the best exchange first. For a new centre, what each old one is worth is found in
/// one pass: customers that gain change over; those of a centre that goes fall back to their second nearest.
fn exchange(table: &[Vec<Cost>], chosen: &mut [usize]) -> Cost {
    let mut now = total(table, chosen);
    loop {
        let near: Vec<[(Cost, usize); 2]> = table.iter().map(|row| two_nearest(row, chosen)).collect();
        let mut best = (0, 0, 0);
        for new in (0..table.first().map_or(0, Vec::len)).filter(|new| !chosen.contains(new)) {
            let mut gain = 0;
            let mut loss = vec![0; chosen.len()];
            for (row, [first, second]) in table.iter().zip(&near) {
                if row[new] < first.0 {
                    gain += first.0 - row[new];
                } else {
                    loss[first.1] += row[new].min(second.0) - first.0;
                }
            }
            let Some((least, at)) = loss.into_iter().zip(0..).min() else { continue };
            best = best.min((least - gain, at, new));
        }
        if best.0 >= 0 {
            return now;
        }
        chosen[best.1] = best.2;
        now += best.0;
    }
}

fn two_nearest(row: &[Cost], chosen: &[usize]) -> [(Cost, usize); 2] {
    let mut near = [(MOST, 0), (MOST, 0)];
    for (at, centre) in chosen.iter().enumerate() {
        let own = (row[*centre], at);
        if own.0 < near[0].0 {
            near = [own, near[0]];
        } else if own.0 < near[1].0 {
            near[1] = own;
        }
    }
    near
}

/// Raises the bound; the centres it picks on the way are tried as an answer.
fn bound(table: &[Vec<Cost>], count: usize, best: &mut (Cost, Vec<usize>)) -> Cost {
    let centres = table[0].len();
    let mut rewards: Vec<i64> = table.iter().map(|row| two_nearest(row, &best.1)[0].0 * SCALE).collect();
    let (mut bound, mut top, mut stale, mut eagerness) = (0i64, rewards.clone(), 0, 1.5);
    for _ in 0..STEPS {
        let worth = |centre: usize| table.iter().zip(&rewards).map(|(row, reward)| (row[centre] * SCALE - reward).min(0)).sum::<i64>();
        let mut ranked: Vec<(i64, usize)> = (0..centres).map(|centre| (worth(centre), centre)).collect();
        ranked.sort_unstable();
        ranked.truncate(count);
        let value = rewards.iter().sum::<i64>() + ranked.iter().map(|(worth, _)| worth).sum::<i64>();
        let mut chosen: Vec<usize> = ranked.iter().map(|(_, centre)| *centre).collect();
        let cost = total(table, &chosen);
        if cost < best.0 {
            chosen.sort_unstable();
            *best = (cost, chosen);
        }
        if value > bound {
            (bound, stale) = (value, 0);
            top.clone_from(&rewards);
        } else {
            stale += 1;
        }
        if bound > (best.0 - 1) * SCALE || eagerness < 1e-4 {
            break;
        }
        if stale == 20 {
            (stale, eagerness) = (0, eagerness * 0.7);
            rewards.clone_from(&top);
        }
        let served = |row: &[Cost], reward: i64| ranked.iter().filter(|(_, centre)| row[*centre] * SCALE < reward).count() as i64;
        let misses: Vec<i64> = table.iter().zip(&rewards).map(|(row, reward)| 1 - served(row, *reward)).collect();
        let norm: i64 = misses.iter().map(|miss| miss * miss).sum();
        if norm == 0 {
            break;
        }
        let step = eagerness * (best.0 * SCALE - value) as f64 / norm as f64;
        rewards
            .iter_mut()
            .zip(&misses)
            .for_each(|(reward, miss)| *reward = (*reward + (step * *miss as f64) as i64).clamp(0, MOST * SCALE));
    }
    bound.saturating_add(SCALE - 1) / SCALE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choice_equals_trying_every_choice() {
        let mut random = Random::new(8);
        for _ in 0..40 {
            let count = 1 + random.below(3);
            let table: Vec<Vec<Cost>> = (0..9).map(|_| (0..7).map(|_| random.below(100) as Cost).collect()).collect();
            let subsets = (0..1usize << 7).filter(|set| set.count_ones() as usize == count);
            let cheapest = subsets.map(|set| total(&table, &(0..7).filter(|at| set >> at & 1 == 1).collect::<Vec<usize>>())).min();
            let found = choose(&table, count);
            assert_eq!(Some(found.cost), cheapest);
            assert!(found.bound <= found.cost && total(&table, &found.centres) == found.cost);
        }
    }
}
