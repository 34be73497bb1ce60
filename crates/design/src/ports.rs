//! Gives out endpoint ports: from port 1 up in device order, the same number on every network of a device.

use crate::demand::Jack;
use crate::panel::Panel;

/// A jack and the switch port it got (index on the panel of the jack's group).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Seat {
    /// Index of the jack in the list that was given.
    pub jack: usize,
    /// Index of the port; its number is one more.
    pub port: usize,
}

/// What came of giving out ports.
#[derive(Debug, Clone, Default)]
pub(crate) struct Seating {
    pub seats: Vec<Seat>,
    /// Jacks that got none.
    pub left_out: Vec<usize>,
    /// Devices whose jacks have different numbers on different networks.
    pub uneven: Vec<usize>,
}

/// Seats `jacks` (devices in plan order) on the switches of one rack, one panel for each group.
///
/// Devices that are on several networks come first, so that the switch of the smaller network has no gaps; then
/// those on one; then control jacks.
pub(crate) fn seat(panels: &mut [Option<Panel>], jacks: &[Jack]) -> Seating {
    let mut seating = Seating::default();
    let audio = |at: &usize| !jacks[*at].control;
    let devices = by_device(jacks, &(0..jacks.len()).filter(audio).collect::<Vec<_>>());
    let (several, single): (Vec<_>, Vec<_>) = devices.into_iter().partition(|own| own.len() > 1);
    let control: Vec<Vec<usize>> = (0..jacks.len()).filter(|at| !audio(at)).map(|at| vec![at]).collect();
    let order: Vec<Vec<usize>> = several.into_iter().chain(single).chain(control).collect();
    for (at, own) in order.iter().enumerate() {
        let waiting = |group: usize| {
            let later = order[at + 1..].iter().flatten();
            later.filter(|jack| jacks[**jack].group == group && jacks[**jack].poe.is_some()).count()
        };
        seat_device(panels, jacks, own, &waiting, &mut seating);
    }
    seating
}

fn by_device(jacks: &[Jack], which: &[usize]) -> Vec<Vec<usize>> {
    let mut devices: Vec<Vec<usize>> = Vec::new();
    for at in which {
        match devices.last_mut().filter(|own| jacks[own[0]].device == jacks[*at].device) {
            Some(own) => own.push(*at),
            None => devices.push(vec![*at]),
        }
    }
    devices
}

fn seat_device(panels: &mut [Option<Panel>], jacks: &[Jack], own: &[usize], waiting: &dyn Fn(usize) -> usize, seating: &mut Seating) {
    let seats_of = |panels: &[Option<Panel>], at: usize| -> Vec<usize> {
        let jack = &jacks[at];
        panels[jack.group].as_ref().map_or(Vec::new(), |panel| panel.seats(jack, waiting(jack.group)).collect())
    };
    let mut taken = Vec::new();
    if let Some(port) = common(own, jacks, &|at| seats_of(panels, at)) {
        taken.extend(own.iter().map(|at| (*at, port)));
    } else {
        if own.len() > 1 {
            seating.uneven.push(jacks[own[0]].device);
        }
        for at in own {
            let busy = |port: &usize| taken.iter().any(|(other, seat)| jacks[*other].group == jacks[*at].group && seat == port);
            match seats_of(panels, *at).into_iter().find(|port| !busy(port)) {
                Some(port) => taken.push((*at, port)),
                None => seating.left_out.push(*at),
            }
        }
    }
    for (at, port) in taken {
        if let Some(panel) = panels[jacks[at].group].as_mut() {
            panel.take(port, &jacks[at]);
            seating.seats.push(Seat { jack: at, port });
        }
    }
}

/// The lowest port that is open to all jacks of a device, each on a switch of its own.
fn common(own: &[usize], jacks: &[Jack], seats_of: &dyn Fn(usize) -> Vec<usize>) -> Option<usize> {
    let apart = own.iter().enumerate().all(|(n, at)| own[..n].iter().all(|other| jacks[*other].group != jacks[*at].group));
    let first = seats_of(*own.first().filter(|_| apart)?);
    let others: Vec<Vec<usize>> = own[1..].iter().map(|at| seats_of(*at)).collect();
    first.into_iter().find(|port| others.iter().all(|seats| seats.contains(port)))
}
