//! `wiring/networks-joined`.

use super::*;

rule! {
    /// Something joins two networks that must stay apart.
    ///
    /// Two networks protect the show only while nothing that floods one can reach the other. A single cable
    /// between a switch of A and a switch of B, or a chained device with one port in each, makes one network
    /// of them: addresses clash, two clock leaders meet, and the next loop takes both down.
    ///
    /// **Example:** a stage box left on chained ports, but cabled to A and B as if its ports were independent.
    ///
    /// **Source**: common practice, no source; JT-NM TR-1001-1 forbids a media node to forward between its networks.
    "wiring/networks-joined", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let cables = all.wiring.cables.iter().filter_map(|(id, cable)| joined_by_cable(all, id, cable));
    let devices = all.plan.devices.keys().filter(|id| all.joins(id)).filter_map(|id| joined_by_device(all, id));
    cables.chain(devices).collect()
}

fn joined_by_cable(all: &Analysis, id: &Id, found: &Cable) -> Option<Finding> {
    if !all.is_trunk(found) {
        return None;
    }
    let [near, far] = [0, 1].map(|end| networks_at(&all.wiring, found, &found.ends[end]));
    if near.is_empty() || far.is_empty() || near.iter().any(|network| far.contains(network)) {
        return None;
    }
    let says = format!("{id} joins network {} at {} to network {} at {}.", list(&near), found.ends[0], list(&far), found.ends[1]);
    let remedy = format!("Unplug {id}, or give both switches the network that it is for.");
    Some(finding(vec![cable(id), port(&found.ends[0]), port(&found.ends[1])], says, remedy))
}

fn joined_by_device(all: &Analysis, id: &Id) -> Option<Finding> {
    let plugs: Vec<(&Plug, Vec<&Id>)> = all.layout.plugs(id).iter().map(|plug| (plug, all.networks_of(plug))).collect();
    let plugs: Vec<_> = plugs.into_iter().filter(|(plug, networks)| !networks.is_empty() && !is_own_control_jack(all, plug)).collect();
    let ((first, one), (second, two)) = plugs
        .iter()
        .enumerate()
        .flat_map(|(n, one)| plugs[n + 1..].iter().map(move |two| (one, two)))
        .find(|(one, two)| one.1.iter().all(|network| !two.1.contains(network)))?;
    let (why, remedy) = match all.pairing(id) {
        Some(Pairing::Chained) => ("is set to chained ports", format!("Set {id} to independent ports before you plug in {}.", second.cable)),
        _ => ("forwards between its ports", format!("Unplug {} from {id}.", second.cable)),
    };
    let says = format!("{id} {why} and so joins network {} ({}) to network {} ({}).", list(one), first.own, list(two), second.own);
    Some(finding(vec![device(id), cable(&second.cable), cable(&first.cable)], says, remedy))
}

/// A control jack of its own is not on the device's internal switch.
fn is_own_control_jack(all: &Analysis, plug: &Plug) -> bool {
    all.layout.spec(&plug.own).is_some_and(|spec| spec.role == PortRole::Control)
}

fn finding(items: Vec<Item>, says: String, remedy: String) -> Finding {
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("joined", "apart").with_source(PRACTICE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.cable("X-1", ["sw-a/5", "sw-b/5"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_factory_set_device_cabled_to_both_joins_them() {
        let mut trial = Trial::good();
        trial.set("desk", Pairing::Chained);
        let found = check(&Analysis::new(&trial.plan, &trial.wiring));
        assert_eq!(found.iter().map(|finding| finding.items[0].to_string()).collect::<Vec<_>>(), ["device:desk"]);
    }
}
