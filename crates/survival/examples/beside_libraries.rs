//! Our side of `cargo xtask outside graph`: a network, every single failure of it, and how long that took, as JSON.
//!
//! `cargo run --release -p loomwright-survival --example beside_libraries -- star2 1000`
#![allow(dead_code, clippy::disallowed_methods)]

#[path = "../benches/growing/mod.rs"]
mod growing;

use growing::{Grower, block_rings};
use loomwright_forwarding::Fabric;
use loomwright_model::Item;
use loomwright_survival::{Loss, Survival};
use serde_json::{Value, json};
use std::time::Instant;

/// Seconds that this thread has been running, from the Linux scheduler.
fn processor_seconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e9)
}

/// Processor seconds of the best of five (wall time where the system does not tell it), and a result.
fn best<T>(work: impl Fn() -> T) -> (f64, T) {
    let start = Instant::now();
    let result = std::hint::black_box(work());
    // The scheduler tells time in steps of some milliseconds: repeat until a run is long against that.
    let repeats = (0.2 / start.elapsed().as_secs_f64().max(1e-6)).clamp(1.0, 10_000.0) as u32;
    let time = || {
        let (start, before) = (Instant::now(), processor_seconds());
        (0..repeats).for_each(|_| drop(std::hint::black_box(work())));
        let seconds = before.zip(processor_seconds()).map(|(before, after)| after - before);
        seconds.unwrap_or_else(|| start.elapsed().as_secs_f64()) / f64::from(repeats)
    };
    ((0..5).map(|_| time()).fold(f64::INFINITY, f64::min), result)
}

fn main() {
    let mut words = std::env::args().skip(1);
    let kind = words.next().unwrap_or_else(|| "star2".to_owned());
    let devices: usize = words.next().and_then(|word| word.parse().ok()).unwrap_or(100);
    let grower = Grower::of(&kind, devices);
    let (plan, wiring) = (&grower.plan, &grower.wiring);
    let fabric = Fabric::new(plan, wiring);
    let blocked = block_rings(&fabric);
    let (build, survival) = best(|| Survival::new(plan, wiring, &fabric, &blocked));
    let (seconds, singles) = best(|| survival.single_failures());
    let three: Vec<Loss> = singles.losses().iter().step_by(singles.losses().len() / 3).cloned().collect();
    let (whatif, _) = best(|| survival.whatif(&three));
    let pairs = (devices <= 1_000).then(|| {
        let (seconds, found) = best(|| survival.double_failures(&singles, 10));
        json!({ "count": found.count, "seconds": seconds })
    });
    let nodes = |range: std::ops::Range<usize>| range.collect::<Vec<usize>>();
    let mut failures: Vec<Value> = Vec::new();
    for (at, loss) in singles.losses().iter().enumerate() {
        let (gone_nodes, gone_links, own) = match loss {
            Loss::Gone(Item::Cable(id)) => {
                let cable = wiring.cables.get_index_of(id).expect("a cable of the wiring");
                (vec![], nodes(fabric.links_of(loomwright_forwarding::CableIx(cable as u32))), None)
            }
            Loss::Gone(Item::Switch(id)) => {
                let switch = wiring.switches.get_index_of(id).expect("a switch of the wiring");
                (nodes(fabric.nodes_of_switch(loomwright_forwarding::SwitchIx(switch as u32))), vec![], None)
            }
            Loss::Gone(Item::Device(id)) => {
                let device = plan.devices.get_index_of(id).expect("a device of the plan");
                (nodes(fabric.nodes_of_device(loomwright_forwarding::DeviceIx(device as u32))), vec![], Some(device))
            }
            _ => continue,
        };
        failures.push(json!([gone_nodes, gone_links, own, singles.silent(at).len()]));
    }
    let entries: usize = (0..singles.losses().len()).map(|at| singles.silent(at).len() + singles.one_leg_left(at).len()).sum();
    let [cut_nodes, bridges] = survival.parting(&singles);
    let seats: Vec<Vec<u32>> = fabric.audio.iter().map(|seats| seats.iter().map(|seat| seat.node.0).collect()).collect();
    let ends = plan.streams.values().flat_map(|stream| {
        let number = |id| plan.devices.get_index_of(id).expect("a device of the plan");
        stream.to.iter().map(move |to| [number(&stream.from), number(to)])
    });
    let links: Vec<[u32; 2]> = fabric.links.iter().map(|link| link.nodes.map(|node| node.0)).collect();
    let answer = json!({
        "nodes": fabric.nodes.len(), "links": links, "seats": seats, "pairs": ends.collect::<Vec<_>>(), "failures": failures,
        "all_failures": singles.losses().len(), "entries": entries, "cut_nodes": cut_nodes, "bridges": bridges,
        "build_s": build, "singles_s": seconds, "whatif_s": whatif, "doubles": pairs,
    });
    println!("{answer}");
}
