//! Prints how long the delays of a whole large system take, clock messages of every device included, and those of the
//! same system with one cable unplugged: from scratch, and taking over what has not changed.
//! Run: `cargo bench -p loomwright-delay --bench campus`.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

#[path = "../../forwarding/benches/campus/mod.rs"]
mod campus;

use loomwright_delay::{Analysis, Assumptions, Delays, Network, System, analyse};
use loomwright_forwarding::{CableIx, Fabric, Removed, forward, forward_without};
use loomwright_model::{Plan, Wiring};
use std::time::Instant;

fn main() {
    for devices in [100, 1_000, 10_000] {
        let (plan, wiring) = campus::system(devices);
        let fabric = Fabric::new(&plan, &wiring);
        let forwarding = forward(&plan, &wiring, &fabric);
        let system = System { plan: &plan, fabric: &fabric, forwarding: &forwarding, leaders: &[] };
        for has_clock_messages in [false, true] {
            let assumptions = Assumptions { has_clock_messages, ..Assumptions::default() };
            let mut best = f64::MAX;
            let mut bounded = 0;
            for _ in 0..3 {
                let start = Instant::now();
                let delays = Delays::new(&system, &assumptions);
                best = best.min(start.elapsed().as_secs_f64() * 1e3);
                let deliveries =
                    forwarding.flows.iter().enumerate().flat_map(|(at, flow)| flow.deliveries.iter().map(move |d| (at, d.hop)));
                bounded = deliveries.filter(|(flow, hop)| delays.bound(*flow, *hop).is_ok()).count();
            }
            println!("{devices} devices, clock messages {has_clock_messages}: {best:.1} ms, {bounded} deliveries with a bound");
            unplug(&system, (&plan, &wiring), &assumptions);
        }
    }
}

/// One device's cable is gone: the calculation below names, from scratch and from what is known.
fn unplug(system: &System, (plan, wiring): (&Plan, &Wiring), assumptions: &Assumptions) {
    let known = analyse(system.network(assumptions));
    let removed = Removed::default().with_cable(CableIx(system.fabric.cables.len() as u32 / 2));
    let forwarding = forward_without(plan, wiring, system.fabric, &removed);
    let network = System { forwarding: &forwarding, ..*system }.network(assumptions);
    let (whole, all) = best(&network, analyse);
    let (part, visited) = best(&network, |network| known.with_changes(network));
    println!(
        "  one cable unplugged: {whole:.2} ms, {part:.2} ms from what is known ({visited} of {all} queues), ratio {:.1}",
        whole / part
    );
}

/// Best of several runs in milliseconds, and how many queues were worked out.
fn best(network: &Network, analyse: impl Fn(Network) -> Analysis) -> (f64, usize) {
    let mut best = (f64::MAX, 0);
    for _ in 0..5 {
        let given = network.clone();
        let start = Instant::now();
        let analysis = analyse(given);
        best = (best.0.min(start.elapsed().as_secs_f64() * 1e3), analysis.visited());
    }
    best
}
