//! `clock/leader-off-network`.

use super::*;

rule! {
    /// The planned clock leader is not on a network that needs a clock.
    ///
    /// Each network finds a leader of its own. If the planned one is not on it, some other device leads there,
    /// and the two networks drift against each other unless both follow one reference.
    ///
    /// **Example:** the planned leader has one port, on network A; on network B the oldest stage box leads.
    ///
    /// **Source**: IEEE 1588 (one leader for each set of devices that hear each other); common practice, no source, for one reference.
    "clock/leader-off-network", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let Some(leader) = &all.wiring.clock.leader else { return Vec::new() };
    let on = all.audio_networks_of(leader);
    let used = all.audio_networks().filter(|id| all.layout.slots().any(|(_, slot)| slot.network.as_ref() == Some(*id)));
    used.filter(|id| !on.contains(*id)).map(|id| off(leader, id)).collect()
}

fn off(leader: &Id, at: &Id) -> Finding {
    let says = format!("{leader} should lead the clock, but it is not on network {at}: another device will lead there.");
    let remedy = format!("Connect {leader} to network {at}, or choose a leader that is on every audio network.");
    let items = vec![device(leader), network(at)];
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures("not connected", "connected").with_source("IEEE 1588")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.unplug("B-002");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
