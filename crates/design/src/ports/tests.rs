//! Ports given out, against every way to give them out.

use super::*;
use crate::demand::Jack;
use crate::plans::{Dice, empty, id};
use loomwright_model::{BitRate, Gear, Medium, PoeClass, Power, Share};

/// A front of a few ports: some that feed power, some that do not, some for fibre.
fn front(dice: &mut Dice) -> Gear {
    let mut gear = empty().gear[&id("switch-24")].clone();
    let plain = gear.ports[0].clone();
    let group = |count: u64, poe, medium| loomwright_model::gear::PortGroup { count: count as u32, poe, medium, ..plain.clone() };
    gear.ports = vec![
        group(dice.below(3), None, Medium::Copper),
        group(1 + dice.below(3), Some(PoeClass::Class3), Medium::Copper),
        group(dice.below(2), None, Medium::Copper),
        group(dice.below(2), None, Medium::Fibre),
    ];
    gear.ports.retain(|group| group.count > 0);
    gear
}

fn jacks(dice: &mut Dice) -> Vec<Jack> {
    let mut jacks = Vec::new();
    for device in 0..1 + dice.below(4) as usize {
        let medium = if dice.one_in(5) { Medium::Fibre } else { Medium::Copper };
        let poe = (medium == Medium::Copper && dice.one_in(3)).then_some(PoeClass::Class3);
        for group in 0..if dice.one_in(2) { 2 } else { 1 } {
            let name = id(&format!("{}", group + 1));
            let network = id(["a", "b"][group]);
            let (speed, draws) = (BitRate::from_bits_per_second(100_000_000), Power::ZERO);
            jacks.push(Jack {
                device,
                place: 0,
                port: name,
                network,
                group,
                speed,
                medium,
                poe: poe.filter(|_| group == 0),
                draws,
                control: false,
            });
        }
    }
    jacks
}

/// Jacks with a port, then devices with the same number on both networks: the most that any way to give out ports gets.
fn most(panels: &[Option<Panel>], jacks: &[Jack], at: usize, given: &mut Vec<Option<usize>>) -> (usize, usize) {
    let Some(jack) = jacks.get(at) else {
        let even = |own: &[usize]| own.len() > 1 && own.iter().all(|at| given[*at].is_some() && given[*at] == given[own[0]]);
        let all: Vec<usize> = (0..jacks.len()).collect();
        return (given.iter().flatten().count(), by_device(jacks, &all).iter().filter(|own| even(own)).count());
    };
    let open: Vec<usize> = panels[jack.group].as_ref().map_or(Vec::new(), |panel| panel.seats(jack, 0).collect());
    let taken = |port: usize, given: &[Option<usize>]| (0..at).any(|other| jacks[other].group == jack.group && given[other] == Some(port));
    let mut best = (0, 0);
    for choice in open.into_iter().filter(|port| !taken(*port, given)).map(Some).chain([None]).collect::<Vec<Option<usize>>>() {
        given.push(choice);
        best = best.max(most(panels, jacks, at + 1, given));
        given.pop();
    }
    best
}

#[test]
fn as_many_are_seated_and_as_many_even_as_any_way_can() {
    let (mut tried, mut uneven, mut left) = (0, 0, 0);
    for seed in 0..400 {
        let mut dice = Dice(seed);
        let panels: Vec<Option<Panel>> = (0..2).map(|_| Some(Panel::new(&front(&mut dice), Share::from_parts_per_million(0)))).collect();
        let jacks = jacks(&mut dice);
        let (seated, even) = most(&panels, &jacks, 0, &mut Vec::new());
        let mut own = panels.clone();
        let found = seat(&mut own, &jacks);
        let all: Vec<usize> = (0..jacks.len()).collect();
        let port = |at: &usize| found.seats.iter().find(|seat| seat.jack == *at).map(|seat| seat.port);
        let is_even = |own: &&Vec<usize>| own.len() > 1 && own.iter().all(|at| port(at).is_some() && port(at) == port(&own[0]));
        let found_even = by_device(&jacks, &all).iter().filter(is_even).count();
        assert_eq!(found.seats.len(), seated, "seed {seed}: {jacks:?} on {panels:?}: {found:?}");
        // Where ports run out, who goes without is settled by power and order first.
        if seated == jacks.len() {
            assert_eq!(found_even, even, "seed {seed}: {jacks:?} on {panels:?}: {found:?}");
        }
        (tried, uneven, left) = (tried + 1, uneven + found.uneven.len(), left + found.left_out.len());
    }
    assert!(tried == 400 && uneven > 20 && left > 20, "too easy to mean anything: {uneven} uneven, {left} left out");
}
