//! Times failures on growing networks: stars on two networks, chains of eight, rings of eight.
//!
//! `cargo bench -p loomwright-survival`. Prints processor time (wall time where the system does not tell it),
//! the best of five runs, and between sizes the exponents with which the time of all single failures, the entries of their
//! lists and the time for each entry grow (1 is linear, for the last 0). `cargo bench -p loomwright-survival -- star2 1000` measures one.
#![allow(clippy::disallowed_methods)]

mod growing;

use growing::{Grower, block_rings};
use loomwright_forwarding::Fabric;
use loomwright_model::Hours;
use loomwright_survival::{Mission, Survival};
use std::time::Instant;

/// Time that this thread has been running, from the Linux scheduler.
fn processor_milliseconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e6)
}

/// Milliseconds of the best of `runs`.
fn best<T>(runs: usize, mut work: impl FnMut() -> T) -> f64 {
    // The scheduler tells time in steps of some milliseconds: repeat until a run is long against that.
    let start = Instant::now();
    std::hint::black_box(work());
    let repeats = (0.2 / start.elapsed().as_secs_f64().max(1e-6)).clamp(1.0, 10_000.0) as u32;
    let times = (0..runs).map(|_| {
        let (start, before) = (Instant::now(), processor_milliseconds());
        for _ in 0..repeats {
            std::hint::black_box(work());
        }
        let whole = match (before, processor_milliseconds()) {
            (Some(before), Some(after)) => after - before,
            _ => start.elapsed().as_secs_f64() * 1e3,
        };
        whole / f64::from(repeats)
    });
    times.fold(f64::INFINITY, f64::min)
}

/// Time of all single failures, and the entries of their lists.
fn measure(kind: &str, devices: usize) -> [f64; 2] {
    let grower = Grower::of(kind, devices);
    let (plan, wiring) = (&grower.plan, &grower.wiring);
    let fabric = Fabric::new(plan, wiring);
    let blocked = block_rings(&fabric);
    let build = best(5, || Survival::new(plan, wiring, &fabric, &blocked));
    let survival = Survival::new(plan, wiring, &fabric, &blocked);
    let single = best(5, || survival.single_failures());
    let singles = survival.single_failures();
    let entries: usize = (0..singles.losses().len()).map(|at| singles.silent(at).len() + singles.one_leg_left(at).len()).sum();
    let effects = best(2, || survival.effects(&singles).map(|effect| effect.gaps.len()).sum::<usize>());
    let three: Vec<_> = singles.losses().iter().step_by(singles.losses().len() / 3).cloned().collect();
    let whatif = best(5, || survival.whatif(&three));
    let pairs = if devices <= 1_000 { format!("{:.1}", best(1, || survival.double_failures(&singles, 10))) } else { "-".to_owned() };
    let mission = Mission::Show(Hours::from_seconds(4 * 3_600));
    let found = survival.availability((plan, wiring), &singles, mission);
    let is_exact = found.essential.is_some_and(|down| down.is_exact());
    let chance = best(1, || survival.availability((plan, wiring), &singles, mission));
    let demands = survival.demands().len();
    println!(
        "{kind:6} {devices:7} {demands:7} {:9} {entries:9} {build:9.2} {single:9.2} {effects:9.2} {whatif:9.3} {pairs:>9} {chance:9.1} {is_exact}",
        singles.losses().len()
    );
    [single, entries as f64]
}

fn main() {
    println!("kind   devices   pairs  failures   entries  build ms singles ms effects ms whatif ms doubles ms chance ms exact");
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let is_wanted =
        |word: &str, among: &[&str]| words.contains(&word.to_owned()) || !words.iter().any(|word| among.contains(&word.as_str()));
    let (kinds, sizes) = (["star2", "ring", "chain", "one-ring"], ["100", "1000", "10000"]);
    for kind in kinds.into_iter().filter(|kind| is_wanted(kind, &kinds)) {
        let wanted = sizes.into_iter().filter(|size| is_wanted(size, &sizes)).filter_map(|size| size.parse().ok());
        let found: Vec<[f64; 2]> = wanted.map(|devices| measure(kind, devices)).collect();
        let growth = |of: &dyn Fn(&[f64; 2]) -> f64| {
            let steps: Vec<String> = found.windows(2).map(|pair| format!("{:.2}", (of(&pair[1]) / of(&pair[0])).log10())).collect();
            steps.join(", then ")
        };
        let exponents = [growth(&|[time, _]| *time), growth(&|[_, entries]| *entries), growth(&|[time, entries]| time / entries)];
        println!(
            "{kind}: exponents of single failures {}; of list entries {}; of time for each entry {}",
            exponents[0], exponents[1], exponents[2]
        );
    }
}
