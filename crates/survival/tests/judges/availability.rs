//! Availability of small random plans against adding up every state of the boxes that can fail.

use crate::fleet::{Fleet, id};
use loomwright_forwarding::Fabric;
use loomwright_model::*;
use loomwright_survival::{Loss, Mission, Survival};

/// Makes gear perfect but for a few boxes, each of which gets a gear type of its own.
fn let_some_fail(fleet: &mut Fleet, count: usize) -> Vec<Item> {
    let devices = fleet.plan.devices.keys().cloned().map(Item::Device);
    let mut boxes: Vec<Item> = devices.chain(fleet.wiring.switches.keys().cloned().map(Item::Switch)).collect();
    fleet.plan.gear.values_mut().for_each(|gear| gear.mtbf = None);
    while boxes.len() > count {
        let at = fleet.dice().roll(boxes.len());
        boxes.swap_remove(at);
    }
    for (at, item) in boxes.iter().enumerate() {
        let name = id(&format!("failing{at}"));
        let (Item::Device(of) | Item::Switch(of)) = item else { continue };
        let gear = match fleet.plan.devices.get_mut(of) {
            Some(device) => &mut device.gear,
            None => &mut fleet.wiring.switches[of].gear,
        };
        let mut failing = fleet.plan.gear[&*gear].clone();
        failing.mtbf = Some(Hours::from_seconds(3_600 * (3 + at as u64)));
        *gear = name.clone();
        fleet.plan.gear.insert(name, failing);
    }
    boxes
}

/// Chance that each demand, and any essential one, is down at some time in a show of one hour.
fn add_up(survival: &Survival, fleet: &Fleet, boxes: &[Item], perfect: Option<usize>) -> (Vec<f64>, f64) {
    let demands = survival.demands();
    let never = survival.never_heard();
    let (mut down, mut essential) = (vec![0.0; demands.len()], 0.0);
    for state in 0u32..1 << boxes.len() {
        let failed: Vec<usize> = (0..boxes.len()).filter(|at| state >> at & 1 == 1).collect();
        let chance = |at: usize| if perfect == Some(at) { 0.0 } else { 1.0 - (-1.0 / (3.0 + at as f64)).exp() };
        let weight: f64 = (0..boxes.len()).map(|at| if failed.contains(&at) { chance(at) } else { 1.0 - chance(at) }).product();
        let losses: Vec<Loss> = failed.iter().map(|&at| Loss::Gone(boxes[at].clone())).collect();
        let silent = survival.whatif(&losses).silent;
        let lost = |at: u32| {
            let demand = &demands[at as usize];
            let ends = [&fleet.plan.streams[&demand.stream].from, &demand.to];
            let own = ends.iter().any(|end| losses.contains(&Loss::Gone(Item::Device((*end).clone()))));
            own || never.contains(&at) || silent.contains(&at)
        };
        let lost: Vec<bool> = (0..demands.len() as u32).map(lost).collect();
        lost.iter().zip(&mut down).for_each(|(lost, down)| *down += if *lost { weight } else { 0.0 });
        if lost.iter().zip(demands).any(|(lost, demand)| *lost && demand.essential) {
            essential += weight;
        }
    }
    (down, essential)
}

#[test]
fn agrees_with_adding_up_every_state() {
    let (mut partly, mut gains) = (0, 0);
    for seed in 5_000..5_080 {
        let mut fleet = Fleet::new(seed);
        let boxes = let_some_fail(&mut fleet, 8);
        let fabric = Fabric::new(&fleet.plan, &fleet.wiring);
        let survival = Survival::new(&fleet.plan, &fleet.wiring, &fabric, &[]);
        let singles = survival.single_failures();
        let mission = Mission::Show(Hours::from_seconds(3_600));
        let found = survival.availability((&fleet.plan, &fleet.wiring), &singles, mission);
        let (down, essential) = add_up(&survival, &fleet, &boxes, None);
        for (found, expected) in found.demands.iter().zip(&down) {
            assert!(found.is_exact() && (found.most - expected).abs() < 1e-12, "seed {seed}: {found:?} against {expected}");
            partly += usize::from(*expected > 0.0 && *expected < 1.0);
        }
        let Some(whole) = found.essential else { continue };
        let quick = survival.essential_by_pairs((&fleet.plan, &fleet.wiring), &singles, mission).expect("something is essential");
        assert!(quick.least <= essential + 1e-12 && essential <= quick.most + 1e-12, "seed {seed}: {quick:?} against {essential}");
        if seed % 8 == 0 {
            let rare = survival.essential_by_pairs((&fleet.plan, &fleet.wiring), &singles, Mission::Show(Hours::from_seconds(36)));
            let exact = survival.availability((&fleet.plan, &fleet.wiring), &singles, Mission::Show(Hours::from_seconds(36))).essential;
            let (rare, exact) = (rare.expect("the same"), exact.expect("the same"));
            assert!(
                rare.least <= exact.most + 1e-15 && exact.most <= rare.most + 1e-15 && rare.most - rare.least < 1e-5,
                "seed {seed}: {rare:?}, {exact:?}"
            );
            assert!(whole.is_exact() && (whole.most - essential).abs() < 1e-12, "seed {seed}: {whole:?} against {essential}");
        }
        for at in 0..boxes.len() {
            let (_, without) = add_up(&survival, &fleet, &boxes, Some(at));
            let gain = found.spares.iter().find(|spare| spare.gear == id(&format!("failing{at}"))).map_or(0.0, |spare| spare.gain);
            assert!((gain - (essential - without)).abs() < 1e-12, "seed {seed}, box {at}");
            gains += usize::from(gain > 0.0);
        }
        assert!(found.spares.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    }
    assert!(partly > 300 && gains > 100, "{partly} demands, {gains} gains");
}
