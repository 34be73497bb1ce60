//! Our half of `benchsuite/delay`: for each case file named, one line of JSON with bounds, the schedule that makes the
//! stream with the largest bound as late as it can be made, and how many packet-hops we play in a second.
//! Run: `cargo run --release -p loomwright-replay --example side_by_side -- FILE..`.

#![allow(clippy::disallowed_methods, reason = "an example reads files and takes the time")]

#[path = "../../delay/tests/cases/mod.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod cases;

use loomwright_delay::analyse;
use loomwright_replay::net_of;
use loomwright_simulator::{Net, Player, worst_trace};
use serde_json::{Value, json};

/// Packet-hops that are played to take the time.
const PLAYED: u64 = 4_000_000;

/// Seconds that this process has really run, so that other load on the machine does not count. Linux only.
fn processor_time() -> f64 {
    let text = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    text.split_whitespace().next().and_then(|run| run.parse::<f64>().ok()).unwrap_or(f64::NAN) / 1e9
}

/// Packet-hops in a second of processor time, best of three, every train at its period from a random phase.
fn speed(net: &Net) -> f64 {
    let mut chance = oorandom::Rand64::new(1);
    let phases: Vec<u64> = net.trains.iter().map(|train| chance.rand_range(0..train.period)).collect();
    let in_a_second: u64 = net.trains.iter().map(|train| 1_000_000_000_000 / train.period * train.hops.len() as u64).sum();
    let end = (u128::from(PLAYED) * 1_000_000_000_000 / u128::from(in_a_second.max(1))) as u64;
    let mut best = 0.0_f64;
    for _ in 0..3 {
        let start = processor_time();
        let mut player = Player::new(net);
        player.play_periodic(&phases, end, &[]);
        best = best.max(player.packet_hops() as f64 / (processor_time() - start));
    }
    best
}

fn report(case: &cases::Case) -> Option<Value> {
    let analysis = analyse(case.network.clone());
    let bound = |stream, hop| analysis.bound(stream, hop).ok().map(|bound| bound.worst.picoseconds());
    let bounds: serde_json::Map<String, Value> =
        case.ends.iter().filter_map(|(name, stream, hop)| Some((name.clone(), json!(bound(*stream, *hop)?)))).collect();
    let (name, stream, hop) = case.ends.iter().max_by_key(|(name, stream, hop)| (bound(*stream, *hop), std::cmp::Reverse(name)))?;
    let net = net_of(&case.network);
    let reached = worst_trace(&net, *stream as u32, *hop as u32);
    let begin = reached.releases.iter().map(|release| release.at).chain(reached.blockers.iter().map(|blocker| blocker.at)).min()?;
    let releases: Vec<(u32, u64)> = reached.releases.iter().map(|release| (release.train, release.at - begin)).collect();
    let blockers: Vec<(u32, u64)> = reached.blockers.iter().map(|blocker| (blocker.queue, blocker.at - begin)).collect();
    Some(json!({
        "id": case.id, "bounds_ps": bounds, "target": name, "reached_ps": reached.delay,
        "releases": releases, "blockers": blockers, "hops_per_s": speed(&net),
    }))
}

fn main() {
    for file in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&file).unwrap_or_default();
        match report(&cases::load(&text)) {
            Some(line) => println!("{line}"),
            None => eprintln!("{file}: no stream has a bound"),
        }
    }
}
