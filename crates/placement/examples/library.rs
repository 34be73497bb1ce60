//! Solves one file of the OR-Library, `cap*` or `pmed*`, and prints cost and bound for `benchsuite/placement`.

#![allow(clippy::disallowed_methods, reason = "an example reads a file")]

use loomwright_placement::facility::{self, Customer, Depot};
use loomwright_placement::median;

/// Costs of `cap` files have up to five decimals.
const PARTS: f64 = 100_000.0;

fn main() {
    let path = std::env::args().nth(1).expect("usage: library FILE");
    let text = std::fs::read_to_string(&path).expect("a readable file");
    let mut numbers = text.split_whitespace().map(|word| word.trim_end_matches('.').parse::<f64>().expect("a number"));
    let mut next = || numbers.next().expect("the file is whole");
    let name = path.rsplit('/').next().unwrap_or_default();
    let (cost, bound) = if name.starts_with("cap") { depots(&mut next) } else { medians(&mut next) };
    println!("cost {cost} bound {bound}");
}

/// `m n`, then capacity and opening of each depot, then for each customer its demand and what all of it costs from each.
fn depots(next: &mut dyn FnMut() -> f64) -> (i64, i64) {
    let (depots, customers) = (next() as usize, next() as usize);
    let whole = |cost: f64| (cost * PARTS).round() as i64;
    let depots: Vec<Depot> = (0..depots).map(|_| Depot { capacity: next() as u64, opening: whole(next()) }).collect();
    let customers: Vec<Customer> =
        (0..customers).map(|_| Customer { demand: next() as u64, cost: (0..depots.len()).map(|_| whole(next())).collect() }).collect();
    let found = facility::open(&depots, &customers).expect("the depots can serve all");
    (found.cost, found.bound)
}

/// `n m p`, then edges; of repeated edges the last one counts.
fn medians(next: &mut dyn FnMut() -> f64) -> (i64, i64) {
    let (nodes, edges, count) = (next() as usize, next() as usize, next() as usize);
    let mut far = vec![vec![1i64 << 30; nodes]; nodes];
    (0..nodes).for_each(|node| far[node][node] = 0);
    for _ in 0..edges {
        let (one, other, cost) = (next() as usize - 1, next() as usize - 1, next() as i64);
        (far[one][other], far[other][one]) = (cost, cost);
    }
    for through in 0..nodes {
        let row = far[through].clone();
        for from in &mut far {
            let first = from[through];
            from.iter_mut().zip(&row).for_each(|(own, second)| *own = (*own).min(first + second));
        }
    }
    let found = median::choose(&far, count);
    (found.cost, found.bound)
}
