//! The front of one switch while ports are given out: endpoints from port 1 up, trunks from the last port down.

use crate::demand::Jack;
use crate::racks::TrunkNeed;
use loomwright_model::{Gear, Medium, PortSpec, Power, Share};

/// A switch front.
#[derive(Debug, Clone)]
pub(crate) struct Panel {
    ports: Vec<PortSpec>,
    used: Vec<bool>,
    /// Ports to leave free.
    spare: usize,
    /// Copper ports and other ports that endpoints will need: trunks leave them free.
    promised: [usize; 2],
    /// What is left of the PoE budget; `None` where the gear type names none.
    power: Option<Power>,
}

impl Panel {
    /// An empty front of type `gear` that leaves `spare` of its ports free, rounded up.
    pub fn new(gear: &Gear, spare: Share) -> Self {
        let ports = gear.port_specs();
        let spare = (ports.len() as u64 * u64::from(spare.parts_per_million())).div_ceil(1_000_000) as usize;
        Self { used: vec![false; ports.len()], ports, spare, promised: [0, 0], power: gear.poe_budget }
    }

    /// How many more ports may be used.
    pub fn room(&self) -> usize {
        self.used.iter().filter(|used| !**used).count().saturating_sub(self.spare)
    }

    /// Keeps ports from trunks: copper ports for copper jacks, other ports for the rest.
    pub fn promise(&mut self, [copper, other]: [usize; 2]) {
        self.promised = [copper, other];
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

    /// Free ports for a trunk of `medium`, last first: those made for it, or, if not `native`, pluggable ports that
    /// take it with a module. Spare ports count as free: a trunk is worth more than a spare.
    pub fn trunk_ports(&self, medium: Medium, native: bool) -> Vec<usize> {
        let copper_port = (medium == Medium::Copper) == native;
        let promised = self.promised[usize::from(!copper_port)];
        if self.free().filter(|index| (self.ports[*index].medium == Medium::Copper) == copper_port).count() <= promised {
            return Vec::new();
        }
        let made_for_it = |index: &usize| (self.ports[*index].medium == Medium::Copper) == (medium == Medium::Copper);
        let fits = |index: &usize| self.ports[*index].medium.takes(medium) && made_for_it(index) == native;
        let mut ports: Vec<usize> = self.free().filter(fits).collect();
        ports.reverse();
        ports
    }

    /// The port for a trunk that is wanted: the last that will do, made for the medium before pluggable.
    pub fn trunk_port(&self, need: TrunkNeed) -> Option<usize> {
        let will_do = |index: &usize| {
            let speed = self.ports[*index].speed;
            if need.exact { speed == need.speed } else { speed >= need.speed }
        };
        [true, false].into_iter().find_map(|native| self.trunk_ports(need.medium, native).into_iter().find(will_do))
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
