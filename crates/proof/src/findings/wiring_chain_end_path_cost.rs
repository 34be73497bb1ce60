//! `wiring/chain-end-path-cost`.

use super::*;

rule! {
    /// A ring runs through a chain of devices, and the switch ports at the chain's ends cost no more than a trunk.
    ///
    /// Devices without spanning tree count as no hop at all, however many there are. A switch may so prefer the
    /// way through the chain over the trunk, and block the trunk. All the audio then goes through the chain, and
    /// a break in its middle is noticed by nobody for seconds.
    ///
    /// **Example:** four loudspeakers chained between two switches that also have a trunk; the trunk is the one that is blocked.
    ///
    /// **Source**: own measurement with a software RSTP switch: the chain became the way to the root, and a break in its middle took 5.0 s to heal; a path cost of 200000 at the chain's ends cured it.
    "wiring/chain-end-path-cost", check, tests::firing
}

/// Cost of a port by its speed: 20 Tb/s divided by the rate. **Source**: IEEE 802.1D-2004 table 17-3 (read second-hand).
fn default_cost(bits_per_second: u64) -> u64 {
    20_000_000_000_000u64.checked_div(bits_per_second).unwrap_or(u64::MAX)
}

fn check(all: &Analysis) -> Vec<Finding> {
    chains(&all.plan, &all.wiring, &all.layout).iter().filter_map(|chain| cheap_ends(all, &chain.devices, &chain.ends)).collect()
}

fn cheap_ends(all: &Analysis, devices: &[Id], ends: &[Plug]) -> Option<Finding> {
    let [first, second] = ends else { return None };
    let shared = all.networks_of(first).into_iter().find(|network| all.networks_of(second).contains(network))?;
    if devices.len() < 2 || !ends.iter().all(|plug| runs_tree(all, plug)) || !all.reaches((&first.far.item, &second.far.item), &devices[0], shared) {
        return None;
    }
    let cheap: Vec<&PortRef> = ends.iter().map(|plug| &plug.far).filter(|port| is_cheap(all, port)).collect();
    if cheap.is_empty() {
        return None;
    }
    let says = format!("{} chained devices close a ring through {}, whose path cost is that of a trunk.", devices.len(), list(&cheap));
    let remedy = format!("Set a spanning-tree path cost of 200000 on {}.", list(&cheap));
    let items = cheap.into_iter().map(port).chain(devices.iter().map(device)).collect();
    Some(
        Finding::new((RULE.code, Severity::Warn), items, says, remedy)
            .with_figures("default path cost", "200000 at a gigabit chain end")
            .with_source("own measurement with a software RSTP switch"),
    )
}

fn runs_tree(all: &Analysis, plug: &Plug) -> bool {
    let gear = all.wiring.switches.get(&plug.far.item).and_then(|switch| all.plan.gear.get(&switch.gear));
    gear.is_some_and(|gear| gear.spanning_tree != SpanningTree::None)
}

fn is_cheap(all: &Analysis, port: &PortRef) -> bool {
    let Some(spec) = all.layout.spec(port) else { return false };
    let set = port.number().and_then(|number| all.wiring.switches.get(&port.item)?.path_cost.get(&number).copied());
    set.is_none_or(|cost| u64::from(cost) <= default_cost(spec.speed.bits_per_second()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).cable("T-1", ["sw-a/10", "sw-a2/10"], "a");
        trial.chain("sw-a/3", 4).cable("C-005", ["c4/2", "sw-a2/1"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn dear_ends_keep_the_trunk_in_use() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["sw-a"].path_cost.insert(3, 200_000);
        trial.wiring.switches["sw-a2"].path_cost.insert(1, 200_000);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
