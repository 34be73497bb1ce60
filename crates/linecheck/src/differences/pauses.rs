//! Flow control: ports that ask others to pause.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::Mac;
use loomwright_model::Item;
use std::collections::BTreeMap;

/// Every port that asked for a pause.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<Mac, Difference> = BTreeMap::new();
    for row in names.evidence.pauses.iter().filter(|row| row.longest > 0) {
        let known = names.by_mac(row.mac);
        let called = known.map_or_else(|| row.mac.to_string(), |id| format!("`{id}`"));
        let sighting = Sighting::new(names.evidence, &row.seen, format!("{} asks {} times for a pause", row.mac, row.seen.times));
        let one = found.remove(&row.mac).unwrap_or_else(|| {
            let items = known.cloned().map(Item::Device).into_iter().collect();
            Difference::new(
                "seen/pause",
                Certainty::Certain,
                items,
                format!("{called} asks others to pause: all streams on the link stop meanwhile"),
            )
            .told("no flow control", "Switch flow control off at this port and at the switch.")
        });
        found.insert(row.mac, one.seen([sighting]));
    }
    found.into_values().collect()
}
