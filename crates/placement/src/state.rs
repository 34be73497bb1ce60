//! One way to serve everything, with its cost kept up to date while items move.

use crate::instance::{Instance, Load, NEVER};
use crate::problem::{Cost, MOST};

/// Who is served where.
#[derive(Debug, Clone)]
pub(crate) struct State<'i> {
    pub instance: &'i Instance,
    /// By item: the place that serves it; the place after the last is nowhere.
    pub home: Vec<u32>,
    /// By place: the items it serves, in no order.
    pub members: Vec<Vec<u32>>,
    /// By item: where it is in the list of its place.
    slot: Vec<u32>,
    /// By place, then layer.
    load: Vec<Load>,
    place_cost: Vec<Cost>,
    pub open: usize,
    pub total: Cost,
}

impl<'i> State<'i> {
    /// With every item at the nearest place in reach.
    pub fn nearest(instance: &'i Instance) -> Self {
        let home = instance.reach.iter().map(|reach| reach.first().copied().unwrap_or(instance.places as u32)).collect();
        Self::new(instance, home)
    }

    /// With these homes.
    pub fn new(instance: &'i Instance, home: Vec<u32>) -> Self {
        let width = instance.places + 1;
        let mut state = Self {
            instance,
            slot: vec![0; home.len()],
            members: vec![Vec::new(); width],
            load: vec![Load::default(); width * instance.planes.len()],
            place_cost: vec![0; width],
            open: 0,
            total: 0,
            home,
        };
        for item in 0..instance.items {
            let place = state.home[item] as usize;
            state.enter(item, place);
            state.total += instance.cable(item, place);
        }
        for place in 0..instance.places {
            state.place_cost[place] = state.priced(place, |_, load| load);
            state.total += state.place_cost[place];
            state.open += usize::from(!state.members[place].is_empty());
        }
        state.total += state.crowding(state.open);
        state
    }

    fn enter(&mut self, item: usize, place: usize) {
        self.home[item] = place as u32;
        self.slot[item] = self.members[place].len() as u32;
        self.members[place].push(item as u32);
        for (layer, plane) in self.instance.planes.iter().enumerate() {
            let load = &mut self.load[place * self.instance.planes.len() + layer];
            *load = load.plus(plane.demand[item]);
        }
    }

    fn leave(&mut self, item: usize) {
        let place = self.home[item] as usize;
        let slot = self.slot[item] as usize;
        self.members[place].swap_remove(slot);
        if let Some(moved) = self.members[place].get(slot) {
            self.slot[*moved as usize] = slot as u32;
        }
        for (layer, plane) in self.instance.planes.iter().enumerate() {
            let load = &mut self.load[place * self.instance.planes.len() + layer];
            *load = load.minus(plane.demand[item]);
        }
    }

    /// What a place serves in one layer.
    pub fn load(&self, place: usize, layer: usize) -> Load {
        self.load[place * self.instance.planes.len() + layer]
    }

    /// What switches and opening of a place cost if its loads were changed by `change`.
    fn priced(&self, place: usize, change: impl Fn(usize, Load) -> Load) -> Cost {
        if place == self.instance.places {
            return 0;
        }
        let layers = self.instance.planes.iter().enumerate();
        layers
            .map(|(layer, plane)| {
                let load = change(layer, self.load(place, layer));
                if load.ports == 0 { 0 } else { plane.table.cost(load) + plane.opening[place] }
            })
            .sum()
    }

    /// What more open places than allowed cost.
    fn crowding(&self, open: usize) -> Cost {
        open.saturating_sub(self.instance.most_open) as Cost * NEVER
    }

    /// What serving `item` from `place` instead would add.
    pub fn shifting(&self, item: usize, place: usize) -> Cost {
        let from = self.home[item] as usize;
        if from == place {
            return 0;
        }
        let planes = &self.instance.planes;
        let less = self.priced(from, |layer, load| load.minus(planes[layer].demand[item])) - self.place_cost[from];
        let more = self.priced(place, |layer, load| load.plus(planes[layer].demand[item])) - self.place_cost[place];
        let cable = self.instance.cable(item, place) - self.instance.cable(item, from);
        less + more + cable + self.crowding(self.open_after(item, place)) - self.crowding(self.open)
    }

    fn open_after(&self, item: usize, place: usize) -> usize {
        let from = self.home[item] as usize;
        let closes = from < self.instance.places && self.members[from].len() == 1;
        let opens = place < self.instance.places && self.members[place].is_empty();
        self.open + usize::from(opens) - usize::from(closes)
    }

    /// What exchanging the homes of two items of different places would add.
    pub fn swapping(&self, one: usize, other: usize) -> Cost {
        let (here, there) = (self.home[one] as usize, self.home[other] as usize);
        let planes = &self.instance.planes;
        let changed = |place: usize, goes: usize, comes: usize| {
            let demand = |layer: usize, item: usize| planes[layer].demand[item];
            self.priced(place, |layer, load| load.minus(demand(layer, goes)).plus(demand(layer, comes))) - self.place_cost[place]
        };
        let cable = |item: usize, from: usize, to: usize| self.instance.cable(item, to) - self.instance.cable(item, from);
        changed(here, one, other) + changed(there, other, one) + cable(one, here, there) + cable(other, there, here)
    }

    /// Serves `item` from `place`; says what that added.
    pub fn shift(&mut self, item: usize, place: usize) -> Cost {
        let from = self.home[item] as usize;
        if from == place {
            return 0;
        }
        let before = self.total;
        let open = self.open_after(item, place);
        self.total += self.instance.cable(item, place) - self.instance.cable(item, from);
        self.total += self.crowding(open) - self.crowding(self.open);
        self.open = open;
        self.leave(item);
        self.enter(item, place);
        for touched in [from, place] {
            let cost = self.priced(touched, |_, load| load);
            self.total += cost - self.place_cost[touched];
            self.place_cost[touched] = cost;
        }
        self.total - before
    }

    /// What one layer costs: its switches, openings and cables; items that no place reaches are left out.
    pub fn layer_cost(&self, layer: usize) -> Cost {
        let plane = &self.instance.planes[layer];
        let priced = (0..self.instance.places).map(|place| match self.load(place, layer) {
            load if load.ports == 0 => 0,
            load => plane.table.cost(load) + plane.opening[place],
        });
        let cable = |item: usize| {
            let at = item * (self.instance.places + 1) + self.home[item] as usize;
            self.instance.port_cost[at].saturating_mul(i64::from(plane.demand[item].ports)).min(MOST)
        };
        priced.sum::<Cost>() + (0..self.instance.items).filter(|item| !self.instance.is_stranded(*item)).map(cable).sum::<Cost>()
    }
}
