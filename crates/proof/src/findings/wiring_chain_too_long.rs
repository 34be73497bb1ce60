//! `wiring/chain-too-long`.

use super::*;

rule! {
    /// A chain of devices is longer than a show should trust.
    ///
    /// Every device in a chain adds its own delay and clock error, and a break, or one device without power,
    /// parts everything behind it from the rest; the two halves then each choose a clock leader. Five is
    /// what shows work with; past seven, the usual limits for spanning tree and for clock accuracy are left too.
    ///
    /// **Example:** ten loudspeakers, each plugged into the one before, fed from one end.
    ///
    /// **Source**: common practice, no source, for 3 to 5; seven bridges is the span that the spanning-tree timers of IEEE 802.1D-1998 assume (read second-hand).
    "wiring/chain-too-long", check, tests::firing
}

/// Most devices in a chain for a show. **Source**: common practice, no source.
const LONGEST: usize = 5;

fn check(all: &Analysis) -> Vec<Finding> {
    let chains = chains(&all.plan, &all.wiring, &all.layout);
    chains.into_iter().filter(|chain| chain.devices.len() > LONGEST).map(|chain| too_long(&chain.devices)).collect()
}

fn too_long(devices: &[Id]) -> Finding {
    let n = devices.len();
    let middle = &devices[n / 2];
    let says = format!("{n} devices are chained from {} to {}: if {middle} loses power, {} are parted from the rest.", devices[0], devices[n - 1], n / 2);
    let remedy = format!("Split the chain at {middle} and give both halves a port of a switch.");
    let items = devices.iter().map(device).collect();
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(format!("{n} devices"), format!("{LONGEST} devices")).with_source(PRACTICE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.chain("sw-a/3", LONGEST + 1);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn as_many_as_allowed_are_let_pass() {
        let mut trial = Trial::good();
        trial.chain("sw-a/3", LONGEST);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
