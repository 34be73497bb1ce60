//! Prints how long the delays of a whole large system take, clock messages of every device included.
//! Run: `cargo bench -p loomwright-delay --bench campus`.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

#[path = "../../forwarding/benches/campus/mod.rs"]
mod campus;

use loomwright_delay::{Assumptions, Delays, System};
use loomwright_forwarding::{Fabric, forward};
use std::time::Instant;

fn main() {
    for devices in [100, 1_000, 10_000] {
        let (plan, wiring) = campus::system(devices);
        let fabric = Fabric::new(&plan, &wiring);
        let forwarding = forward(&plan, &wiring, &fabric);
        let system = System { plan: &plan, fabric: &fabric, forwarding: &forwarding };
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
        }
    }
}
