//! Times a whole check, part by part: reading, the engines, findings, the report, printing it.
//!
//! `cargo bench -p loomwright-proof --bench check -- FOLDER`, where FOLDER holds `campus.toml` and
//! `campus.wiring.toml` (`cargo run --release -p loomwright-demo --example campus` writes them). Prints processor time of
//! one run and the most memory in use, where the system tells them. Each part runs once, as in a check.
#![allow(clippy::disallowed_methods, reason = "a bench reads files, the clock and its arguments")]

use loomwright_proof::beside::in_turn;
use loomwright_proof::{Analysis, brief_report, findings_of, report_of};
use std::time::Instant;

/// Time that this thread has been running, from the Linux scheduler.
fn processor_milliseconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e6)
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let (start, before) = (Instant::now(), processor_milliseconds());
    let result = work();
    let whole = match (before, processor_milliseconds()) {
        (Some(before), Some(after)) => after - before,
        _ => start.elapsed().as_secs_f64() * 1e3,
    };
    println!("{what:40} {whole:9.1} ms");
    result
}

/// Most memory that the process ever held, as the system writes it.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or("not told");
    line.trim().to_owned()
}

fn main() {
    let folder = std::env::args().skip(1).find(|word| !word.starts_with('-')).unwrap_or_else(|| ".".to_owned());
    let read = |name: &str| std::fs::read(std::path::Path::new(&folder).join(name)).unwrap_or_default();
    let (plan, wiring) = (read("campus.toml"), read("campus.wiring.toml"));
    if plan.is_empty() {
        println!("no campus.toml in {folder}: nothing to check");
        return;
    }
    let loaded = timed("read", || loomwright_planfile::read_bytes(("campus.toml", &plan), Some(("campus.wiring.toml", &wiring))));
    let loaded = match loaded {
        Ok(loaded) => loaded,
        Err(problems) => return println!("{problems}"),
    };
    let analysis = timed("analysis", || Analysis::new(&loaded.plan, &loaded.wiring));
    let findings = timed("findings, once alone", || findings_of(&analysis));
    timed("pairs", || analysis.pairs().count);
    timed("availability", || analysis.availability().demands.len());
    let brief = timed("report as text needs it, findings again", || brief_report(&analysis, &loaded.source_map, in_turn));
    let report = timed("report with every list, findings again", || report_of(&analysis, &loaded.source_map));
    let json = timed("as JSON", || serde_json::to_string_pretty(&report).unwrap_or_default());
    println!("{} findings, {} failures, {} bytes of JSON; most memory {}", findings.len(), brief.counts.tried, json.len(), most_memory());
}
