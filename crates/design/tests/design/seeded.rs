//! Plans by seed: sound ones, in which everything can be met, and rough ones, in which it cannot.

use crate::plans::{Dice, add_device, add_network, add_place, add_route, add_stream, empty, id, metres};
use loomwright_model::plan::{Addressing, Legs, Mode};
use loomwright_model::{Medium, Pairing, Plan, Survive};

const BOTH: [Medium; 2] = [Medium::Copper, Medium::Fibre];
const TYPES: [&str; 6] = ["stage-box", "desk", "amp", "panel", "laptop", "router"];

/// A plan in which every device can be wired and every stream can get through.
pub fn sound(seed: u64) -> Plan {
    let mut dice = Dice(seed);
    let mut plan = empty();
    plan.targets.survive = [Survive::Nothing, Survive::AnyOne, Survive::AnyTwo][dice.below(3) as usize];
    networks(&mut plan, &mut dice);
    let places = 1 + dice.below(6);
    for n in 0..places {
        let feeds = [&["mains"][..], &["mains", "ups"], &[], &["ups"]][dice.below(4) as usize];
        add_place(&mut plan, &format!("p{n}"), feeds);
        if n > 0 {
            join(&mut plan, &mut dice, n);
        }
    }
    for n in 0..dice.below(40) {
        let gear = TYPES[dice.below(6) as usize];
        add_device(&mut plan, &format!("d{n}"), gear, &format!("p{}", dice.below(places)));
    }
    streams(&mut plan, &mut dice);
    if dice.one_in(2) {
        plan.stock.copper = [5, 10, 20, 50, 90].map(metres).to_vec();
        plan.stock.fibre = [20, 100, 300, 1_000].map(metres).to_vec();
    }
    plan
}

fn networks(plan: &mut Plan, dice: &mut Dice) {
    let vlans = dice.one_in(2);
    add_network(plan, "a", "10.10.0.0/22", vlans.then_some(10));
    if dice.one_in(2) {
        add_network(plan, "b", "10.20.0.0/22", vlans.then_some(20));
    }
    if dice.one_in(2) {
        add_network(plan, "control", "10.30.0.0/23", vlans.then_some(30));
    }
}

fn join(plan: &mut Plan, dice: &mut Dice, n: u64) {
    for (way, hazards) in [("x", ["floor"]), ("y", ["roof"])] {
        if way == "x" || dice.one_in(2) {
            let between = [format!("p{n}"), format!("p{}", dice.below(n))];
            let takes: &[Medium] = if dice.one_in(3) { &[Medium::Fibre] } else { &BOTH };
            let shares: &[&str] = if dice.one_in(2) { &hazards } else { &[] };
            add_route(plan, &format!("r{n}{way}"), between.each_ref().map(String::as_str), (5 + dice.below(200), takes, shares));
        }
    }
}

fn streams(plan: &mut Plan, dice: &mut Dice) {
    let ends: Vec<String> =
        plan.devices.iter().filter(|(_, device)| device.gear.as_str() != "router").map(|(id, _)| id.to_string()).collect();
    for n in 0..dice.below(12) {
        if ends.len() < 2 {
            return;
        }
        let from = dice.below(ends.len() as u64) as usize;
        let to: Vec<&str> = ends.iter().enumerate().filter(|(at, _)| *at != from && dice.one_in(4)).map(|(_, end)| end.as_str()).collect();
        add_stream(plan, &format!("s{n}"), (&ends[from], &to), dice.one_in(2));
        if dice.one_in(6) {
            plan.streams[&id(&format!("s{n}"))].mode = Mode::Unicast;
        }
    }
}

/// A plan with something that cannot be met.
pub fn rough(seed: u64) -> Plan {
    let mut dice = Dice(seed ^ 0xDEAD);
    let mut plan = sound(seed);
    for _ in 0..=dice.below(3) {
        spoil(&mut plan, &mut dice);
    }
    plan
}

fn spoil(plan: &mut Plan, dice: &mut Dice) {
    let types = ["switch-8", "switch-24", "switch-48", "switch-fibre"];
    match dice.below(10) {
        0 => plan.routes.clear(),
        1 => plan.networks.clear(),
        2 => plan.gear.retain(|_, gear| gear.ports.is_empty()),
        3 => plan.stock.switches = Some([(id(types[dice.below(4) as usize]), dice.below(3) as u32)].into_iter().collect()),
        4 => plan
            .routes
            .values_mut()
            .for_each(|route| (route.length, route.takes) = (metres(route.length.millimetres() / 500), vec![Medium::Copper])),
        5 => plan.networks.values_mut().for_each(|network| network.subnet = "192.168.7.0/28".parse().ok()),
        6 => plan.networks.values_mut().for_each(|network| network.addresses = Addressing::LinkLocal),
        7 => plan.devices.values_mut().for_each(|device| device.networks = vec![id(["a", "b", "control"][dice.below(3) as usize])]),
        8 => {
            for device in plan.devices.values_mut() {
                device.pairing = [None, Some(Pairing::Chained), Some(Pairing::Independent)][dice.below(3) as usize];
            }
        }
        _ => plan.streams.values_mut().for_each(|stream| stream.legs = Legs::Only(vec![id("b")])),
    }
}
