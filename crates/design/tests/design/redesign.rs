//! Plans that change while the cables are in.

use crate::plans::{Dice, add_device, add_network, add_place, add_route, add_stream, empty, id, playhouse};
use crate::rules;
use loomwright_design::redesign::{Redesigned, moved_ends, redesign, repatch};
use loomwright_design::{design, options::Shape, options::option};
use loomwright_model::{Id, Medium, Nowhere, Plan, PortRef, Survive, Wiring};
use loomwright_planfile::{Source, read};
use std::collections::BTreeSet;

const PLAYHOUSE: &str = include_str!("../../../../plans/playhouse/playhouse.toml");

/// What every redesign keeps: held items, addresses of what stays, and names of cables that did not move.
fn keeps(plan: &Plan, before: &Wiring, done: &Redesigned) -> Result<(), String> {
    let after = &done.designed.wiring;
    rules::held_is_kept(before, after)?;
    rules::ports_are_sound(plan, after)?;
    rules::addresses_are_sound(plan, after)?;
    for (port, old) in before.interfaces.iter().filter(|(port, _)| plan.devices.contains_key(&port.item)) {
        if let Some(new) = after.interfaces.get(port)
            && new.address != old.address
        {
            return Err(format!("{port} had {} and has {}", old.address, new.address));
        }
    }
    for (name, old) in &before.cables {
        let same = after.cables.iter().find(|(_, new)| new.ends.iter().all(|end| old.ends.contains(end)));
        if same.is_some_and(|(new, _)| new != name) {
            return Err(format!("{name} stayed and has another name"));
        }
    }
    Ok(())
}

/// One change of the kind that comes at noon.
fn change(plan: &mut Plan, dice: &mut Dice, n: u64) {
    let place = plan.places.get_index(dice.below(plan.places.len() as u64) as usize).map(|(id, _)| id.to_string()).expect("a place");
    let device = plan.devices.get_index(dice.below(plan.devices.len() as u64) as usize).map(|(id, _)| id.clone()).expect("a device");
    match dice.below(5) {
        0 | 1 => add_device(plan, &format!("new-{n}"), ["stage-box-16", "amplifier-4", "wall-panel-poe"][dice.below(3) as usize], &place),
        2 => {
            plan.devices.shift_remove(&device);
            plan.streams.retain(|_, stream| stream.from != device);
            plan.streams.values_mut().for_each(|stream| stream.to.retain(|to| *to != device));
        }
        3 => plan.devices[&device].place = id(&place),
        _ => add_stream(plan, &format!("new-{n}"), ("dsp-1", &["foh-desk"]), true),
    }
}

#[test]
fn ten_changes_of_the_playhouse_move_nothing_that_can_stay() {
    let mut plan = read(Source { name: "playhouse.toml", text: PLAYHOUSE }, None).expect("the demo reads").plan;
    let mut wiring = design(&plan, &Wiring::default()).wiring;
    let mut dice = Dice(7);
    wiring.cables.values_mut().for_each(|cable| cable.hold = dice.one_in(4));
    for n in 0..10 {
        // A held cable keeps its device where it is: free those of what changes, as a person would.
        change(&mut plan, &mut dice, n);
        let places: Vec<Id> = plan.devices.values().map(|device| device.place.clone()).collect();
        assert!(!places.is_empty());
        let moved_away = |end: &PortRef, wiring: &Wiring| !wiring.switches.contains_key(&end.item) && !plan.devices.contains_key(&end.item);
        let gone: Vec<Id> = wiring
            .cables
            .iter()
            .filter(|(_, cable)| cable.ends.iter().any(|end| moved_away(end, &wiring)) || !lies(&plan, &wiring, cable))
            .map(|(id, _)| id.clone())
            .collect();
        gone.iter().for_each(|id| wiring.cables[id].hold = false);
        let done = redesign(&plan, &wiring);
        assert_eq!(keeps(&plan, &wiring, &done), Ok(()), "change {n}");
        assert_eq!(done.moved_ends, 0, "change {n}: switches can be bought, so nothing has to move");
        let useless: BTreeSet<&Id> = done.useless.iter().collect();
        assert!(gone.iter().all(|id| useless.contains(id)), "change {n}: {gone:?} {useless:?}");
        wiring = done.designed.wiring;
    }
}

/// Whether a cable still leads from the place of one end to that of the other.
fn lies(plan: &Plan, wiring: &Wiring, cable: &loomwright_model::Cable) -> bool {
    let mut at = wiring.place_of(plan, &cable.ends[0].item);
    for route in &cable.routes {
        let [one, other] = &plan.routes[route].between;
        at = if at == Some(one) { Some(other) } else { Some(one) };
    }
    at == wiring.place_of(plan, &cable.ends[1].item)
}

/// One place, one switch with four plain ports and four that give power, and nothing more to be had.
fn tight(devices: &[&str]) -> Plan {
    let mut plan = empty();
    add_network(&mut plan, "a", "10.0.0.0/24", None);
    add_place(&mut plan, "room", &["mains"]);
    let mut gear = plan.gear[&id("switch-24")].clone();
    let powered = gear.ports[0].clone();
    gear.ports = vec![
        loomwright_model::gear::PortGroup { count: 3, ..powered.clone() },
        loomwright_model::gear::PortGroup { count: 3, poe: None, ..powered },
    ];
    plan.gear.insert(id("small"), gear);
    plan.stock.switches = Some([(id("small"), 1)].into_iter().collect());
    plan.targets.spare_ports = loomwright_model::Share::from_parts_per_million(0);
    devices.iter().enumerate().for_each(|(n, gear)| add_device(&mut plan, &format!("d{n}"), gear, "room"));
    plan
}

/// The fewest ends that any way to plug all devices into the ports of the one switch moves: every way is tried.
fn fewest_moves(plan: &Plan, before: &Wiring) -> Option<usize> {
    let devices: Vec<(&Id, bool)> =
        plan.devices.iter().map(|(id, device)| (id, plan.gear_of(device).is_some_and(|gear| gear.poe.is_some()))).collect();
    let old: Vec<Option<u32>> = devices
        .iter()
        .map(|(id, _)| {
            let cable = before.cables.values().find(|cable| cable.ends.iter().any(|end| end.item == **id))?;
            cable.ends.iter().find(|end| before.switches.contains_key(&end.item))?.number()
        })
        .collect();
    let held: Vec<bool> = devices
        .iter()
        .map(|(id, _)| before.cables.values().any(|cable| cable.hold && cable.ends.iter().any(|end| end.item == **id)))
        .collect();
    /// Devices with whether they take power, the port each had, and whether it is held.
    type Boxes<'a> = (&'a [(&'a Id, bool)], &'a [Option<u32>], &'a [bool]);
    fn place(at: usize, used: &mut Vec<u32>, (devices, old, held): Boxes) -> Option<usize> {
        let Some((_, power)) = devices.get(at) else { return Some(0) };
        let mut best = None;
        for port in 1..=6u32 {
            if used.contains(&port) || *power && port > 3 || held[at] && old[at] != Some(port) {
                continue;
            }
            used.push(port);
            let rest = place(at + 1, used, (devices, old, held));
            used.pop();
            let moves = usize::from(old[at].is_some_and(|was| was != port));
            best = best.into_iter().chain(rest.map(|rest| rest + moves)).min();
        }
        best
    }
    place(0, &mut Vec::new(), (&devices, &old, &held))
}

#[test]
fn no_more_ends_move_than_any_way_needs() {
    let mut forced = 0;
    for seed in 0..60 {
        let mut dice = Dice(seed);
        let kinds: Vec<&str> = (0..3 + dice.below(3)).map(|_| ["amp", "panel"][usize::from(dice.one_in(4))]).collect();
        let mut plan = tight(&kinds);
        let mut before = design(&plan, &Wiring::default()).wiring;
        // As somebody else plugged it: ports shuffled, some cables held.
        shuffle(&plan, &mut before, &mut dice);
        before.cables.values_mut().for_each(|cable| cable.hold = dice.one_in(5));
        add_device(&mut plan, "late-1", "panel", "room");
        if dice.one_in(2) && plan.devices.len() < 6 {
            add_device(&mut plan, "late-2", ["amp", "panel"][dice.below(2) as usize], "room");
        }
        let Some(fewest) = fewest_moves(&plan, &before) else { continue };
        let done = redesign(&plan, &before);
        let report = loomwright_proof::prove(&plan, &done.designed.wiring, &Nowhere);
        let stops: Vec<_> = report
            .findings
            .iter()
            .filter(|finding| finding.severity == "stop" && finding.code != "clock/no-leader")
            .map(|finding| &finding.says)
            .collect();
        assert!(stops.is_empty(), "seed {seed}: {stops:?}");
        assert_eq!(keeps(&plan, &before, &done), Ok(()), "seed {seed}");
        assert_eq!(done.moved_ends, fewest, "seed {seed}: {kinds:?}");
        forced += fewest;
    }
    assert!(forced > 5, "the plans never forced a move: {forced}");
}

/// Plugs every device into another port that it can use.
fn shuffle(plan: &Plan, wiring: &mut Wiring, dice: &mut Dice) {
    let mut free: Vec<u32> = (1..=6).collect();
    let mut cables: Vec<Id> = wiring.cables.keys().cloned().collect();
    // Those that need power choose first.
    let power = |wiring: &Wiring, cable: &Id| {
        wiring.cables[cable]
            .ends
            .iter()
            .any(|end| plan.devices.get(&end.item).and_then(|device| plan.gear_of(device)).is_some_and(|gear| gear.poe.is_some()))
    };
    cables.sort_by_key(|cable| !power(wiring, cable));
    for cable in cables {
        let usable: Vec<u32> = free.iter().copied().filter(|port| !power(wiring, &cable) || *port <= 3).collect();
        let port = usable[dice.below(usable.len() as u64) as usize];
        free.retain(|other| *other != port);
        let ends = &mut wiring.cables[&cable].ends;
        let at = usize::from(plan.devices.contains_key(&ends[0].item));
        ends[at].port = id(&port.to_string());
    }
}

#[test]
fn a_moved_device_is_silent_only_while_it_moves() {
    let mut plan = tight(&["amp", "amp", "amp"]);
    add_device(&mut plan, "mixer", "amp", "room");
    plan.gear[&id("amp")].clock.can_lead = true;
    add_stream(&mut plan, "mix", ("mixer", &["d0", "d1", "d2"]), true);
    let mut before = design(&plan, &Wiring::default()).wiring;
    for (n, cable) in before.cables.values_mut().enumerate() {
        cable.ends[1].port = id(&(n + 1).to_string());
    }
    add_device(&mut plan, "late", "panel", "room");
    let done = redesign(&plan, &before);
    assert_eq!(done.moved_ends, 1);
    let list = repatch(&plan, &before, &done.designed.wiring);
    let moves: Vec<_> = list.steps.iter().filter(|step| step.says[0].starts_with("Move")).collect();
    assert_eq!(moves.len(), 1, "{list:#?}");
    assert!(!moves[0].silent_during.is_empty() && moves[0].silent_after.is_empty(), "{list:#?}");
    // The port is free before the new device is plugged in.
    let at = |text: &str| list.steps.iter().position(|step| step.says.iter().any(|says| says.contains(text)));
    assert!(at("Move") < at("Run"), "{list:#?}");
    assert_eq!(list.undo().len(), list.steps.iter().map(|step| step.undo.len()).sum::<usize>());
    assert!(list.undo().iter().any(|says| says.starts_with("Take")));
}

#[test]
fn every_state_in_between_is_as_the_list_says() {
    let plan = playhouse();
    let before = design(&plan, &Wiring::default()).wiring;
    let mut changed = plan;
    add_device(&mut changed, "box-9", "stage-box", "foh");
    add_stream(&mut changed, "late", ("box-9", &["foh-desk"]), true);
    let done = redesign(&changed, &before);
    assert_eq!((done.moved_ends, done.useless.len()), (0, 0));
    assert_eq!(keeps(&changed, &before, &done), Ok(()));
    let list = repatch(&changed, &before, &done.designed.wiring);
    assert!(!list.steps.is_empty() && list.is_quiet(), "{list:#?}");
    assert_eq!(moved_ends(&before, &done.designed.wiring), 0);
    assert!(repatch(&changed, &before, &before).steps.is_empty());
}

#[test]
fn a_chain_is_made_longer_not_torn_up() {
    let mut plan = empty();
    add_network(&mut plan, "a", "10.0.0.0/24", None);
    add_place(&mut plan, "room", &["mains"]);
    add_place(&mut plan, "annex", &["mains"]);
    add_route(&mut plan, "duct", ["room", "annex"], (20, &[Medium::Copper], &[]));
    ["box-1", "box-2", "box-3"].iter().for_each(|name| add_device(&mut plan, name, "stage-box", "room"));
    add_stream(&mut plan, "s", ("box-1", &["box-3"]), true);
    let before = design(&plan, &Wiring::default()).wiring;
    assert!(before.switches.is_empty());
    add_device(&mut plan, "box-4", "stage-box", "annex");
    let done = redesign(&plan, &before);
    assert_eq!((done.moved_ends, done.designed.wiring.switches.len(), done.designed.wiring.cables.len()), (0, 0, 3));
    // Chains inside a place stay too, though a design from nothing would not make them.
    let mixed = option(&plan, &Wiring::default(), Shape::ChainsAndStar).expect("it can be built").wiring;
    add_device(&mut plan, "box-5", "stage-box", "annex");
    let done = redesign(&plan, &mixed);
    assert_eq!(keeps(&plan, &mixed, &done), Ok(()));
    assert!(mixed.cables.iter().all(|(id, cable)| done.designed.wiring.cables[id].ends == cable.ends));
}

#[test]
fn a_second_network_moves_no_end_of_the_first() {
    let mut plan = empty();
    add_network(&mut plan, "a", "10.0.0.0/24", None);
    add_place(&mut plan, "room", &["mains"]);
    for n in 0..6 {
        add_device(&mut plan, &format!("box-{n}"), "stage-box", "room");
    }
    add_stream(&mut plan, "s", ("box-1", &["box-3"]), true);
    let before = design(&plan, &Wiring::default()).wiring;
    add_network(&mut plan, "b", "10.1.0.0/24", None);
    plan.targets.survive = Survive::AnyOne;
    let done = redesign(&plan, &before);
    assert_eq!(done.moved_ends, 0);
    assert!(done.designed.wiring.cables.values().any(|cable| cable.networks == [id("b")]), "{:#?}", done.designed.findings);
    assert_eq!(keeps(&plan, &before, &done), Ok(()));
}
