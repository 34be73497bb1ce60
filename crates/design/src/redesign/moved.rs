//! Counts the ends that have to be pulled out of a port.

use loomwright_model::{PortRef, Wiring};
use std::collections::{BTreeMap, BTreeSet};

/// Ends of the cables of `before` that are not where they were in `after`: none for a cable that joins the same two
/// ports, one where one of its ports is still in use, two where neither is.
pub fn moved_ends(before: &Wiring, after: &Wiring) -> usize {
    let mut at: BTreeMap<&PortRef, &PortRef> = BTreeMap::new();
    for cable in after.cables.values() {
        let [one, other] = &cable.ends;
        at.extend([(one, other), (other, one)]);
    }
    let used: BTreeSet<&PortRef> = at.keys().copied().collect();
    let moved = |[one, other]: &[PortRef; 2]| match (at.get(one) == Some(&other), used.contains(one) || used.contains(other)) {
        (true, _) => 0,
        (false, true) => 1,
        (false, false) => 2,
    };
    before.cables.values().map(|cable| moved(&cable.ends)).sum()
}
