//! `wiring/spanning-tree-cuts-network`.

use super::*;

rule! {
    /// Spanning tree blocks the only cable that carries a network.
    ///
    /// The usual spanning tree knows no VLANs: of two cables between two switches it keeps one, whatever
    /// network each is for. If each carries another network, one network is cut in two though every light is on.
    ///
    /// **Example:** one trunk for network A and one for control between the same two switches.
    ///
    /// **Source**: IEEE 802.1D: one tree for all VLANs (read second-hand).
    "wiring/spanning-tree-cuts-network", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let cuts = all.forwarding.cut.iter().map(|cut| (&all.fabric.cables[cut.cable.0 as usize].id, &all.fabric.networks[cut.network.0 as usize]));
    cuts.map(|(id, at)| {
        let ends = &all.wiring.cables[id].ends;
        let says = format!("Spanning tree blocks {id} ({} to {}), and network {at} has no other way between them.", ends[0], ends[1]);
        let remedy = format!("Carry network {at} on every trunk between these switches, or take {id} out and use one trunk for all networks.");
        let items = vec![cable(id), network(at)];
        Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("blocked", "passing").with_source("IEEE 802.1D (read second-hand)")
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("v1", ("switch", "stage"), &["a", "control"]).switch("v2", ("switch", "stage"), &["a", "control"]);
        trial.cable("V-1", ["v1/9", "v2/9"], "a").cable("V-2", ["v1/10", "v2/10"], "control");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
