//! A few hundred plans by seed against the rules.

use crate::plans::{Dice, add_device, add_stream};
use crate::rules;
use crate::seeded::{rough, sound};
use loomwright_design::{Designed, Stage, design, design_watched};
use loomwright_model::plan::Carries;
use loomwright_model::{Plan, Severity, Survive, Wiring};
use std::sync::OnceLock;

const SEEDS: std::ops::Range<u64> = 0..200;

fn fresh(plan: &Plan) -> Designed {
    design(plan, &Wiring::default())
}

/// The whole outcome as text, with the order of every map.
fn bytes(done: &Designed) -> String {
    format!("{done:?}")
}

/// The first lines in which two outcomes differ.
fn first_difference(one: &Designed, other: &Designed) -> Result<(), String> {
    let (one, other) = (format!("{one:#?}"), format!("{other:#?}"));
    match one.lines().zip(other.lines()).position(|(one, other)| one != other) {
        None if one == other => Ok(()),
        at => {
            let from = at.unwrap_or(0).saturating_sub(30);
            let part = |text: &str| text.lines().skip(from).take(40).map(str::trim).collect::<Vec<_>>().join(" ");
            Err(format!("{}\n-- became --\n{}", part(&one), part(&other)))
        }
    }
}

/// Which plans.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Sound,
    Rough,
}

/// The plans of all seeds with their designs, made once for all tests.
fn designed(kind: Kind) -> &'static [(Plan, Designed)] {
    static SOUND: OnceLock<Vec<(Plan, Designed)>> = OnceLock::new();
    static ROUGH: OnceLock<Vec<(Plan, Designed)>> = OnceLock::new();
    let with_design = |plan: Plan| {
        let done = fresh(&plan);
        (plan, done)
    };
    match kind {
        Kind::Sound => SOUND.get_or_init(|| SEEDS.map(|seed| with_design(sound(seed))).collect()),
        Kind::Rough => ROUGH.get_or_init(|| SEEDS.map(|seed| with_design(rough(seed))).collect()),
    }
}

fn each(kind: Kind, rule: impl Fn(&Plan, &Designed) -> Result<(), String>) {
    for (seed, (plan, done)) in designed(kind).iter().enumerate() {
        if let Err(broken) = rule(plan, done) {
            panic!("seed {seed}: {broken}\nfindings: {:#?}", done.findings);
        }
    }
}

fn one_switch_only(plan: &Plan) -> bool {
    plan.stock.switches.as_ref().is_some_and(|stock| stock.values().sum::<u32>() == 1)
}

#[test]
fn rules_hold_where_everything_can_be_met() {
    each(Kind::Sound, |plan, done| {
        let wiring = &done.wiring;
        rules::ports_are_sound(plan, wiring)?;
        rules::cables_can_be_laid(plan, wiring)?;
        rules::addresses_are_sound(plan, wiring)?;
        rules::convention_is_kept(plan, wiring)?;
        rules::legs_match(plan, done, true)?;
        rules::networks_stay_apart(plan, wiring)?;
        rules::streams_arrive(plan, wiring)?;
        rules::groups_do_not_clash(wiring)?;
        let audio = plan.networks.values().filter(|network| network.carries == Carries::Audio).count();
        if plan.targets.survive == Survive::Nothing || plan.targets.survive == Survive::AnyOne && audio > 1 {
            rules::has_no_loop(plan, wiring)?;
        }
        let stops = done.findings.iter().filter(|finding| finding.severity == Severity::Stop && finding.code != "design/no-clock-leader");
        if stops.count() > 0 { Err("a sound plan was stopped".to_owned()) } else { Ok(()) }
    });
}

#[test]
fn rules_hold_where_much_cannot_be_met() {
    each(Kind::Rough, |plan, done| {
        let wiring = &done.wiring;
        rules::ports_are_sound(plan, wiring)?;
        rules::cables_can_be_laid(plan, wiring)?;
        let same_subnets = plan.networks.values().any(|network| network.subnet.is_some_and(|subnet| subnet.prefix() == 28));
        if !same_subnets {
            rules::addresses_are_sound(plan, wiring)?;
        }
        if !one_switch_only(plan) {
            rules::legs_match(plan, done, false)?;
            rules::networks_stay_apart(plan, wiring)?;
        }
        rules::groups_do_not_clash(wiring)
    });
}

#[test]
fn what_does_not_arrive_is_said() {
    each(Kind::Rough, |plan, done| {
        let stopped = done.findings.iter().any(|finding| finding.severity == Severity::Stop);
        if stopped { Ok(()) } else { rules::streams_arrive(plan, &done.wiring) }
    });
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    for kind in [Kind::Sound, Kind::Rough] {
        each(kind, |plan, done| if bytes(&fresh(plan)) == bytes(done) { Ok(()) } else { Err("two runs differ".to_owned()) });
    }
}

#[test]
fn designing_again_changes_nothing() {
    for kind in [Kind::Sound, Kind::Rough] {
        each(kind, |plan, done| {
            let again = design(plan, &done.wiring);
            first_difference(done, &again)
        });
    }
}

/// Holds about a third of everything; a held cable holds its switches too, as a person would.
fn hold_some(wiring: &mut Wiring, dice: &mut Dice) {
    wiring.switches.values_mut().for_each(|switch| switch.hold = dice.one_in(2));
    for cable in wiring.cables.values_mut() {
        let standing = cable.ends.iter().all(|end| wiring.switches.get(&end.item).is_none_or(|switch| switch.hold));
        cable.hold = standing && dice.one_in(3);
    }
    wiring.settings.values_mut().for_each(|setting| setting.hold = dice.one_in(3));
    wiring.interfaces.values_mut().for_each(|interface| interface.hold = dice.one_in(3));
}

#[test]
fn held_items_stay_when_the_plan_grows() {
    for seed in SEEDS {
        let mut dice = Dice(seed ^ 0xBEEF);
        let (plan, done) = &designed(if seed % 3 == 0 { Kind::Rough } else { Kind::Sound })[seed as usize];
        let (mut plan, mut before) = (plan.clone(), done.wiring.clone());
        hold_some(&mut before, &mut dice);
        for n in 0..dice.below(6) {
            let place = dice.below(plan.places.len() as u64);
            add_device(&mut plan, &format!("new{n}"), ["stage-box", "amp", "desk"][dice.below(3) as usize], &format!("p{place}"));
        }
        let after = design(&plan, &before);
        let wiring = &after.wiring;
        let checked = rules::held_is_kept(&before, wiring)
            .and_then(|()| rules::ports_are_sound(&plan, wiring))
            .and_then(|()| rules::cables_can_be_laid(&plan, wiring))
            .and_then(|()| if seed % 3 == 0 { Ok(()) } else { rules::streams_arrive(&plan, wiring) });
        if let Err(broken) = checked {
            panic!("seed {seed}: {broken}\n{:#?}", after.findings);
        }
        if let Err(difference) = first_difference(&after, &design(&plan, wiring)) {
            panic!("seed {seed}, again: {difference}");
        }
    }
}

#[test]
fn addresses_and_groups_stay_when_the_plan_grows() {
    for seed in SEEDS {
        let (plan, done) = &designed(Kind::Sound)[seed as usize];
        let (mut plan, before) = (plan.clone(), &done.wiring);
        add_device(&mut plan, "new-1", "stage-box", "p0");
        add_device(&mut plan, "new-2", "stage-box", "p0");
        plan.devices.move_index(plan.devices.len() - 1, 0);
        add_stream(&mut plan, "new-stream", ("new-1", &["new-2"]), false);
        plan.streams.move_index(plan.streams.len() - 1, 0);
        let after = design(&plan, before).wiring;
        for (port, interface) in &before.interfaces {
            assert_eq!(after.interfaces.get(port).unwrap_or(interface).address, interface.address, "seed {seed}: {port}");
        }
        for (key, groups) in &before.groups {
            assert_eq!(after.groups.get(key), Some(groups), "seed {seed}: {key:?}");
        }
    }
}

/// With one audio network that has to survive any one failure, any trunk can be pulled, or the design says which not.
#[test]
fn a_ring_outlives_any_one_trunk() {
    let mut pulled = 0;
    for (seed, (plan, done)) in designed(Kind::Sound).iter().enumerate() {
        let audio = plan.networks.values().filter(|network| network.carries == Carries::Audio).count();
        if audio > 1 || plan.targets.survive != Survive::AnyOne {
            continue;
        }
        let is_trunk = |ends: &[loomwright_model::PortRef; 2]| ends.iter().all(|end| done.wiring.switches.contains_key(&end.item));
        let trunks: Vec<_> = done.wiring.cables.iter().filter(|(_, cable)| is_trunk(&cable.ends)).map(|(id, _)| id.clone()).collect();
        for trunk in trunks {
            let mut broken = done.wiring.clone();
            broken.cables.shift_remove(&trunk);
            pulled += 1;
            let arrives = rules::streams_arrive(plan, &broken);
            let said = done.findings.iter().any(|finding| finding.code == "design/no-second-way");
            assert!(arrives.is_ok() || said, "seed {seed}: without {trunk} {arrives:?}\n{:#?}", done.decisions);
        }
    }
    assert!(pulled > 50, "too few trunks to mean anything: {pulled}");
}

#[test]
fn stopped_at_any_time_the_best_so_far_is_wired_in_full() {
    let mut stopped = 0;
    for (seed, (plan, done)) in designed(Kind::Sound).iter().enumerate().take(60) {
        let mut asked = 0;
        let watched = design_watched(plan, &Wiring::default(), &mut |stage| {
            if let Stage::Wirings { done, of } | Stage::Moves { done, of } = stage {
                assert!(done <= of, "seed {seed}: {stage:?}");
            }
            asked += 1;
            true
        });
        assert_eq!(bytes(&watched), bytes(done), "seed {seed}: looking on changes nothing");
        for after in [0, asked / 2] {
            let mut told = 0;
            let early = design_watched(plan, &Wiring::default(), &mut |_| {
                told += 1;
                told <= after
            });
            assert!(told <= after + 1, "seed {seed}: asked again after it was stopped");
            let checked = rules::ports_are_sound(plan, &early.wiring)
                .and_then(|()| rules::cables_can_be_laid(plan, &early.wiring))
                .and_then(|()| rules::addresses_are_sound(plan, &early.wiring))
                .and_then(|()| rules::streams_arrive(plan, &early.wiring));
            assert_eq!(checked, Ok(()), "seed {seed}, stopped after {after} of {asked}");
            stopped += usize::from(told > after);
        }
    }
    assert!(stopped > 60, "too few were stopped to mean anything: {stopped}");
}
