//! `wiring/same-network-twice`.

use super::*;

rule! {
    /// Two independent ports of one device go into the same network.
    ///
    /// Independent ports are two interfaces for two separate networks. In one network they give no second
    /// way for the audio, and the device may answer on the wrong one of its two addresses.
    ///
    /// **Example:** a desk with port 1 and port 2 in the switch of network A, and nothing in network B.
    ///
    /// **Source**: common practice, no source; separate subnets for media networks are also asked for by JT-NM TR-1001-1.
    "wiring/same-network-twice", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.geared().filter(|(id, _, _)| all.pairing(id) == Some(Pairing::Independent)).filter_map(|(id, _, _)| twice(all, id)).collect()
}

fn twice(all: &Analysis, id: &Id) -> Option<Finding> {
    let plugs: Vec<&Plug> = all.layout.audio_plugs(id).collect();
    let pairs = plugs.iter().enumerate().flat_map(|(n, first)| plugs[n + 1..].iter().map(move |second| (*first, *second)));
    let (first, second, shared) = pairs.filter(|(first, second)| first.own != second.own).find_map(|(first, second)| {
        let both = all.networks_of(second);
        let shared = all.networks_of(first).into_iter().find(|network| both.contains(network))?;
        Some((first, second, shared))
    })?;
    let says = format!("{id} has independent ports, but {} and {} are both in network {shared}: it has no second way.", first.own, second.own);
    let remedy = format!("Move {} at {} to a switch of the other network.", second.cable, second.own);
    let items = vec![device(id), cable(&second.cable), cable(&first.cable)];
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("2 ports", "1 port in one network").with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.unplug("B-002").cable("A-009", ["desk/2", "sw-a/5"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
