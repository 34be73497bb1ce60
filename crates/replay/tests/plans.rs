//! Replays of every delivery of the written plans: never later than the bound, and true to the path.

use loomwright_clock::{ClockDomain, datasets, leaders};
use loomwright_delay::{Assumptions, Delays, System};
use loomwright_demo::{WRITTEN, read};
use loomwright_forwarding::{Fabric, NodeIx, forward};
use loomwright_replay::Replays;

/// Where every box takes the same time for all packets, which is what the replay plays, the bound is nearly always one that can be
/// built without clock messages, and not much looser with them. Boxes whose times vary can bring packets closer together, which the
/// bound counts and the replay does not play.
#[test]
fn every_delivery_of_the_written_plans() {
    let is_silent = Assumptions { has_clock_messages: false, ..Assumptions::default() };
    let [silent, mean, varied] = [(is_silent, false), (Assumptions::default(), false), (Assumptions::default(), true)].map(compare);
    assert!(silent < 1.03, "mean ratio {silent} without clock messages");
    assert!(mean < 1.08, "mean ratio {mean}");
    assert!(varied < 1.13, "mean ratio {varied} where boxes vary");
}

/// Mean of bound over reached, with boxes as in the plan or such that take the longest of their times always.
fn compare((assumptions, varies): (Assumptions, bool)) -> f64 {
    let (mut compared, mut met, mut queued, mut ratios) = (0u32, 0u32, 0u32, 0.0);
    for files in WRITTEN {
        let loaded = read(&files).expect("a written plan can be read");
        let (mut plan, wiring) = (loaded.plan, loaded.wiring);
        if !varies {
            plan.gear.values_mut().for_each(|gear| gear.latency.least = gear.latency.most);
        }
        let fabric = Fabric::new(&plan, &wiring);
        let forwarding = forward(&plan, &wiring, &fabric);
        let domains = leaders(&plan, &fabric, &datasets(&plan, &wiring), &forwarding.domain);
        let leaders: Vec<NodeIx> = domains.iter().flat_map(ClockDomain::leading).collect();
        let system = System { plan: &plan, fabric: &fabric, forwarding: &forwarding, leaders: &leaders };
        let delays = Delays::new(&system, &assumptions);
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
