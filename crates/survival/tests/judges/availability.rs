//! Availability of small random plans against adding up every state of the boxes that can fail.

use crate::fleet::{Fleet, id};
use crate::growing::Grower;
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

fn ring_of(devices: usize, is_essential: impl Fn(usize) -> bool) -> Grower {
    let mut grower = Grower::of("one-ring", devices);
    for (at, stream) in grower.plan.streams.values_mut().enumerate() {
        stream.essential = is_essential(at);
    }
    grower
}

/// The switch and then every device lie around one ring: what parts two devices are two failures, one on each arc.
#[test]
fn a_ring_of_hundreds_is_exact() {
    let devices = 300;
    let grower = ring_of(devices, |at| at < 4);
    let (plan, wiring) = (&grower.plan, &grower.wiring);
    let survival = Survival::new(plan, wiring, &Fabric::new(plan, wiring), &[]);
    let found = survival.availability((plan, wiring), &survival.single_failures(), Mission::Show(Hours::from_seconds(3_600 * 400)));
    let [device, switch] = [200_000.0, 250_000.0].map(|mtbf| 400.0 / mtbf);
    // Chance that some boxes are all up: rates add.
    let up = |count: usize, switches: usize| (-(count as f64 * device + switches as f64 * switch)).exp();
    let number = |id: &Id| plan.devices.get_index_of(id).expect("a device");
    let mut essential_ends = std::collections::BTreeSet::new();
    for (demand, down) in survival.demands().iter().zip(&found.demands) {
        let ends = [number(&plan.streams[&demand.stream].from), number(&demand.to)];
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let (inner, outer) = (high - low - 1, devices - (high - low) - 1);
        let expected = 1.0 - up(2, 0) * (1.0 - (1.0 - up(inner, 0)) * (1.0 - up(outer, 1)));
        assert!(down.is_exact() && (down.most - expected).abs() < 1e-12, "{ends:?}: {down:?} against {expected}");
        if demand.essential {
            essential_ends.extend(ends);
        }
    }
    let whole = found.essential.expect("something is essential");
    assert!(whole.is_exact());
    assert!((whole.most - essential_by_pairs_of_gaps(&survival, &grower, &essential_ends, [device, switch])).abs() < 1e-12, "{whole:?}");
}

/// The chance that an essential demand of one ring is down, by asking for every two gaps between ends whether failures in
/// both silence one: exact because no failures in other gaps can undo that, and none in one gap alone does.
fn essential_by_pairs_of_gaps(survival: &Survival, grower: &Grower, ends: &std::collections::BTreeSet<usize>, rates: [f64; 2]) -> f64 {
    let ends: Vec<usize> = ends.iter().copied().collect();
    let devices = grower.plan.devices.len();
    let name = |at: usize| Loss::Gone(Item::Device(grower.plan.devices.get_index(at).expect("a device").0.clone()));
    // A gap: the devices between two ends; the last one goes around over the switch.
    let mut gaps: Vec<(Vec<usize>, bool)> = ends.windows(2).map(|pair| ((pair[0] + 1..pair[1]).collect(), false)).collect();
    gaps.push(((ends[ends.len() - 1] + 1..devices).chain(0..ends[0]).collect(), true));
    let one_of = |(inside, has_switch): &(Vec<usize>, bool)| match inside.first() {
        Some(at) => Some(name(*at)),
        None => has_switch.then(|| Loss::Gone(Item::Switch(id("core")))),
    };
    let failing = |(inside, has_switch): &(Vec<usize>, bool)| {
        1.0 - (-(inside.len() as f64 * rates[0] + f64::from(u8::from(*has_switch)) * rates[1])).exp()
    };
    let parts = |one: usize, two: usize| {
        let (Some(first), Some(second)) = (one_of(&gaps[one]), one_of(&gaps[two])) else { return false };
        let silent = survival.whatif(&[first, second]).silent;
        silent.iter().any(|at| survival.demands()[*at as usize].essential)
    };
    let harmful: Vec<Vec<bool>> = (0..gaps.len()).map(|one| (0..gaps.len()).map(|two| one != two && parts(one, two)).collect()).collect();
    // Sum over the sets of gaps in which something failed, grown gap by gap: as long as none of them harm each other.
    let mut unharmed = vec![(Vec::<usize>::new(), 1.0)];
    for (at, gap) in gaps.iter().enumerate() {
        let failing = failing(gap);
        let grown: Vec<(Vec<usize>, f64)> = unharmed
            .iter()
            .filter(|(failed, _)| failed.iter().all(|&other| !harmful[at][other]))
            .map(|(failed, chance)| (failed.iter().copied().chain([at]).collect(), chance * failing))
            .collect();
        unharmed.iter_mut().for_each(|(_, chance)| *chance *= 1.0 - failing);
        unharmed.extend(grown);
    }
    let fine: f64 = unharmed.iter().map(|(_, chance)| chance).sum();
    1.0 - (-(ends.len() as f64 * rates[0])).exp() * fine
}
