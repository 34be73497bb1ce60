//! How long building takes: `cargo bench -p loomwright-rehearsal --bench build`. Prints one line for each size, with the machine's load.

#![allow(clippy::disallowed_methods, reason = "a measurement reads the machine's load")]

use loomwright_demo::{Campus, campus};
use loomwright_forwarding::Fabric;
use loomwright_rehearsal::Blueprint;
use loomwright_rehearsal::kernel::{build_time, prepare};
use std::time::Duration;

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
        let (spaces, interfaces) = (blueprint.spaces.len(), blueprint.interfaces());
        let times = |rest: Duration| -> Vec<u128> {
            let one = |_| {
                std::thread::sleep(rest);
                build_time(&blueprint).ok()
            };
            let mut times: Vec<u128> = (0..5).filter_map(one).map(|time| time.as_millis()).collect();
            times.sort_unstable();
            times
        };
        // Own choice: the kernel needs 10 to 20 ms for each namespace that it clears away on a busy machine.
        let (alone, beside) = (times(Duration::from_millis(30 * spaces as u64)), times(Duration::ZERO));
        let bridges = blueprint.bridges.len();
        println!(
            "{spaces} namespaces, {bridges} bridges, {interfaces} interfaces: {alone:?} ms; while those before are cleared away {beside:?} ms"
        );
    }
}
