//! Small wirings where the right move is known.

use super::*;
use crate::trial::{Trial, id, port};
use loomwright_model::plan::Mode;

/// Two switches of network a in one rack, joined by a trunk, and one with its own sender elsewhere.
fn rack() -> Trial {
    let mut trial = Trial::bare();
    trial.switch("sw-1", ("switch", "stage"), &["a"]).switch("sw-2", ("switch", "stage"), &["a"]);
    trial.device("box-1", "mono", "stage").device("desk", "mono", "stage");
    trial.cable("A-001", ["box-1/1", "sw-1/1"], "a").cable("A-002", ["desk/1", "sw-2/1"], "a").cable("A-003", ["sw-1/8", "sw-2/8"], "a");
    trial.address("box-1/1", "10.1.0.11/24").address("desk/1", "10.1.0.12/24");
    trial.stream("mics", "box-1", &["desk"], 8).group(("mics", 1), "a", "239.192.1.1");
    trial.plan.streams["mics"].essential = true;
    trial
}

fn advice(trial: &Trial, item: &str) -> (Advice, Vec<String>) {
    let analysis = Analysis::new(&trial.plan, &trial.wiring);
    let item = item.parse().expect("an item");
    let advice = Emergency::new(&analysis).advice(&item).expect("something that can fail");
    let steps = advice.steps(&analysis);
    (advice, steps)
}

#[test]
fn a_plug_goes_into_a_spare_port_of_the_switch_beside() {
    let (advice, steps) = advice(&rack(), "switch:sw-1");
    let [one] = advice.moves.as_slice() else { panic!("{steps:#?}") };
    // The trunk's own port on sw-2 is open and set already: better than a spare port, which is shut.
    assert_eq!(
        (one.cable.as_str(), &one.from, &one.to, one.pull.as_ref()),
        ("A-001", &port("sw-1/1"), &port("sw-2/8"), Some(&id("A-003")))
    );
    assert_eq!((advice.silent.len(), advice.back.len(), advice.waiting.len(), &one.prepare), (1, 1, 0, &None));
    assert!(steps[2].contains("Move A-001 (to box-1) from sw-1/1 to sw-2/8; take A-003 out there first."), "{steps:#?}");
}

#[test]
fn spare_ports_must_have_been_opened_before() {
    let mut trial = rack();
    trial.device("box-2", "mono", "stage").cable("A-004", ["box-2/1", "sw-1/2"], "a").address("box-2/1", "10.1.0.13/24");
    trial.stream("more", "box-2", &["desk"], 8).group(("more", 1), "a", "239.192.1.2");
    let (advice, steps) = advice(&trial, "switch:sw-1");
    let to: Vec<String> = advice.moves.iter().map(|one| format!("{} into {}", one.cable, one.to)).collect();
    // The trunk first, since both streams end behind it: into the port of the essential sender, which is open. The
    // other into the first spare port.
    assert_eq!(to, ["A-003 into box-1/1", "A-004 into sw-2/2"], "{steps:#?}");
    assert_eq!(advice.moves[1].prepare, Some(vec![id("a")]));
    assert!(steps[3].contains("opened and set for network a before"), "{steps:#?}");
    assert_eq!(advice.back.len(), 2);
}

#[test]
fn network_a_never_goes_into_b() {
    let mut trial = rack();
    trial.wiring.switches["sw-2"].networks = vec![id("b")];
    trial.unplug("A-003").unplug("A-002").cable("A-002", ["desk/1", "sw-1/2"], "a").lay("A-002", &["left"]);
    trial.plan.devices["desk"].place = id("foh");
    trial.plan.devices["box-1"].place = id("foh");
    trial.lay("A-001", &["left"]);
    let (advice, steps) = advice(&trial, "switch:sw-1");
    assert_eq!((advice.silent.len(), advice.moves.len(), advice.waiting.len()), (1, 0, 1), "{steps:#?}");
    assert!(steps.iter().any(|step| step == "No other port within reach can help."), "{steps:#?}");
}

#[test]
fn what_is_out_of_reach_is_not_moved() {
    let mut trial = rack();
    for item in ["sw-2", "desk"] {
        trial.wiring.switches.get_mut(item).into_iter().for_each(|switch| switch.place = id("foh"));
        trial.plan.devices.get_mut(item).into_iter().for_each(|device| device.place = id("foh"));
    }
    trial.plan.devices["box-1"].place = id("foh");
    trial.lay("A-003", &["left"]).lay("A-001", &["left"]);
    assert!(advice(&trial, "switch:sw-1").0.moves.is_empty());
}

#[test]
fn only_ports_of_the_same_speed_and_medium_will_do() {
    use loomwright_model::{BitRate, Medium};
    for (speed, medium, moves) in [(1_000_000_000, Medium::Copper, 1), (100_000_000, Medium::Copper, 0), (1_000_000_000, Medium::Fibre, 0)]
    {
        let mut trial = rack();
        let mut gear = trial.plan.gear["switch"].clone();
        (gear.ports[0].speed, gear.ports[0].medium) = (BitRate::from_bits_per_second(speed), medium);
        trial.plan.gear.insert(id("other"), gear);
        trial.wiring.switches["sw-2"].gear = id("other");
        // The receiver stands elsewhere, behind the other switch; only the sender's plug can be moved.
        trial.plan.devices["desk"].place = id("foh");
        trial.unplug("A-003").unplug("A-002").cable("A-002", ["desk/1", "sw-2/9"], "a").cable("A-003", ["sw-1/9", "sw-2/10"], "a");
        let (advice, steps) = advice(&trial, "switch:sw-1");
        let into_other = advice.moves.iter().filter(|one| one.cable == id("A-001") && one.to.item == id("sw-2")).count();
        assert_eq!(into_other, moves, "{speed} {medium}: {steps:#?}");
    }
}

#[test]
fn powered_devices_only_go_where_there_is_power_enough() {
    for (gear, budget, back) in [("poe-switch", 100_000, 1), ("switch", 0, 0), ("weak-poe-switch", 5_000, 0)] {
        let mut trial = rack();
        if budget > 0 {
            trial.plan.gear[gear].poe_budget = Some(loomwright_model::Power::from_milliwatts(budget));
            trial.plan.gear["speaker"].draws = Some(loomwright_model::Power::from_milliwatts(10_000));
        }
        trial.unplug("A-001").device("spk", "speaker", "stage").address("spk/1", "10.1.0.20/24");
        trial.wiring.switches["sw-1"].gear = id("poe-switch");
        trial.wiring.switches["sw-2"].gear = id(gear);
        trial.cable("A-001", ["spk/1", "sw-1/1"], "a");
        trial.plan.streams.shift_remove("mics");
        trial.stream("paging", "desk", &["spk"], 1).group(("paging", 1), "a", "239.192.1.3");
        let (advice, steps) = advice(&trial, "switch:sw-1");
        assert_eq!((advice.silent.len(), advice.back.len()), (1, back), "{gear}: {steps:#?}");
    }
}

#[test]
fn no_move_overloads_a_link() {
    // Unicast over one trunk between two other switches: the copy that comes back would not fit.
    let mut trial = rack();
    trial.plan.streams["mics"].mode = Mode::Unicast;
    trial.plan.targets.link_load = loomwright_model::Share::from_parts_per_million(1);
    let (advice, _) = advice(&trial, "switch:sw-1");
    // Every used link is over this limit already; the port that the plug would go into is not, before.
    assert!(advice.moves.is_empty() && advice.waiting.len() == 1);
}

#[test]
fn a_dead_link_of_a_chain_is_bypassed() {
    let mut trial = Trial::bare();
    trial.device("desk", "box", "stage").chain("desk/1", 3).stream("mics", "c3", &["desk"], 8);
    trial.plan.devices["c3"].place = id("stage");
    let (advice, steps) = advice(&trial, "device:c2");
    let [one] = advice.moves.as_slice() else { panic!("{steps:#?}") };
    assert_eq!((advice.back.len(), advice.waiting.len()), (1, 0), "{steps:#?}");
    assert!(one.pull.is_some() && one.from.item == id("c2"), "{steps:#?}");
}

#[test]
fn a_long_cable_is_stood_in_for_by_a_short_lead() {
    let mut trial = rack();
    trial.device("far", "mono", "foh").address("far/1", "10.1.0.30/24").cable("A-009", ["far/1", "sw-1/5"], "a").lay("A-009", &["left"]);
    trial.switch("sw-foh", ("switch", "foh"), &["a"]).cable("A-010", ["sw-foh/8", "sw-1/7"], "a").lay("A-010", &["right"]);
    trial.stream("fill", "box-1", &["far"], 2).group(("fill", 1), "a", "239.192.1.9");
    let (advice, steps) = advice(&trial, "cable:A-009");
    let [one] = advice.moves.as_slice() else { panic!("{steps:#?}") };
    assert!(one.is_lead && one.to == port("sw-foh/1") && one.other == port("far/1"), "{steps:#?}");
    assert_eq!(advice.back.len(), 1);
}

#[test]
fn life_safety_is_left_to_those_who_answer_for_it() {
    let mut trial = rack();
    trial.plan.streams["mics"].life_safety = true;
    let (advice, steps) = advice(&trial, "switch:sw-1");
    assert!(advice.moves.is_empty() && advice.touches_life_safety);
    assert!(
        steps[0].starts_with("A life-safety stream hangs on this: call") && !steps.iter().any(|step| step.contains("Mute what")),
        "{steps:#?}"
    );
}

#[test]
fn nothing_silent_asks_for_nothing() {
    let trial = Trial::good();
    let (advice, steps) = advice(&trial, "cable:A-002");
    assert!(advice.silent.is_empty() && advice.moves.is_empty() && advice.one_leg_left == 1);
    assert!(steps[0].starts_with("Leave it alone"), "{steps:#?}");
    let analysis = Analysis::new(&trial.plan, &trial.wiring);
    assert!(Emergency::new(&analysis).advice(&Item::Plan).is_none());
    assert!(Emergency::new(&analysis).advice(&Item::Cable(id("nowhere"))).is_none());
}
