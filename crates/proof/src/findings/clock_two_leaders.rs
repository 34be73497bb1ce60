//! `clock/two-leaders`.

use super::*;

rule! {
    /// One network falls into parts, and each part has a clock leader of its own.
    ///
    /// The parts drift against each other. A stream that should go from one to the other cannot, and when they are
    /// joined again one half jumps to the other's clock, with a click or a mute.
    ///
    /// **Example:** a chain with a device missing in the middle.
    ///
    /// **Source**: IEEE 1588-2008 clause 9.3: every part that hears itself chooses a leader.
    "clock/two-leaders", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    (0..all.fabric.networks.len()).filter_map(|at| split(all, loomwright_forwarding::NetworkIx(at as u16))).collect()
}

/// A device on its own is told as not connected, not as a part.
fn split(all: &Analysis, at: loomwright_forwarding::NetworkIx) -> Option<Finding> {
    let parts: Vec<_> = all.clock.domains.iter().filter(|domain| domain.networks.contains(&at) && domain.members.len() > 1).collect();
    if parts.len() < 2 {
        return None;
    }
    let id = &all.fabric.networks[at.0 as usize];
    let leaders: Vec<&Id> = parts.iter().filter_map(|part| part.leader).map(|at| &all.fabric.devices[at.0 as usize]).collect();
    let says = format!("Network {id} is in {} parts with a clock leader each: {}.", parts.len(), list(&leaders));
    let remedy = format!("Join the parts of network {id}, or make them two networks.");
    let items = std::iter::once(network(id)).chain(leaders.into_iter().map(device)).collect();
    let figures = (format!("{} parts", parts.len()), "1 part");
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(figures.0, figures.1).with_source("IEEE 1588-2008 clause 9.3"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).chain("sw-a2/1", 3);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
