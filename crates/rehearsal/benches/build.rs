//! How long building takes: `cargo bench -p loomwright-rehearsal --bench build`. Prints one line for each size, with the machine's load.

#![allow(clippy::disallowed_methods, reason = "a measurement reads the machine's load")]

use loomwright_demo::{Campus, campus};
use loomwright_forwarding::Fabric;
use loomwright_rehearsal::Blueprint;
use loomwright_rehearsal::kernel::{build_time, prepare};

fn main() {
    if let Err(trouble) = prepare() {
        println!("not measured: {trouble}");
        return;
    }
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    let kernel = std::fs::read_to_string("/proc/sys/kernel/osrelease").unwrap_or_default();
    println!("Linux {}, load {}", kernel.trim(), load.trim());
    for devices in [16, 90, 450] {
        let plan = campus(Campus { devices, ..Campus::default() });
        let wiring = loomwright_design::design(&plan, &loomwright_model::Wiring::default()).wiring;
        let blueprint = Blueprint::new(&plan, &wiring, &Fabric::new(&plan, &wiring));
        let mut times: Vec<u128> = (0..5).filter_map(|_| build_time(&blueprint).ok()).map(|time| time.as_millis()).collect();
        times.sort_unstable();
        let (spaces, interfaces) = (blueprint.spaces.len(), blueprint.interfaces());
        println!("{spaces} namespaces, {} bridges, {interfaces} interfaces: {times:?} ms", blueprint.bridges.len());
    }
}
