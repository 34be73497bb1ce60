//! How close the bounds come to what a simulated packet really reached, over random networks.
//!
//! Random trees of 3 to 11 boxes, links of 100 Mb/s, 1 and 10 Gb/s, 1 to 20 streams of one class with up to three
//! receivers, half of the networks with lower frames in the way. For every receiver the simulator builds the schedule that makes
//! one packet as late as it can, then tries small changes. Prints how bound and reached delay compare.
//! Run: `cargo bench -p loomwright-delay --bench tightness -- NETWORKS MOVES SEED`.

#![allow(clippy::disallowed_methods, reason = "a benchmark takes arguments")]

#[path = "../tests/random/mod.rs"]
mod random;

use loomwright_delay::analyse;
use loomwright_simulator::{climb, worst_trace};
use random::{Dice, Pair, random_pair};

/// Counts of one kind of delivery.
#[derive(Default)]
struct Tally {
    compared: u32,
    tight: u32,
    sum: f64,
    worst: f64,
    known: u32,
}

impl Tally {
    fn add(&mut self, bound: u64, reached: u64, is_known: bool) {
        let ratio = bound as f64 / reached as f64;
        self.compared += 1;
        // Each queue of the trace loses up to two picoseconds.
        self.tight += u32::from(bound - reached <= 100);
        self.known += u32::from(is_known);
        self.sum += ratio;
        self.worst = self.worst.max(ratio);
    }

    fn print(&self, name: &str) {
        let share = |count: u32| 100.0 * f64::from(count) / f64::from(self.compared);
        println!(
            "{name}: {} deliveries, bound/reached mean {:.4} worst {:.3}, equal {:.1} %, known from the calculation {:.1} %",
            self.compared,
            self.sum / f64::from(self.compared),
            self.worst,
            share(self.tight),
            share(self.known)
        );
    }
}

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|argument| argument.parse().ok()).collect();
    let [networks, moves, seed] = [0, 1, 2].map(|at| numbers.get(at).copied().unwrap_or([1_000, 0, 1][at]));
    let mut dice = Dice(seed);
    let (mut all, mut calm, mut bunching) = (Tally::default(), Tally::default(), Tally::default());
    let (mut broken, mut overstated, mut unbounded) = (0, 0, 0);
    for _ in 0..networks {
        let Pair { network, net } = random_pair(&mut dice);
        let analysis = analyse(network.clone());
        for (stream, spec) in network.streams.iter().enumerate() {
            for hop in 0..spec.hops.len() {
                let Ok(bound) = analysis.bound(stream, hop) else {
                    unbounded += 1;
                    continue;
                };
                let mut reached = worst_trace(&net, stream as u32, hop as u32);
                if moves > 0 {
                    reached = climb(&net, (stream as u32, hop as u32), reached, (moves as u32, seed));
                }
                broken += u32::from(reached.delay > bound.worst.picoseconds());
                overstated += u32::from(bound.reached.picoseconds() > reached.delay + 100);
                let ratio = (bound.worst.picoseconds(), reached.delay, bound.is_known_tight());
                all.add(ratio.0.max(ratio.1), ratio.1, ratio.2);
                let kind = if bound.variation() < spec.period { &mut calm } else { &mut bunching };
                kind.add(ratio.0.max(ratio.1), ratio.1, ratio.2);
            }
        }
    }
    println!(
        "{networks} networks, {moves} moves, seed {seed}: {broken} bounds broken, {overstated} reached delays not met by the trace, {unbounded} hops without bound"
    );
    all.print("all");
    calm.print("variation below a period");
    bunching.print("variation of a period and more");
}
