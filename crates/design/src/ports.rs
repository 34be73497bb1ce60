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
    let (control, audio): (Vec<usize>, Vec<usize>) = (0..jacks.len()).partition(|at| jacks[*at].control);
    let (several, single): (Vec<_>, Vec<_>) = by_device(jacks, &audio).into_iter().partition(|own| own.len() > 1);
    let order: Vec<Vec<usize>> = several.into_iter().chain(single).chain(control.into_iter().map(|at| vec![at])).collect();
    let mut waiting = vec![0; panels.len()];
    jacks.iter().filter(|jack| jack.poe.is_some()).for_each(|jack| waiting[jack.group] += 1);
    let mut table = Table { panels, jacks, waiting, seating: Seating::default() };
    for own in &order {
        table.seat_device(own);
    }
    table.seating
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

/// The seating while it goes on.
struct Table<'t> {
    panels: &'t mut [Option<Panel>],
    jacks: &'t [Jack],
    /// Jacks that need power and have no port yet, by group.
    waiting: Vec<usize>,
    seating: Seating,
}

impl Table<'_> {
    fn seat_device(&mut self, own: &[usize]) {
        for jack in own.iter().map(|at| &self.jacks[*at]).filter(|jack| jack.poe.is_some()) {
            self.waiting[jack.group] -= 1;
        }
        if let Some(port) = self.common(own) {
            own.iter().for_each(|at| self.take(*at, port));
            return;
        }
        if own.len() > 1 {
            self.seating.uneven.push(self.jacks[own[0]].device);
        }
        for at in own {
            match self.seats_of(*at).first() {
                Some(port) => self.take(*at, *port),
                None => self.seating.left_out.push(*at),
            }
        }
    }

    fn seats_of(&self, at: usize) -> Vec<usize> {
        let jack = &self.jacks[at];
        let panel = self.panels[jack.group].as_ref();
        panel.map_or(Vec::new(), |panel| panel.seats(jack, self.waiting[jack.group]).collect())
    }

    /// The lowest port that is open to all jacks of a device, each on a switch of its own.
    fn common(&self, own: &[usize]) -> Option<usize> {
        let group = |at: &usize| self.jacks[*at].group;
        let apart = own.iter().enumerate().all(|(n, at)| own[..n].iter().all(|other| group(other) != group(at)));
        let first = self.seats_of(*own.first().filter(|_| apart)?);
        let others: Vec<Vec<usize>> = own[1..].iter().map(|at| self.seats_of(*at)).collect();
        first.into_iter().find(|port| others.iter().all(|seats| seats.contains(port)))
    }

    fn take(&mut self, at: usize, port: usize) {
        if let Some(panel) = self.panels[self.jacks[at].group].as_mut() {
            panel.take(port, &self.jacks[at]);
            self.seating.seats.push(Seat { jack: at, port });
        }
    }
}

#[cfg(test)]
mod tests;
