//! How close the bounds come to what a simulated packet really reached, over random networks.
//!
//! Random trees of 3 to 11 boxes, links of 100 Mb/s, 1 and 10 Gb/s, 1 to 20 streams of one class with up to three
//! receivers, half of the networks with lower frames in the way. For every hop of every stream the simulator builds the schedule
//! that makes one packet as late as it can; where the bound is more than a tenth above, it tries MOVES small changes, where it is more
//! than a fifth above, ten times as many, and more than two fifths, a hundred times. Prints how bound and reached delay compare, and the networks that are furthest apart.
//! Run: `cargo bench -p loomwright-delay --bench tightness -- NETWORKS MOVES SEED`; one network alone, queue by queue, with
//! `-- NETWORKS MOVES SEED only NETWORK`.

#![allow(clippy::disallowed_methods, reason = "a benchmark takes arguments")]

#[path = "../tests/random/mod.rs"]
mod random;

use loomwright_delay::{Analysis, Bound, analyse};
use loomwright_model::Time;
use loomwright_simulator::{Player, Reached, Search, climb, worst_spell, worst_trace_on};
use random::{Dice, Pair, random_pair};

/// Counts of one kind of delivery.
#[derive(Default)]
struct Tally {
    tight: u32,
    known: u32,
    ratios: Vec<f64>,
}

impl Tally {
    fn add(&mut self, bound: Bound, reached: u64) {
        let worst = bound.worst.picoseconds();
        // Each queue of the trace loses up to two picoseconds.
        self.tight += u32::from(worst <= reached + 100);
        self.known += u32::from(bound.is_known_tight());
        self.ratios.push(worst as f64 / reached as f64);
    }

    fn print(&mut self, name: &str) {
        self.ratios.sort_by(f64::total_cmp);
        let count = self.ratios.len();
        let share = |part: u32| 100.0 * f64::from(part) / count as f64;
        let at = |part: usize| self.ratios.get((count * part / 100).min(count.saturating_sub(1))).copied().unwrap_or(f64::NAN);
        println!(
            "{name}: {count} deliveries, bound/reached mean {:.4}, 95th percentile {:.4}, 99th {:.4}, max {:.3}, equal {:.1} %, known from the calculation {:.1} %",
            self.ratios.iter().sum::<f64>() / count as f64,
            at(95),
            at(99),
            at(100),
            share(self.tight),
            share(self.known)
        );
    }
}

/// What is found out.
#[derive(Default)]
struct Report {
    all: Tally,
    calm: Tally,
    bunching: Tally,
    broken: u32,
    overstated: u32,
    unbounded: u32,
    /// Ratio, network, stream, hop.
    furthest: Vec<(f64, u64, usize, usize)>,
}

impl Report {
    fn add(&mut self, analysis: &Analysis, (network, stream, hop): (u64, usize, usize), reached: u64) {
        let Ok(bound) = analysis.bound(stream, hop) else { return };
        self.broken += u32::from(reached > bound.worst.picoseconds());
        self.overstated += u32::from(bound.reached.picoseconds() > reached + 100);
        self.all.add(bound, reached);
        let is_calm = bound.variation() < analysis.network().streams[stream].period;
        if is_calm { &mut self.calm } else { &mut self.bunching }.add(bound, reached);
        self.furthest.push((bound.worst.picoseconds() as f64 / reached as f64, network, stream, hop));
        if self.furthest.len() > 10_000 {
            self.keep_furthest();
        }
    }

    fn keep_furthest(&mut self) {
        self.furthest.sort_by(|one, other| other.0.total_cmp(&one.0));
        self.furthest.truncate(10);
    }
}

fn look(player: &mut Player, (stream, hop): (u32, u32), bound: u64, (moves, seed): (u32, u64)) -> Reached {
    let mut reached = worst_trace_on(player, stream, hop);
    if u128::from(bound) * 20 > u128::from(reached.delay) * 21 {
        reached = worst_spell(player, (stream, hop), reached);
    }
    for (tenths, moves) in [(11, moves), (12, moves.saturating_mul(10)), (14, moves.saturating_mul(100))] {
        if u128::from(bound) * 10 > u128::from(reached.delay) * tenths {
            reached = climb(player, (stream, hop), reached, Search { moves, seed, enough: bound - bound / 50 });
        }
    }
    reached
}

/// One delivery, and where its bound comes from.
fn show(analysis: &Analysis, (stream, hop): (usize, usize), reached: u64) {
    let Ok(bound) = analysis.bound(stream, hop) else { return };
    let ratio = bound.worst.picoseconds() as f64 / reached as f64;
    println!("stream {stream} hop {hop}: bound {}, reached {}, ratio {ratio:.3}", bound.worst, Time::from_picoseconds(reached));
    for part in analysis.parts(stream, hop) {
        let meets: Vec<String> = analysis.streams_at(part.port as usize).map(|other| describe(analysis, other, part.port)).collect();
        println!("  queue {}: wait {}, blocked {}, own {}; {}", part.port, part.wait, part.blocked, part.serialise, meets.join(", "));
    }
}

/// Number, frame time at the queue, period, and the queue before.
fn describe(analysis: &Analysis, stream: usize, port: u32) -> String {
    let spec = &analysis.network().streams[stream];
    let Some(hop) = spec.hops.iter().find(|hop| hop.port == port) else { return String::new() };
    let from = spec.hops.get(hop.parent as usize).map_or(String::new(), |before| format!(" from {}", before.port));
    format!("#{stream} {} per {}{from}", hop.send, spec.period)
}

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|argument| argument.parse().ok()).collect();
    let [networks, moves, seed] = [0, 1, 2].map(|at| numbers.get(at).copied().unwrap_or([1_000, 100, 1][at]));
    let only = numbers.get(3).copied();
    let mut dice = Dice(seed);
    let mut report = Report::default();
    for at in 0..networks.max(only.map_or(0, |only| only + 1)) {
        let Pair { network, net } = random_pair(&mut dice);
        if only.is_some_and(|only| only != at) {
            continue;
        }
        let analysis = analyse(network.clone());
        let mut player = Player::new(&net);
        for (stream, spec) in network.streams.iter().enumerate() {
            for hop in 0..spec.hops.len() {
                let Ok(bound) = analysis.bound(stream, hop) else {
                    report.unbounded += 1;
                    continue;
                };
                let reached = look(&mut player, (stream as u32, hop as u32), bound.worst.picoseconds(), (moves as u32, seed));
                if only.is_some() {
                    show(&analysis, (stream, hop), reached.delay);
                }
                report.add(&analysis, (at, stream, hop), reached.delay);
            }
        }
    }
    let Report { broken, overstated, unbounded, .. } = report;
    println!(
        "{networks} networks, {moves} moves, seed {seed}: {broken} bounds broken, {overstated} reached delays not met by the trace, {unbounded} hops without bound"
    );
    report.all.print("all");
    report.calm.print("variation below a period");
    report.bunching.print("variation of a period and more");
    report.keep_furthest();
    for (ratio, network, stream, hop) in &report.furthest {
        println!("furthest apart: {ratio:.3} in network {network}, stream {stream}, hop {hop}");
    }
    if broken > 0 {
        std::process::exit(1);
    }
}
