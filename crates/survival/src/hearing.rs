//! What can be heard and seen after a loss, for whoever looks for the fault: every leg by itself, and what
//! is dark.
//!
//! Other than [`crate::Effect`], a dead sender or receiver counts as silent here: that is what the crew reports.

use crate::graph::NONE;
use crate::loss::Wreck;
use crate::{Loss, Singles, Survival};
use loomwright_forwarding::NetworkIx;
use loomwright_model::{Id, Item};
use std::collections::BTreeSet;

/// One stream at one receiver over one network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LegOf {
    /// Index into [`Survival::demands`].
    pub demand: u32,
    /// The network.
    pub network: NetworkIx,
}

/// What a loss takes with it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Taken {
    /// Boxes without power, or broken.
    pub dark: BTreeSet<Item>,
    /// Cables that are broken or taken away.
    pub broken: BTreeSet<Id>,
}

/// What is heard and what is dark, once the network has found itself again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Signs {
    /// Whether each of [`Survival::legs`] arrives.
    pub heard: Vec<bool>,
    /// What is dark and broken.
    pub taken: Taken,
}

impl Survival {
    /// Every leg of every demand, in the order of the demands. Other questions speak of them by index.
    pub fn legs(&self) -> Vec<LegOf> {
        let demands = 0..self.demands.all.len() as u32;
        demands.flat_map(|demand| self.demands.legs_of(demand).iter().map(move |leg| LegOf { demand, network: leg.network })).collect()
    }

    /// What the crew would hear and see after `losses`. O(devices + cables + legs).
    pub fn signs(&self, losses: &[Loss]) -> Signs {
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let component = self.graph.components(&self.gone(&wreck));
        let stands = |ends: [u32; 2]| {
            let [from, to] = ends.map(|end| component[end as usize]);
            from != NONE && from == to
        };
        Signs { heard: self.demands.legs.iter().map(|leg| stands(leg.ends)).collect(), taken: self.taken(&wreck) }
    }

    /// What each single failure takes with it, in order.
    pub fn taken_by<'a>(&'a self, singles: &'a Singles) -> impl Iterator<Item = Taken> + 'a {
        let mut wreck = Wreck::default();
        singles.steps.iter().map(move |&step| {
            self.things.lose_from([step], &mut wreck);
            self.taken(&wreck)
        })
    }

    fn taken(&self, wreck: &Wreck) -> Taken {
        Taken {
            dark: wreck.boxes.iter().map(|&at| self.things.item_of_box(at)).collect(),
            broken: wreck.cables.iter().map(|&at| self.things.cables[at as usize].clone()).collect(),
        }
    }

    /// Single failures, by index, among which are all that would silence the leg on top of `losses`: those that
    /// touch one way of it. Empty if it does not stand anyway. O(devices + cables).
    pub fn could_silence(&self, singles: &Singles, leg: usize, losses: &[Loss]) -> Vec<u32> {
        let Some(ends) = self.demands.legs.get(leg).map(|leg| leg.ends) else { return Vec::new() };
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let way = self.graph.way(ends, &self.gone(&wreck));
        let mut found: Vec<u32> = way.iter().flat_map(|&vertex| singles.at_vertex.of(vertex)).copied().collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    fn gone(&self, wreck: &Wreck) -> Vec<bool> {
        let mut gone = vec![false; self.graph.len()];
        wreck.vertices.iter().for_each(|&vertex| gone[vertex as usize] = true);
        gone
    }
}
