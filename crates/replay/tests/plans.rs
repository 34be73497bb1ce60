//! Replays of every delivery of the written plans: never later than the bound, and true to the path.

use loomwright_clock::{ClockDomain, datasets, leaders};
use loomwright_delay::{Assumptions, Delays, System};
use loomwright_demo::{WRITTEN, read};
use loomwright_forwarding::{Fabric, NodeIx, forward};
use loomwright_replay::Replays;

/// Without clock messages, the bound is nearly always one that can be built. With them it is looser: the answers of
/// the leader are counted at every queue that they pass, though a packet can be overtaken by each of them only once.
#[test]
fn every_delivery_of_the_written_plans() {
    let silent = compare(&Assumptions { has_clock_messages: false, ..Assumptions::default() });
    assert!(silent < 1.03, "mean ratio {silent} without clock messages");
    let mean = compare(&Assumptions::default());
    assert!(mean < 1.13, "mean ratio {mean}");
}

/// Mean of bound over reached.
fn compare(assumptions: &Assumptions) -> f64 {
    let (mut compared, mut met, mut queued, mut ratios) = (0u32, 0u32, 0u32, 0.0);
    for files in WRITTEN {
        let loaded = read(&files).expect("a written plan can be read");
        let (plan, wiring) = (loaded.plan, loaded.wiring);
        let fabric = Fabric::new(&plan, &wiring);
        let forwarding = forward(&plan, &wiring, &fabric);
        let domains = leaders(&plan, &fabric, &datasets(&plan, &wiring), &forwarding.domain);
        let leaders: Vec<NodeIx> = domains.iter().flat_map(ClockDomain::leading).collect();
        let system = System { plan: &plan, fabric: &fabric, forwarding: &forwarding, leaders: &leaders };
        let delays = Delays::new(&system, assumptions);
        let replays = Replays::new(delays.analysis().network());
        for (at, flow) in forwarding.flows.iter().enumerate() {
            for delivery in &flow.deliveries {
                let Ok(bound) = delays.bound(at, delivery.hop) else { continue };
                let replay = replays.worst(at, delivery.hop as usize);
                assert!(replay.reached <= bound.worst, "{} flow {at}: {replay:?}, {bound:?}", files.name);
                assert!(replay.reached >= bound.least, "{} flow {at}: {replay:?}, {bound:?}", files.name);
                let ports: Vec<u32> = replay.queues.iter().map(|queue| queue.port).collect();
                let path: Vec<u32> = flow.path(*delivery).into_iter().map(|direction| direction.0).collect();
                assert_eq!(ports, path, "{} flow {at}", files.name);
                assert!(replay.queues.iter().all(|queue| queue.own().is_some() && queue.own() == queue.packets.last()));
                compared += 1;
                met += u32::from(bound.worst.picoseconds() - replay.reached.picoseconds() <= 100);
                ratios += bound.worst.picoseconds() as f64 / replay.reached.picoseconds() as f64;
                queued += u32::from(replay.fullest.packets > 1);
            }
        }
    }
    let mean = ratios / f64::from(compared);
    println!("{compared} deliveries, bound/reached mean {mean:.4}, bound met by {met}, {queued} stand behind others");
    assert!(compared > 60 && queued > 60, "{compared} compared, {queued} queued");
    mean
}
