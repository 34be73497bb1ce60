//! The shortest round: in which order to walk to places and come back.
//!
//! Up to [`EXACT`] stops the answer is the shortest (every subset, Held and Karp 1962, from memory). Beyond that, pieces
//! of the round are turned round or moved as long as it gets shorter, from many starts and after small shake-ups; the
//! bound is the shortest tree plus one edge (1-tree), with node weights raised step by step (Held and Karp 1970, from
//! memory), in whole numbers.

use crate::random::Random;

/// Most stops for which every order is covered. Own choice: 2^12 x 12 x 12 steps.
pub const EXACT: usize = 12;

/// Most shake-ups, looks at pairs and triples of stops for all of them together, and steps of the bound. Own choices.
const SHAKES: usize = 400;
const LOOKS: usize = 150_000_000;
const STEPS: usize = 300;

/// Parts of a unit in which node weights count.
const SCALE: i64 = 64;

/// Distances longer than this count as this, so that sums fit. Own choice.
const FAR: u64 = 1 << 40;

/// A round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tour {
    /// All stops in order, the first one given first; the way back to it is not repeated.
    pub order: Vec<usize>,
    /// Its length, way back included.
    pub length: u64,
    /// No round is shorter.
    pub bound: u64,
}

/// The shortest round through all stops, or one near it. `distance` is by stop, then stop, the same both ways.
pub fn round(distance: &[Vec<u64>]) -> Tour {
    let stops = distance.len();
    let far = |from: usize, to: usize| distance[from].get(to).copied().unwrap_or(FAR).min(FAR);
    let table: Vec<Vec<u64>> = (0..stops).map(|from| (0..stops).map(|to| if from == to { 0 } else { far(from, to) }).collect()).collect();
    if stops <= EXACT {
        let order = exact(&table);
        let length = length(&table, &order);
        return Tour { order, length, bound: length };
    }
    let order = near(&table);
    let length = length(&table, &order);
    let bound = one_tree(&table, length).min(length);
    Tour { order, length, bound }
}

fn length(table: &[Vec<u64>], order: &[usize]) -> u64 {
    order.iter().zip(order.iter().cycle().skip(1)).map(|(from, to)| table[*from][*to]).sum()
}

fn exact(table: &[Vec<u64>]) -> Vec<usize> {
    let stops = table.len();
    if stops < 3 {
        return (0..stops).collect();
    }
    let subsets = 1usize << (stops - 1);
    let mut best = vec![vec![(u64::MAX, 0); stops - 1]; subsets];
    for last in 0..stops - 1 {
        best[1 << last][last] = (table[0][last + 1], last);
    }
    for subset in 1..subsets {
        for last in (0..stops - 1).filter(|last| subset & (1 << last) > 0 && !subset.is_power_of_two()) {
            let before = subset & !(1 << last);
            let ways = (0..stops - 1).filter(|stop| before & (1 << stop) > 0);
            let least = ways.map(|stop| (best[before][stop].0.saturating_add(table[stop + 1][last + 1]), stop)).min();
            best[subset][last] = least.unwrap_or((u64::MAX, 0));
        }
    }
    let mut subset = subsets - 1;
    let ends = (0..stops - 1).map(|last| (best[subset][last].0.saturating_add(table[last + 1][0]), last));
    let mut last = ends.min().map_or(0, |(_, last)| last);
    let mut order = Vec::new();
    while subset > 0 {
        order.push(last + 1);
        let before = best[subset][last].1;
        subset &= !(1 << last);
        last = before;
    }
    order.push(0);
    order.reverse();
    order
}

fn near(table: &[Vec<u64>]) -> Vec<usize> {
    let stops = table.len();
    let mut best = (u64::MAX, Vec::new());
    for start in (0..stops).step_by(stops.div_ceil(6)) {
        let mut order = vec![start];
        let mut left: Vec<usize> = (0..stops).filter(|stop| *stop != start).collect();
        while let Some(at) = (0..left.len()).min_by_key(|at| (table[order[order.len() - 1]][left[*at]], left[*at])) {
            order.push(left.swap_remove(at));
        }
        shorten(table, &mut order);
        best = best.min((length(table, &order), order));
    }
    let mut random = Random::new(stops as u64);
    let shakes = SHAKES.min(LOOKS / stops.saturating_pow(3).max(1));
    for _ in 0..shakes {
        let mut order = best.1.clone();
        let mut cuts = [1 + random.below(stops - 1), 1 + random.below(stops - 1), 1 + random.below(stops - 1)];
        cuts.sort_unstable();
        let [a, b, c] = cuts;
        order = [&order[..a], &order[b..c], &order[a..b], &order[c..]].concat();
        shorten(table, &mut order);
        best = best.min((length(table, &order), order));
    }
    let at = best.1.iter().position(|stop| *stop == 0).unwrap_or(0);
    best.1.rotate_left(at);
    best.1
}

/// Turns pieces round and moves short pieces until neither helps.
fn shorten(table: &[Vec<u64>], order: &mut Vec<usize>) {
    while turn_one(table, order) || move_one(table, order) {}
}

fn turn_one(table: &[Vec<u64>], order: &mut [usize]) -> bool {
    let stops = order.len();
    for from in 0..stops - 1 {
        for to in from + 2..stops {
            let next = (to + 1) % stops;
            if next == from {
                continue;
            }
            let now = table[order[from]][order[from + 1]] + table[order[to]][order[next]];
            if table[order[from]][order[to]] + table[order[from + 1]][order[next]] < now {
                order[from + 1..=to].reverse();
                return true;
            }
        }
    }
    false
}

fn move_one(table: &[Vec<u64>], order: &mut Vec<usize>) -> bool {
    let stops = order.len();
    for (size, at) in (1..=3).flat_map(|size| (0..stops).map(move |at| (size, at))) {
        order.rotate_left(at);
        let (piece, rest) = order.split_at(size);
        let (first, last) = (piece[0], piece[size - 1]);
        let closed = table[rest[rest.len() - 1]][rest[0]];
        let gain = (table[rest[rest.len() - 1]][first] + table[last][rest[0]]) as i64 - closed as i64;
        let gap = |to: usize, ends: [usize; 2]| {
            (table[rest[to]][ends[0]] + table[ends[1]][rest[to + 1]]) as i64 - table[rest[to]][rest[to + 1]] as i64
        };
        let places = (0..rest.len() - 1).flat_map(|to| [(gap(to, [first, last]), to, false), (gap(to, [last, first]), to, true)]);
        if let Some((_, to, turned)) = places.min().filter(|(cost, ..)| *cost < gain) {
            let mut piece = piece.to_vec();
            if turned {
                piece.reverse();
            }
            *order = [&rest[..=to], &piece, &rest[to + 1..]].concat();
            return true;
        }
    }
    false
}

/// The longest 1-tree over node weights: no round is shorter.
fn one_tree(table: &[Vec<u64>], known: u64) -> u64 {
    let stops = table.len();
    let (mut weights, mut best) = (vec![0i64; stops], 0i64);
    let mut eagerness = 1.0;
    for step in 0..STEPS {
        let (tree, degree) = one_tree_with(table, &weights);
        let value = tree - 2 * weights.iter().sum::<i64>();
        if value <= best && step % 12 == 11 {
            eagerness *= 0.8;
        }
        best = best.max(value);
        let off: i64 = degree.iter().map(|degree| (degree - 2) * (degree - 2)).sum();
        if off == 0 {
            break;
        }
        let push = eagerness * ((known as i64 * SCALE - value).max(SCALE)) as f64 / off as f64;
        for (weight, degree) in weights.iter_mut().zip(&degree) {
            *weight += (push * (degree - 2) as f64) as i64;
        }
    }
    (best.max(0) as u64).div_ceil(SCALE as u64)
}

/// Length in parts and degrees of the shortest tree over all stops but the first, plus the first's two nearest.
fn one_tree_with(table: &[Vec<u64>], weights: &[i64]) -> (i64, Vec<i64>) {
    let stops = table.len();
    let far = |from: usize, to: usize| table[from][to] as i64 * SCALE + weights[from] + weights[to];
    let mut degree = vec![0i64; stops];
    let mut nearest: Vec<(i64, usize)> = (0..stops).map(|stop| (far(1, stop), 1)).collect();
    let mut left: Vec<usize> = (2..stops).collect();
    let mut sum = 0;
    while let Some(at) = (0..left.len()).min_by_key(|at| nearest[left[*at]]) {
        let stop = left.swap_remove(at);
        let (cost, from) = nearest[stop];
        sum += cost;
        degree[stop] += 1;
        degree[from] += 1;
        left.iter().for_each(|other| nearest[*other] = nearest[*other].min((far(stop, *other), stop)));
    }
    let mut ends: Vec<(i64, usize)> = (1..stops).map(|stop| (far(0, stop), stop)).collect();
    ends.sort_unstable();
    for (cost, stop) in ends.into_iter().take(2) {
        sum += cost;
        degree[0] += 1;
        degree[stop] += 1;
    }
    (sum, degree)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(random: &mut Random, stops: usize) -> Vec<Vec<u64>> {
        let spots: Vec<[i64; 2]> = (0..stops).map(|_| [random.below(1_000) as i64, random.below(1_000) as i64]).collect();
        let walk = |a: [i64; 2], b: [i64; 2]| a[0].abs_diff(b[0]) + a[1].abs_diff(b[1]);
        spots.iter().map(|from| spots.iter().map(|to| walk(*from, *to)).collect()).collect()
    }

    fn slow(table: &[Vec<u64>], order: &mut Vec<usize>) -> u64 {
        if order.len() == table.len() {
            return length(table, order);
        }
        let mut best = u64::MAX;
        for stop in 0..table.len() {
            if !order.contains(&stop) {
                order.push(stop);
                best = best.min(slow(table, order));
                order.pop();
            }
        }
        best
    }

    #[test]
    fn few_stops_equal_trying_every_order() {
        let mut random = Random::new(1);
        for stops in 0..8 {
            let table = table(&mut random, stops);
            let tour = round(&table);
            assert_eq!(tour.length, if stops == 0 { 0 } else { slow(&table, &mut vec![0]) });
            assert_eq!(tour.bound, tour.length);
        }
    }

    #[test]
    fn search_and_bound_meet_the_exact_answer() {
        let mut random = Random::new(4);
        for _ in 0..20 {
            let table = table(&mut random, 11);
            let shortest = length(&table, &exact(&table));
            assert_eq!(length(&table, &near(&table)), shortest);
            assert!(one_tree(&table, shortest) <= shortest);
        }
    }

    #[test]
    fn eighty_stops_come_within_three_percent() {
        let mut random = Random::new(6);
        let tour = round(&table(&mut random, 80));
        assert!(tour.bound <= tour.length && tour.length * 100 <= tour.bound * 103, "{} over {}", tour.length, tour.bound);
        let mut order = tour.order.clone();
        order.sort_unstable();
        assert!(order.iter().copied().eq(0..80) && tour.order[0] == 0);
    }
}
