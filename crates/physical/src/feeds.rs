//! What hangs on each power feed.
//!
//! Sums of declared draws only. Whether a circuit may carry them (inrush, power factor, earth leakage,
//! the breaker) is for licensed people and local codes.

use crate::poe::SwitchPoe;
use indexmap::IndexMap;
use loomwright_model::{Id, Item, Plan, Power, Supply, Wiring, supplies};

/// One feed and what hangs on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FeedDraw {
    /// The feed.
    pub feed: Id,
    /// Sum of the known draws. An item on several feeds counts in full on each: either must carry it
    /// alone when the other is gone.
    pub draw: Power,
    /// Each item with its draw (a switch with the power it gives over Ethernet); `None` where its gear says none.
    pub items: Vec<(Item, Option<Power>)>,
}

/// Draw of every feed, in order of first mention.
pub fn draws(plan: &Plan, wiring: &Wiring, poe: &[SwitchPoe]) -> Vec<FeedDraw> {
    let given: IndexMap<&Id, Power> = poe.iter().map(|switch| (&switch.switch, switch.draw)).collect();
    let mut feeds: IndexMap<Id, FeedDraw> = IndexMap::new();
    for (id, supply) in supplies(plan, wiring) {
        let Supply::Feeds(own) = supply else { continue };
        let declared = wiring.gear_at(plan, &id).and_then(|gear| gear.draws);
        let draw = match (declared, given.get(&id).copied().unwrap_or(Power::ZERO)) {
            (None, Power::ZERO) => None,
            (known, over_ethernet) => Some(known.unwrap_or(Power::ZERO) + over_ethernet),
        };
        let item = if plan.devices.contains_key(&id) { Item::Device(id) } else { Item::Switch(id) };
        for feed in own {
            let entry = feeds.entry(feed.clone()).or_insert_with(|| FeedDraw { feed, draw: Power::ZERO, items: Vec::new() });
            entry.draw = entry.draw + draw.unwrap_or(Power::ZERO);
            entry.items.push((item.clone(), draw));
        }
    }
    feeds.into_values().collect()
}
