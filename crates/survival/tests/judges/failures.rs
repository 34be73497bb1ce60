//! The judge of `simulator` against the fast ways: random plans, every single failure, sets and pairs.

use crate::fleet::{Dice, Fleet};
use crate::plain::Plain;
use loomwright_forwarding::Fabric;
use loomwright_model::*;
use loomwright_simulator::survive::Lost;
use loomwright_survival::{Effect, Loss, Survival};
use std::collections::BTreeSet;

/// A plan with both sides of the argument.
struct Court {
    plain: Plain,
    survival: Survival,
    wiring: Wiring,
    shut: Vec<usize>,
}

impl Court {
    fn new(seed: u64) -> (Self, Dice) {
        let mut fleet = Fleet::new(seed);
        let fabric = Fabric::new(&fleet.plan, &fleet.wiring);
        assert!(fabric.left_out.is_empty(), "seed {seed}");
        let blocked = fleet.block_rings(&fabric);
        let survival = Survival::new(&fleet.plan, &fleet.wiring, &fabric, &blocked);
        let plain = Plain::new(&fleet.plan, &fleet.wiring, &[]);
        let shut = plain.shut(&names_of(&fabric, &blocked));
        let dice = Dice::new(seed.wrapping_add(77));
        (Self { plain, survival, wiring: fleet.wiring.clone(), shut }, dice)
    }

    /// Silent, one leg less, and silent only at once, as the judge sees it.
    fn verdict(&self, losses: &[Loss]) -> [Vec<u32>; 3] {
        verdict(&self.plain, losses, &self.shut)
    }
}

/// Cables and networks that spanning tree blocks.
pub fn names_of(fabric: &Fabric, blocked: &[bool]) -> Vec<(Id, Id)> {
    let shut = fabric.links.iter().zip(blocked).filter(|(_, blocked)| **blocked);
    shut.map(|(link, _)| (fabric.cables[link.cable.0 as usize].id.clone(), fabric.networks[link.network.0 as usize].clone())).collect()
}

pub fn verdict(plain: &Plain, losses: &[Loss], shut: &[usize]) -> [Vec<u32>; 3] {
    let lost: Vec<Lost> = losses.iter().filter_map(|loss| plain.lost(loss)).collect();
    let found = plain.site.judge(&lost);
    let healed = plain.site.silent_at_once(&lost, shut).into_iter().filter(|wish| !found.silent.contains(wish)).collect();
    [found.silent, found.one_leg_left, healed].map(|wishes: Vec<usize>| wishes.into_iter().map(|wish| wish as u32).collect())
}

pub fn parts(effect: &Effect) -> [Vec<u32>; 3] {
    [effect.silent.clone(), effect.one_leg_left.clone(), effect.gaps.iter().map(|(demand, _)| *demand).collect()]
}

/// What was seen of some plans, so that a test can tell that it saw something.
#[derive(Debug, Default)]
pub struct Seen {
    pub plans: usize,
    pub failures: usize,
    pub silenced: usize,
    pub gaps: usize,
}

/// Every single failure of the plan with this seed.
pub fn try_singles(seed: u64, seen: &mut Seen) {
    let (court, _) = Court::new(seed);
    let survival = &court.survival;
    let singles = survival.single_failures();
    for (at, effect) in survival.effects(&singles).enumerate() {
        let expected = court.verdict(&effect.losses);
        assert_eq!(parts(&effect), expected, "seed {seed}: {}", effect.losses[0]);
        assert_eq!(effect, survival.whatif(&effect.losses), "seed {seed}");
        assert_eq!(effect, survival.effect_of(&singles, at), "seed {seed}");
        seen.failures += 1;
        seen.silenced += expected[0].len();
        seen.gaps += expected[2].len();
    }
    seen.plans += 1;
}

/// Every pair of failures of the plan with this seed: how many there are, and how much the worst three silence.
pub fn try_pairs(seed: u64) -> u64 {
    let (court, _) = Court::new(seed);
    let survival = &court.survival;
    let singles = survival.single_failures();
    let found = survival.double_failures(&singles, 3);
    let essential: BTreeSet<usize> = (0..survival.demands().len()).filter(|demand| survival.demands()[*demand].essential).collect();
    let losses: Vec<Lost> = singles.losses().iter().filter(|loss| !loss.is_frozen()).filter_map(|loss| court.plain.lost(loss)).collect();
    let alone: Vec<Vec<usize>> = losses.iter().map(|loss| court.plain.site.judge(&[*loss]).silent).collect();
    let (mut count, mut most) = (0, Vec::new());
    for one in 0..losses.len() {
        for two in one + 1..losses.len() {
            let both = court.plain.site.judge(&[losses[one], losses[two]]).silent;
            let new = both.iter().filter(|wish| essential.contains(wish) && !alone[one].contains(wish) && !alone[two].contains(wish));
            let new = new.count() as u32;
            count += u64::from(new > 0);
            most.push(new);
        }
    }
    most.sort_unstable_by(|one, two| two.cmp(one));
    assert_eq!(found.count, count, "seed {seed}");
    let worst: Vec<u32> = found.worst.iter().map(|double| double.silenced).collect();
    let expected: Vec<u32> = most.into_iter().filter(|new| *new > 0).take(3).collect();
    assert_eq!(worst, expected, "seed {seed}");
    count
}

#[test]
fn every_single_failure_agrees_with_the_judge() {
    let mut seen = Seen::default();
    (0..300).for_each(|seed| try_singles(seed, &mut seen));
    assert!(seen.failures > 10_000 && seen.silenced > 10_000 && seen.gaps > 2_500, "{seen:?}");
}

#[test]
fn any_set_of_losses_agrees_with_the_judge() {
    let mut silenced = 0;
    for seed in 1_000..1_200 {
        let (court, mut dice) = Court::new(seed);
        let mut all = court.survival.single_failures().losses().to_vec();
        all.extend(court.wiring.cables.values().map(|cable| Loss::Gone(Item::Port(cable.ends[0].clone()))));
        for _ in 0..10 {
            let losses: Vec<Loss> = (0..1 + dice.roll(4)).map(|_| dice.pick(&all).clone()).collect();
            let effect = court.survival.whatif(&losses);
            assert_eq!(parts(&effect), court.verdict(&losses), "seed {seed}: {losses:?}");
            silenced += effect.silent.len();
        }
    }
    assert!(silenced > 2_000, "{silenced}");
}

#[test]
fn pairs_of_failures_agree_with_trying_them_all() {
    let pairs: u64 = (2_000..2_040).map(try_pairs).sum();
    assert!(pairs > 700, "{pairs}");
}
