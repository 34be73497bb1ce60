//! Times the proof and the what-if question on a generated campus.
//!
//! `cargo bench -p loomwright-proof`, or with a number of devices: `cargo bench -p loomwright-proof -- 500`. Prints wall time,
//! the best of three runs for the whole, and the middle and worst of all single questions for what-if.
#![allow(clippy::disallowed_methods, reason = "a bench reads the clock and its arguments")]

use loomwright_demo::{Campus, campus};
use loomwright_model::{Item, Nowhere, Wiring};
use loomwright_proof::{Analysis, findings_of, report_of, whatif};
use std::time::{Duration, Instant};

fn main() {
    let devices = std::env::args().filter_map(|argument| argument.parse().ok()).next().unwrap_or(2_000);
    let plan = campus(Campus { devices, ..Campus::default() });
    let wiring = timed("design", || loomwright_design::design(&plan, &Wiring::default()).wiring);
    println!(
        "{} devices, {} switches, {} cables, {} streams",
        plan.devices.len(),
        wiring.switches.len(),
        wiring.cables.len(),
        plan.streams.len()
    );
    let analysis = best("analysis", || Analysis::new(&plan, &wiring));
    let findings = best("findings", || findings_of(&analysis));
    best("pairs and availability", || {
        let fresh = Analysis::new(&plan, &wiring);
        (fresh.pairs().count, fresh.availability().demands.len())
    });
    let report = best("report (pairs and availability known)", || report_of(&analysis, &Nowhere));
    println!("{} findings, {} failures: {}", findings.len(), report.failures.len(), report.verdict);
    let mut codes: std::collections::BTreeMap<&str, usize> = std::collections::BTreeMap::new();
    findings.iter().for_each(|finding| *codes.entry(finding.code).or_default() += 1);
    println!("{codes:?}");
    questions(&analysis);
}

/// Takes every cable, switch and device away once.
fn questions(analysis: &Analysis) {
    let cables = analysis.wiring.cables.keys().cloned().map(Item::Cable);
    let switches = analysis.wiring.switches.keys().cloned().map(Item::Switch);
    let devices = analysis.plan.devices.keys().cloned().map(Item::Device);
    let mut times: Vec<(Duration, Item)> = cables
        .chain(switches)
        .chain(devices)
        .map(|item| {
            let start = Instant::now();
            std::hint::black_box(whatif(analysis, std::slice::from_ref(&item)));
            (start.elapsed(), item)
        })
        .collect();
    times.sort();
    println!("what-if: middle {:?} of {}", times[times.len() / 2].0, times.len());
    for (_, item) in times.iter().rev().take(3) {
        let start = Instant::now();
        let line = whatif(analysis, std::slice::from_ref(item));
        println!("what-if {item}: {:?}, {} silent, {} gone too", start.elapsed(), line.silent.len(), line.gone_too.len());
    }
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let start = Instant::now();
    let result = work();
    println!("{what}: {:?}", start.elapsed());
    result
}

fn best<T>(what: &str, work: impl Fn() -> T) -> T {
    let mut result = work();
    let mut least = Duration::MAX;
    for _ in 0..3 {
        let start = Instant::now();
        result = work();
        least = least.min(start.elapsed());
    }
    println!("{what}: {least:?}");
    result
}
