//! The front of one switch while ports are given out: endpoints from port 1 up, trunks from the last port down.

use crate::demand::Jack;
use loomwright_model::{BitRate, Gear, Medium, PortSpec, Power, Share};

/// A switch front.
#[derive(Debug, Clone)]
pub(crate) struct Panel {
    ports: Vec<PortSpec>,
    used: Vec<bool>,
    /// Ports to leave free.
    spare: usize,
    /// What is left of the PoE budget; `None` where the gear type names none.
    power: Option<Power>,
}

impl Panel {
    /// An empty front of type `gear` that leaves `spare` of its ports free, rounded up.
    pub fn new(gear: &Gear, spare: Share) -> Self {
        let ports = gear.port_specs();
        let spare = (ports.len() as u64 * u64::from(spare.parts_per_million())).div_ceil(1_000_000) as usize;
        Self { used: vec![false; ports.len()], ports, spare, power: gear.poe_budget }
    }

    /// How many more ports may be used.
    pub fn room(&self) -> usize {
        self.used.iter().filter(|used| !**used).count().saturating_sub(self.spare)
    }

    /// Lets the spare ports be used too.
    pub fn give_up_spare(&mut self) {
        self.spare = 0;
    }

    /// The port at `index`.
    pub fn port(&self, index: usize) -> &PortSpec {
        &self.ports[index]
    }

    /// Marks the port with this number as used, if it is there.
    pub fn take_number(&mut self, number: u32) {
        if let Some(used) = self.used.get_mut((number as usize).wrapping_sub(1)) {
            *used = true;
        }
    }

    /// Takes the port at `index` for `jack`.
    pub fn take(&mut self, index: usize, jack: &Jack) {
        self.used[index] = true;
        if jack.poe.is_some() {
            self.power = self.power.map(|left| left - jack.draws);
        }
    }

    /// Free ports that `jack` can use, lowest first. `waiting` is how many jacks that need power are still to
    /// come: a jack that needs none leaves them their ports.
    pub fn seats<'a>(&'a self, jack: &'a Jack, waiting: usize) -> impl Iterator<Item = usize> + 'a {
        let powered = self.free().filter(|index| self.ports[*index].poe.is_some()).count();
        let affordable = jack.poe.is_none() || self.power.is_none_or(|left| left >= jack.draws);
        let has_room = self.room() > 0;
        self.free().filter(move |index| has_room && affordable && self.suits(*index, jack, powered > waiting))
    }

    fn suits(&self, index: usize, jack: &Jack, power_to_spare: bool) -> bool {
        let port = &self.ports[index];
        let power = match jack.poe {
            Some(class) => port.poe.is_some_and(|given| given >= class),
            None => port.poe.is_none() || power_to_spare,
        };
        power && port.speed >= jack.speed && cable_for(port.medium, jack.medium).is_some()
    }

    /// The free port for a trunk of `medium` at `speed` or more: the last one made for it.
    pub fn trunk_port(&self, medium: Medium, speed: BitRate) -> Option<usize> {
        if self.room() == 0 {
            return None;
        }
        let fast = |index: &usize| self.ports[*index].speed >= speed;
        let native = |index: &usize| match medium {
            Medium::Copper => self.ports[*index].medium == Medium::Copper,
            _ => self.ports[*index].medium != Medium::Copper,
        };
        let last_native = self.free().filter(fast).filter(native).last();
        last_native.or_else(|| self.free().filter(fast).filter(|index| self.ports[*index].medium.takes(medium)).last())
    }

    /// Takes a trunk port.
    pub fn take_trunk(&mut self, index: usize) {
        self.used[index] = true;
    }

    fn free(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.used.len()).filter(|index| !self.used[*index])
    }
}

/// The cable that joins a switch port to a jack, if one does: copper for a copper jack, else fibre. A copper jack in
/// a pluggable port would need a module for an ordinary patch: that port is kept for trunks.
pub(crate) fn cable_for(port: Medium, jack: Medium) -> Option<Medium> {
    match (port, jack) {
        (Medium::Copper, Medium::Copper) => Some(Medium::Copper),
        (Medium::Copper, _) | (_, Medium::Copper) => None,
        _ => Some(Medium::Fibre),
    }
}
