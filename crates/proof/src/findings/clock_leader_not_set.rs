//! `clock/leader-not-set`.

use super::*;

rule! {
    /// Nobody decided who leads the clock.
    ///
    /// With the same priority everywhere, the quality decides, and among equals the lowest hardware address: the
    /// oldest box. Who leads then changes with every device that is added, and each change is a moment without clock.
    ///
    /// **Example:** thirty devices at priority 128, led by the stage box that was bought first.
    ///
    /// **Source**: IEEE 1588-2008 clause 9.3.4 (order of comparison read in an open implementation); priority 10 for the leader is common practice, no source.
    "clock/leader-not-set", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.clock.domains.iter().filter_map(|domain| by_chance(all, domain)).collect()
}

fn by_chance(all: &Analysis, domain: &loomwright_clock::ClockDomain) -> Option<Finding> {
    let of = |at: &loomwright_forwarding::DeviceIx| all.clock.datasets.get(at.0 as usize)?.as_ref();
    let leads = of(&domain.leader?)?;
    let equal = |at: &loomwright_forwarding::DeviceIx| of(at).is_some_and(|set| (set.priority1, set.class) == (leads.priority1, leads.class));
    let rivals: Vec<&Id> = domain.members.iter().filter(|(at, _)| equal(at)).map(|(at, _)| &all.fabric.devices[at.0 as usize]).collect();
    if rivals.len() < 2 {
        return None;
    }
    let networks: Vec<&Id> = domain.networks.iter().map(|at| &all.fabric.networks[at.0 as usize]).collect();
    let says = format!("On network {}, {} have the same clock priority {}: the lowest hardware address leads.", list(&networks), list(&rivals), leads.priority1);
    let remedy = "Name a leader and a backup under [clock], and set their priority1 to 10 and 20.";
    let items = networks.iter().copied().map(network).chain(rivals.iter().copied().map(device)).collect();
    let figures = (count(rivals.len(), "equal candidate"), "1 best candidate");
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(figures.0, figures.1).with_source("IEEE 1588-2008 clause 9.3.4"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.clock = loomwright_model::wiring::ClockChoice::default();
        trial.wiring.settings.values_mut().for_each(|setting| setting.clock_priority = None);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
