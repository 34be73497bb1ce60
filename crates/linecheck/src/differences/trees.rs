//! The spanning tree: another root than planned.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::{System, priority_parts};
use loomwright_evidence::{Mac, Seen};
use loomwright_model::{Id, Item};
use std::collections::BTreeMap;

/// Every root that is not the planned one.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<(Id, Mac), Difference> = BTreeMap::new();
    for (seen, networks, root) in roots(names) {
        let Some((planned, priority)) = planned(names, &networks) else { continue };
        let known = names.by_mac(root.1);
        // An unknown address with the planned priority most likely is the planned switch.
        if known == Some(planned) || known.is_none() && priority_parts(root.0).0 == priority_parts(priority).0 {
            continue;
        }
        let called = known.map_or_else(|| format!("an unknown bridge ({})", root.1), |id| format!("`{id}`"));
        let sighting = Sighting::new(names.evidence, &seen, format!("root {} with priority {}", root.1, priority_parts(root.0).0));
        let one = found.remove(&(planned.clone(), root.1)).unwrap_or_else(|| {
            let certainty = if known.is_some() { Certainty::Certain } else { Certainty::Likely };
            let mut items = vec![Item::Switch(planned.clone())];
            items.extend(known.cloned().map(Item::Device));
            let says = format!("The root of the spanning tree is {called}, not {planned}");
            Difference::new("seen/wrong-root", certainty, items, says).told(
                format!("{planned} with priority {priority}"),
                "Set the bridge priorities as planned, and find the box with the address that is named.",
            )
        });
        found.insert((planned.clone(), root.1), one.seen([sighting]));
    }
    found.into_values().collect()
}

/// Roots that are told, by frames and by switches themselves, and the networks where.
fn roots(names: &Names<'_>) -> Vec<(Seen, Vec<Id>, (u16, Mac))> {
    let frames = names.evidence.bridges.iter().filter_map(|row| Some((row.seen, names.networks_at(&row.seen), row.last.as_ref()?.root)));
    // A table that calls its own box the root and also has a way to the root contradicts itself.
    let is_sound = |row: &&System| {
        let has_way = row.root_port.is_some() || row.root_cost.is_some_and(|cost| cost > 0);
        !has_way || row.tree_root.is_none_or(|(_, mac)| !row.macs.contains(&mac))
    };
    let tables = names.evidence.systems.iter().filter(is_sound).filter_map(|row| {
        let switch = row.name.as_deref().and_then(|name| names.named(name)).or_else(|| names.source(&row.seen))?;
        Some((row.seen, names.wiring.switches.get(switch)?.networks.clone(), row.tree_root?))
    });
    frames.chain(tables).collect()
}

/// The planned root among the switches of some networks: the only one with the lowest priority.
fn planned<'n>(names: &'n Names<'_>, networks: &[Id]) -> Option<(&'n Id, u16)> {
    let here = names.wiring.switches.iter().filter(|(_, switch)| switch.networks.iter().any(|network| networks.contains(network)));
    let mut ranked: Vec<(u16, &Id)> = here.filter_map(|(id, switch)| Some((switch.bridge_priority?, id))).collect();
    ranked.sort_unstable();
    match ranked[..] {
        [(lowest, _), (next, _), ..] if lowest == next => None,
        [(lowest, id), ..] => Some((id, lowest)),
        [] => None,
    }
}
