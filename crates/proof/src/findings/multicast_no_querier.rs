//! `multicast/no-querier`.

use super::*;
use loomwright_forwarding::membership::Membership;
use std::collections::BTreeMap;

rule! {
    /// Switches snoop, but nobody asks who wants which group.
    ///
    /// Devices say once that they want a stream. A switch that snoops forgets it after about 260 s unless
    /// somebody asks again. Then the stream stops, or it floods every port: it depends on the switch. The
    /// usual sight is audio that dies four or five minutes after power-up.
    ///
    /// **Example:** three managed switches fresh out of the box, snooping on, querier off on all of them.
    ///
    /// **Source**: RFC 3376 section 8.4 (membership interval 260 s), RFC 4541 section 2.1.1 (members time out).
    "multicast/no-querier", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut silent: BTreeMap<u32, IndexSet<&Id>> = BTreeMap::new();
    for (flow, (_, stream), _) in all.flows() {
        let domain = all.forwarding.domain[flow.sender.0 as usize];
        let asks = all.forwarding.has_querier.get(domain as usize).copied().unwrap_or(false);
        if stream.mode == Mode::Multicast && !asks {
            silent.entry(domain).or_default().insert(&all.fabric.networks[flow.network.0 as usize]);
        }
    }
    silent.into_iter().filter_map(|(domain, networks)| missing(all, domain, &networks)).collect()
}

fn missing(all: &Analysis, domain: u32, networks: &IndexSet<&Id>) -> Option<Finding> {
    let nodes = (0..all.fabric.nodes.len()).filter(|at| all.forwarding.domain[*at] == domain);
    let snooping: Vec<usize> = nodes.filter(|at| all.fabric.traits[*at].is_snooping).collect();
    let owner = |at: usize| all.fabric.owner(loomwright_forwarding::NodeIx(at as u32));
    let first = owner(*snooping.first()?);
    let able = snooping.iter().find(|at| all.fabric.traits[**at].can_query).map(|at| owner(*at));
    let says = format!("On network {}, {} and nobody asks for members: streams stop or flood after about {} s.", list(networks), snoops(snooping.len(), first), Membership::default().interval());
    let remedy = match able {
        Some(able) => format!("Switch the querier on at {able} and name it under [querier]."),
        None => "Add a switch that can be querier, or switch snooping off everywhere and keep slow devices away.".to_owned(),
    };
    let items = networks.iter().map(|id| network(id)).chain([switch(first)]).collect();
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("0 queriers", "1 querier").with_source("RFC 3376 section 8.4, RFC 4541"))
}

fn snoops(n: usize, first: &Id) -> String {
    match n {
        1 => format!("{first} snoops"),
        _ => format!("{n} switches snoop"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.querier.shift_remove("b");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn nothing_to_ask_for_without_snooping() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["sw-b"].gear = crate::trial::id("plain-switch");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
