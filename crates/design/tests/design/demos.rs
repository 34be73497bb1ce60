//! The demo plans, designed from nothing: the whole way from a file to a wiring.

use crate::rules;
use loomwright_design::{Designed, design};
use loomwright_model::{Nowhere, Plan, Severity, Wiring};
use loomwright_physical::{CableTrouble, inspect};
use loomwright_planfile::{Source, read, write_wiring};

const MEETING_ROOM: &str = include_str!("../../../../plans/meeting-room/meeting-room.toml");
const PLAYHOUSE: &str = include_str!("../../../../plans/playhouse/playhouse.toml");

fn designed(text: &str) -> (Plan, Designed) {
    let plan = read(Source { name: "demo.toml", text }, None).expect("the demo reads").plan;
    let done = design(&plan, &Wiring::default());
    (plan, done)
}

#[test]
fn demos_are_wired_by_the_rules() {
    for text in [MEETING_ROOM, PLAYHOUSE] {
        let (plan, done) = designed(text);
        let wiring = &done.wiring;
        let checked = rules::ports_are_sound(&plan, wiring)
            .and_then(|()| rules::cables_can_be_laid(&plan, wiring))
            .and_then(|()| rules::addresses_are_sound(&plan, wiring))
            .and_then(|()| rules::convention_is_kept(&plan, wiring))
            .and_then(|()| rules::legs_match(&plan, &done, true))
            .and_then(|()| rules::networks_stay_apart(&plan, wiring))
            .and_then(|()| rules::streams_arrive(&plan, wiring))
            .and_then(|()| rules::has_no_loop(&plan, wiring));
        assert_eq!(checked, Ok(()), "{}: {:#?}", plan.about.name, done.findings);
        assert!(done.findings.iter().all(|finding| finding.severity != Severity::Stop), "{:#?}", done.findings);
    }
}

#[test]
fn demos_are_physically_sound() {
    for text in [MEETING_ROOM, PLAYHOUSE] {
        let (plan, done) = designed(text);
        let physical = inspect(&plan, &done.wiring);
        for check in &physical.cables {
            // A control jack of 100 Mb/s in a gigabit port is as it should be.
            let harmless = |trouble: &CableTrouble| matches!(trouble, CableTrouble::SpeedsDiffer { negotiates: true, .. });
            assert!(check.troubles.iter().all(harmless), "{}: {check:?}", plan.about.name);
        }
        assert!(physical.shared_ports.is_empty() && physical.without_power_port.is_empty(), "{physical:?}");
        assert!(physical.poe.iter().all(|poe| !poe.is_over() && poe.ports.iter().all(|port| !port.port_too_weak)), "{:?}", physical.poe);
    }
}

#[test]
fn nothing_in_the_demos_stops_the_show() {
    for text in [MEETING_ROOM, PLAYHOUSE] {
        let (plan, done) = designed(text);
        let report = loomwright_proof::prove(&plan, &done.wiring, &Nowhere);
        let stops: Vec<_> = report.findings.iter().filter(|finding| finding.severity == "stop").collect();
        assert!(stops.is_empty(), "{}: {stops:#?}", plan.about.name);
        let addresses: Vec<_> = report.findings.iter().filter(|finding| finding.code.starts_with("address/")).collect();
        assert!(addresses.is_empty(), "{}: {addresses:#?}", plan.about.name);
    }
}

#[test]
fn a_designed_wiring_reads_back_as_it_was() {
    for text in [MEETING_ROOM, PLAYHOUSE] {
        let (_, done) = designed(text);
        let written = write_wiring(&done.wiring);
        let back = read(Source { name: "demo.toml", text }, Some(Source { name: "demo.wiring.toml", text: &written }));
        assert_eq!(back.map(|loaded| loaded.wiring).expect("what was written reads"), done.wiring);
    }
}
