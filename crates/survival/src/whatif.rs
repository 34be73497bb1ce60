//! Any set of losses at once, by plain flood fill.

use crate::gap::Gap;
use crate::loss::{Loss, Wreck};
use crate::{Survival, graph};
use loomwright_model::Item;

/// What a set of losses does. Demands are indexes into [`Survival::demands`], in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Effect {
    /// What was lost.
    pub losses: Vec<Loss>,
    /// What went with it: boxes without power and cables, the losses themselves left out.
    pub gone_too: Vec<Item>,
    /// Heard before, and no leg left even after the network has found itself again. Demands whose own
    /// sender or receiver is what was lost are not listed.
    pub silent: Vec<u32>,
    /// Lost a leg and are still heard.
    pub one_leg_left: Vec<u32>,
    /// Silent at once but heard again, each with an upper bound of the time between.
    pub gaps: Vec<(u32, Gap)>,
}

impl Survival {
    /// What happens when all of `losses` happen together. O(devices + cables + demands).
    pub fn whatif(&self, losses: &[Loss]) -> Effect {
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let mut gone = vec![false; self.graph.len()];
        wreck.vertices.iter().for_each(|&vertex| gone[vertex as usize] = true);
        let after = self.graph.components(&gone);
        let mut effect = self.named_effect(losses, &wreck);
        let mut at_once = Vec::new();
        let has_spares = self.blocked.contains(&true);
        let present = has_spares.then(|| {
            let shut: Vec<bool> = gone.iter().zip(&self.blocked).map(|(gone, blocked)| *gone || *blocked).collect();
            self.graph.components(&shut)
        });
        for demand in 0..self.demands.all.len() as u32 {
            let before = self.legs_standing(demand, &self.component);
            if before == 0 || self.is_own_end(demand, losses) {
                continue;
            }
            match self.legs_standing(demand, &after) {
                0 => effect.silent.push(demand),
                left if left < before => effect.one_leg_left.push(demand),
                _ => {}
            }
            if present.as_ref().is_some_and(|present| !self.is_heard(demand, present)) {
                at_once.push(demand);
            }
        }
        effect.gaps = self.gaps(&wreck, &at_once, &effect.silent);
        effect
    }

    /// For every demand: whether it is heard without `losses`, once the network has found itself again. Unlike
    /// [`Survival::whatif`] it does not leave out demands whose own sender or receiver is lost: those are not heard.
    pub fn heard_without(&self, losses: &[Loss]) -> Vec<bool> {
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let mut gone = vec![false; self.graph.len()];
        wreck.vertices.iter().for_each(|&vertex| gone[vertex as usize] = true);
        let after = self.graph.components(&gone);
        (0..self.demands.all.len() as u32).map(|demand| self.is_heard(demand, &after)).collect()
    }

    /// For every demand: whether it is heard without `losses` while the links in `shut` pass nothing, as when a spanning tree that
    /// moves has closed old ways and not yet opened new ones.
    pub fn heard_while_shut(&self, losses: &[Loss], shut: &[bool]) -> Vec<bool> {
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let mut gone = vec![false; self.graph.len()];
        wreck.vertices.iter().for_each(|&vertex| gone[vertex as usize] = true);
        let links = gone[self.healing.nodes()..].iter_mut();
        links.zip(shut).for_each(|(gone, shut)| *gone |= shut);
        let component = self.graph.components(&gone);
        (0..self.demands.all.len() as u32).map(|demand| self.is_heard(demand, &component)).collect()
    }

    /// Which nodes of the fabric still hear each other without `losses`: equal numbers do, `u32::MAX` is gone.
    /// Blocked links count as opened. What the clock needs to find its leaders after a failure.
    pub fn domains_without(&self, losses: &[Loss]) -> Vec<u32> {
        let mut wreck = Wreck::default();
        self.things.lose(losses, &mut wreck);
        let mut gone = vec![false; self.graph.len()];
        wreck.vertices.iter().for_each(|&vertex| gone[vertex as usize] = true);
        let mut component = self.graph.components(&gone);
        component.truncate(self.healing.nodes());
        component
    }

    /// An effect with only its names filled in.
    pub(crate) fn named_effect(&self, losses: &[Loss], wreck: &Wreck) -> Effect {
        let boxes = wreck.boxes.iter().map(|&at| self.things.item_of_box(at));
        let cables = wreck.cables.iter().map(|&at| self.things.item_of_cable(at));
        let mut gone_too: Vec<Item> = boxes.chain(cables).filter(|item| losses.iter().all(|loss| loss.item() != *item)).collect();
        gone_too.sort();
        Effect { losses: losses.to_vec(), gone_too, ..Effect::default() }
    }

    /// Gaps of the demands in `at_once` that are not in `silent`; both in order. The bound is that of the
    /// slowest of the demand's networks.
    pub(crate) fn gaps(&self, wreck: &Wreck, at_once: &[u32], silent: &[u32]) -> Vec<(u32, Gap)> {
        let mut known: std::collections::BTreeMap<(u32, bool), Gap> = std::collections::BTreeMap::new();
        let healed = at_once.iter().filter(|demand| silent.binary_search(demand).is_err());
        let one = |&demand: &u32| {
            let is_multicast = self.demands.all[demand as usize].is_multicast;
            let legs = self.demands.legs_of(demand).iter().filter(|leg| {
                let [from, to] = leg.ends.map(|end| self.component[end as usize]);
                from != graph::NONE && from == to
            });
            let gap = legs.map(|leg| {
                let area = self.component[leg.ends[0] as usize];
                let find = || self.healing.gap(wreck, (&self.component, is_multicast), area);
                *known.entry((area, is_multicast)).or_insert_with(find)
            });
            Some((demand, gap.max_by_key(Gap::whole)?))
        };
        healed.filter_map(one).collect()
    }
}
