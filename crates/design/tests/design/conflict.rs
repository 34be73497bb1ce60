//! Plans that cannot be wired say why, and say no more than is needed.

use crate::plans::{add_device, add_place, add_route, id, playhouse};
use loomwright_design::conflict::{Conflict, Demand, conflict, is_buildable, with_only};
use loomwright_model::{Medium, Plan, Survive, Wiring};

/// The conflict, after a look at every part of it: together they fail, without any one they do not.
fn minimal(plan: &Plan) -> Conflict {
    let none = Wiring::default();
    let found = conflict(plan, &none).expect("the plan cannot be wired");
    assert!(!is_buildable(&with_only(plan, &found.demands), &none), "{found:?}");
    for left_out in &found.demands {
        let rest: Vec<Demand> = found.demands.iter().filter(|demand| *demand != left_out).cloned().collect();
        assert!(is_buildable(&with_only(plan, &rest), &none), "{left_out:?} is not needed: {found:?}");
    }
    found
}

/// A playhouse in which everything can be met.
fn sound() -> Plan {
    let mut plan = playhouse();
    plan.targets.survive = Survive::Nothing;
    plan
}

#[test]
fn what_can_be_met_has_no_conflict() {
    assert_eq!(conflict(&sound(), &Wiring::default()), None);
}

#[test]
fn a_place_beyond_copper_is_named_with_its_distance() {
    let mut plan = sound();
    add_place(&mut plan, "roof", &[]);
    add_route(&mut plan, "ladder", ["roof", "stage"], (140, &[Medium::Copper], &[]));
    add_device(&mut plan, "amp-07", "amp", "roof");
    let found = minimal(&plan);
    assert!(found.demands.contains(&Demand::Reach(id("roof"))), "{found:?}");
    assert!(found.says.contains("roof is 15") && found.says.contains("reached by no fibre"), "{}", found.says);
}

#[test]
fn too_few_switches_name_the_stock() {
    let mut plan = sound();
    plan.stock.switches = Some([(id("switch-8"), 1)].into_iter().collect());
    let found = minimal(&plan);
    assert!(found.demands.contains(&Demand::Stock) && found.says.contains("1 of switch-8"), "{}", found.says);
}

#[test]
fn power_that_no_switch_gives_is_named() {
    let mut plan = sound();
    plan.stock.switches = Some([(id("switch-8"), 9)].into_iter().collect());
    add_device(&mut plan, "panel-9", "panel", "stage");
    let found = minimal(&plan);
    assert!(found.demands.iter().any(|demand| matches!(demand, Demand::Power(_))), "{}", found.says);
}
