//! Prints how long compiling and forwarding take, best of several runs.
//!
//! 10,000 devices, 24 on every edge switch, edge switches in a ring of cores with snooping, a querier and
//! spanning tree; 10,000 streams of one packet stream each to two receivers.
//! Run: `cargo bench -p loomwright-forwarding`.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

mod campus;

use campus::system;
use loomwright_forwarding::{Fabric, forward};
use std::time::Instant;

fn main() {
    for devices in [1_000, 10_000] {
        let (plan, wiring) = system(devices);
        let (mut compile, mut walk, mut hops) = (f64::MAX, f64::MAX, 0);
        for _ in 0..10 {
            let start = Instant::now();
            let fabric = Fabric::new(&plan, &wiring);
            compile = compile.min(start.elapsed().as_secs_f64() * 1e3);
            let start = Instant::now();
            let forwarding = forward(&plan, &wiring, &fabric);
            walk = walk.min(start.elapsed().as_secs_f64() * 1e3);
            hops = forwarding.flows.iter().map(|flow| flow.hops.len()).sum();
        }
        println!("{devices} devices, {devices} streams: fabric {compile:.1} ms, forwarding {walk:.1} ms, {hops} hops");
    }
}
