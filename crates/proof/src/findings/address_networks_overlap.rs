//! `address/networks-overlap`.

use super::*;

rule! {
    /// The address ranges of two networks overlap.
    ///
    /// An address then no longer says which network it is on. A laptop that is plugged into both, and every
    /// device with a port in each, will send on the wrong one.
    ///
    /// **Example:** network A as 10.10.0.0/16 and control as 10.10.30.0/24.
    ///
    /// **Source**: RFC 4632; JT-NM TR-1001-1: media networks on separate subnets (public copy read).
    "address/networks-overlap", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let ranges: Vec<_> = all.plan.networks.iter().filter_map(|(id, network)| Some((id, network.subnet?))).collect();
    let pairs = ranges.iter().enumerate().flat_map(|(n, one)| ranges[n + 1..].iter().map(move |two| (one, two)));
    pairs
        .filter(|(one, two)| one.1.overlaps(two.1))
        .map(|((one, first), (two, second))| {
            let says = format!("Network {one} ({first}) and network {two} ({second}) share addresses.");
            let remedy = format!("Give network {two} a range of its own.");
            Finding::new((RULE.code, Severity::Stop), vec![network(two), network(one)], says, remedy)
                .with_figures(second, format!("outside {first}"))
                .with_source("RFC 4632")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.networks["control"].subnet = Some("10.1.0.128/25".parse().expect("a subnet"));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
