//! The judge of `simulator` against the fast ways on as many random plans as are asked for.
//!
//! `cargo run --release -p loomwright-survival --example judge -- 10000`: every single failure of each plan, and every
//! pair of failures of each hundredth. Stops at the first that disagrees.
#![allow(dead_code, clippy::disallowed_methods)]

#[path = "../tests/judges/failures.rs"]
mod failures;
#[path = "../tests/judges/fleet.rs"]
mod fleet;
#[path = "../tests/judges/plain.rs"]
mod plain;

fn main() {
    let plans: u64 = std::env::args().nth(1).and_then(|word| word.parse().ok()).unwrap_or(10_000);
    let mut seen = failures::Seen::default();
    (0..plans).for_each(|seed| failures::try_singles(1_000_000 + seed, &mut seen));
    println!("{} plans: {} single failures agree; {} silenced, {} gaps", seen.plans, seen.failures, seen.silenced, seen.gaps);
    let pairs: u64 = (0..plans.div_ceil(100)).map(|seed| failures::try_pairs(2_000_000 + seed)).sum();
    println!("{} plans: {pairs} pairs of failures agree", plans.div_ceil(100));
}
