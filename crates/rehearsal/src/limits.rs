//! What a rehearsal cannot show, and what it had to change, in sentences. Pure.

use crate::blueprint::Blueprint;
use crate::cast::Cast;
use crate::script::{AGEING, FORWARD_DELAY, HELLO, MAX_AGE, QUERY_INTERVAL};
use std::collections::BTreeMap;
use std::time::Duration;

/// What this machine cannot show of the network that is planned.
pub fn sentences(blueprint: &Blueprint) -> Vec<String> {
    let mut says = Vec::new();
    if blueprint.leads.windows(2).any(|two| two[0].cable == two[1].cable) {
        says.push(
            "VLAN tags: each network of a trunk has a virtual cable and a bridge of its own, so a wrongly tagged port shows nowhere.",
        );
    }
    says.push("Speed, load and delay: virtual cables know no gigabit, no queue and no negotiation.");
    says.push("Clock: all devices share this machine's clock, so who leads and how exactly is not shown.");
    says.push("Power: what a feed or a powered port takes with it is taken from the plan.");
    if blueprint.bridges.iter().any(|bridge| bridge.tree.is_some()) {
        says.push(
            "Rapid spanning tree: the kernel's bridge runs the classic tree of IEEE 802.1D. It agrees on the same tree, more slowly.",
        );
    }
    if blueprint.bridges.iter().any(|bridge| bridge.is_snooping) {
        says.push("Multicast without a querier: the kernel's bridge floods it; many switches prune it instead.");
    }
    says.push("The switches themselves: this proves the wiring on one kernel's bridges, not what a given switch does.");
    says.into_iter().map(str::to_owned).collect()
}

/// What had to be made up, changed or slowed down.
pub fn notes(blueprint: &Blueprint, cast: &Cast, period: Duration) -> Vec<String> {
    let mut notes: Vec<String> = blueprint.notes.iter().chain(&cast.notes).cloned().collect();
    let rate = 1_000 / period.as_millis().max(1);
    notes.push(format!(
        "Every packet stream sends {rate} packets a second instead of its own rate, so silences are told to {} ms.",
        period.as_millis()
    ));
    let seconds = |time: loomwright_model::Time| time.picoseconds() / 1_000_000_000_000;
    if blueprint.bridges.iter().any(|bridge| bridge.tree.is_some()) {
        notes.push(format!(
            "Spanning tree runs with the shortest timers that the kernel takes: hello {} s, max age {} s, forward delay {} s.",
            seconds(HELLO),
            seconds(MAX_AGE),
            seconds(FORWARD_DELAY)
        ));
    }
    if blueprint.bridges.iter().any(|bridge| bridge.asks) {
        let interval = seconds(QUERY_INTERVAL);
        notes.push(format!("Queriers ask every {interval} s; on site often every 125 s, and streams come back that much later."));
    }
    if blueprint.bridges.iter().any(|bridge| bridge.tree.is_none()) {
        let ageing = seconds(AGEING);
        notes.push(format!(
            "Boxes forget an address after {ageing} s; on site after 300 s, and unicast streams find a new way that much later."
        ));
    }
    notes.extend(uneven_trunks(blueprint));
    notes
}

/// A bridge for each network means a tree for each network: told where that can make a difference.
fn uneven_trunks(blueprint: &Blueprint) -> Option<String> {
    let mut networks: BTreeMap<u32, Vec<u16>> = BTreeMap::new();
    for lead in blueprint.leads.iter().filter(|lead| lead.ends.iter().all(|end| end.bridge.is_some())) {
        networks.entry(lead.cable.0).or_default().push(lead.network.0);
    }
    let mut kinds: Vec<&Vec<u16>> = networks.values().collect();
    kinds.sort_unstable();
    kinds.dedup();
    let overlap = kinds.iter().enumerate().any(|(at, one)| kinds[..at].iter().any(|two| one.iter().any(|network| two.contains(network))));
    let has_tree = blueprint.bridges.iter().any(|bridge| bridge.tree.is_some());
    let says = "Trunks carry different networks: here every network has a spanning tree of its own, on site one tree serves all.";
    (overlap && has_tree).then(|| says.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_network_claims_nothing() {
        let says = sentences(&Blueprint::default()).join(" ");
        assert!(!says.contains("VLAN") && !says.contains("Rapid") && says.contains("not what a given switch does"));
    }
}
