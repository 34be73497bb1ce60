//! Plans with nothing in them, and plans that cannot be built.

use crate::plans::{add_device, add_network, add_place, add_route, add_stream, campus, empty, id, playhouse};
use crate::rules;
use loomwright_design::{Designed, design};
use loomwright_model::{Medium, Plan, Severity, Wiring};

fn fresh(plan: &Plan) -> Designed {
    design(plan, &Wiring::default())
}

fn says(done: &Designed, code: &str) -> Option<String> {
    done.findings.iter().find(|finding| finding.code == code).map(|finding| finding.says.clone())
}

#[test]
fn nothing_gives_nothing() {
    let done = fresh(&empty());
    assert_eq!(done.wiring, Wiring::default());
    assert!(says(&done, "design/no-devices").is_some());
    let mut plan = playhouse();
    plan.networks.clear();
    let done = fresh(&plan);
    assert!(done.wiring.cables.is_empty() && says(&done, "design/no-audio-network").is_some());
}

#[test]
fn a_few_devices_are_chained_without_a_switch() {
    let mut plan = empty();
    add_network(&mut plan, "a", "10.0.0.0/24", None);
    add_place(&mut plan, "stage", &[]);
    add_place(&mut plan, "foh", &[]);
    add_route(&mut plan, "floor", ["stage", "foh"], (40, &[Medium::Copper], &[]));
    for (name, gear, place) in
        [("laptop", "laptop", "foh"), ("mixer", "stage-box", "foh"), ("box-1", "stage-box", "stage"), ("amp", "amp", "stage")]
    {
        add_device(&mut plan, name, gear, place);
    }
    add_stream(&mut plan, "s", ("box-1", &["laptop", "amp"]), false);
    let wiring = fresh(&plan).wiring;
    let ends: Vec<String> = wiring.cables.values().map(|cable| format!("{}-{}", cable.ends[0], cable.ends[1])).collect();
    assert_eq!(ends, ["amp/1-box-1/1", "box-1/2-mixer/1", "mixer/2-laptop/lan"]);
    assert!(wiring.switches.is_empty());
    // One more two-port device than a short chain has: a switch.
    add_device(&mut plan, "box-2", "stage-box", "stage");
    add_device(&mut plan, "box-3", "stage-box", "stage");
    assert_eq!(fresh(&plan).wiring.switches.len(), 1);
    // And if there is none to be had, a long chain that says so.
    plan.gear.retain(|_, gear| gear.ports.is_empty());
    let done = fresh(&plan);
    assert_eq!(done.wiring.cables.len(), 5);
    assert!(says(&done, "design/long-chain").is_some());
}

#[test]
fn a_place_without_a_way_is_named() {
    let mut plan = playhouse();
    add_place(&mut plan, "roof", &[]);
    add_device(&mut plan, "roof-box", "stage-box", "roof");
    let done = fresh(&plan);
    let said = says(&done, "design/no-way").expect("the roof cannot be reached");
    assert!(said.contains("roof") && said.contains("no route"), "{said}");
    add_route(&mut plan, "ladder", ["roof", "stage"], (140, &[Medium::Copper], &[]));
    let said = says(&fresh(&plan), "design/too-far").expect("copper does not reach the roof");
    assert!(said.contains("151 m") || said.contains("155 m"), "{said}");
}

#[test]
fn without_switches_or_ports_the_devices_are_named() {
    let mut plan = playhouse();
    plan.gear.retain(|_, gear| gear.ports.is_empty());
    assert!(says(&fresh(&plan), "design/no-port").is_some());
    let mut plan = playhouse();
    plan.stock.switches = Some([(id("switch-8"), 1)].into_iter().collect());
    let done = fresh(&plan);
    assert!(says(&done, "design/shared-switch").is_some() && says(&done, "design/no-port").is_some());
    let stops = done.findings.iter().filter(|finding| finding.severity == Severity::Stop).count();
    assert!(stops > 0 && done.wiring.switches.len() == 1);
}

#[test]
fn a_campus_is_wired_by_the_rules() {
    let plan = campus(36, 400);
    let done = fresh(&plan);
    let checked = rules::ports_are_sound(&plan, &done.wiring)
        .and_then(|()| rules::cables_can_be_laid(&plan, &done.wiring))
        .and_then(|()| rules::addresses_are_sound(&plan, &done.wiring))
        .and_then(|()| rules::legs_match(&plan, &done, true))
        .and_then(|()| rules::networks_stay_apart(&plan, &done.wiring))
        .and_then(|()| rules::has_no_loop(&plan, &done.wiring));
    assert_eq!(checked, Ok(()));
    assert!(done.findings.iter().all(|finding| finding.severity != Severity::Stop), "{:#?}", done.findings);
}
