//! `clock/computer-leads`.

use super::*;

rule! {
    /// A computer leads the clock, or should by plan.
    ///
    /// Its time comes from software that shares the machine with everything else. It jumps when the machine is
    /// busy, and it is gone when somebody closes the lid.
    ///
    /// **Example:** the playback laptop, left at the default priority, with the lowest number on its network card.
    ///
    /// **Source**: common practice, no source.
    "clock/computer-leads", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut led: IndexMap<&Id, IndexSet<&Id>> = IndexMap::new();
    let chosen = [&all.wiring.clock.leader, &all.wiring.clock.backup];
    chosen.into_iter().flatten().for_each(|id| led.entry(id).or_default().extend(all.audio_networks_of(id)));
    for domain in all.clock.domains.iter().filter(|domain| domain.members.len() > 1) {
        if let Some(leader) = domain.leader.map(|at| &all.fabric.devices[at.0 as usize]) {
            led.entry(leader).or_default().extend(domain.networks.iter().map(|at| &all.fabric.networks[at.0 as usize]));
        }
    }
    led.into_iter().filter(|(id, _)| is_computer(all, id)).map(|(id, networks)| computer(id, &networks)).collect()
}

fn is_computer(all: &Analysis, id: &Id) -> bool {
    let gear = all.plan.devices.get(id).and_then(|device| all.plan.gear_of(device));
    gear.is_some_and(|gear| gear.kind == GearKind::Computer)
}

fn computer(id: &Id, networks: &IndexSet<&Id>) -> Finding {
    let says = format!("{id} is a computer and is to lead the clock on network {}.", list(networks));
    let remedy = format!("Name another leader under [clock], and let {id} follow only.");
    let items = std::iter::once(device(id)).chain(networks.iter().copied().map(network)).collect();
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures("computer", "audio device").with_source(PRACTICE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("laptop-1", "laptop", "stage").cable("A-003", ["laptop-1/1", "sw-a/3"], "a").address("laptop-1/1", "10.1.0.30/24");
        trial.wiring.clock.leader = Some(id("laptop-1"));
        trial.wiring.settings.shift_remove("desk");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
