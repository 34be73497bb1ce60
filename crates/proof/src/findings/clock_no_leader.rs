//! `clock/no-leader`.

use super::*;

rule! {
    /// Nobody on a network can lead the clock.
    ///
    /// Without a leader every device runs on its own clock. At 10 ppm apart, two of them slip a sample every two
    /// seconds, and many devices mute until they hear a leader.
    ///
    /// **Example:** loudspeakers and a laptop in a chain, none of which may lead.
    ///
    /// **Source**: IEEE 1588-2008 clause 9.3; 10 ppm at 48 kHz is 0.48 samples a second (derived).
    "clock/no-leader", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let without = all.clock.domains.iter().filter(|domain| domain.leader.is_none() && domain.members.len() > 1);
    without
        .map(|domain| {
            let networks: Vec<&Id> = domain.networks.iter().map(|at| &all.fabric.networks[at.0 as usize]).collect();
            let says = format!("On network {}, none of {} can lead the clock.", list(&networks), count(domain.members.len(), "device"));
            let remedy = "Add a device that can lead, or allow one of these to.";
            let members = domain.members.iter().map(|(at, _)| device(&all.fabric.devices[at.0 as usize]));
            let items = networks.iter().copied().map(network).chain(members).collect();
            Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("0 leaders", "1 leader").with_source("IEEE 1588-2008 clause 9.3")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["box"].clock.can_lead = false;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
