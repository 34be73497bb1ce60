//! `clock/never-follows`.

use super::*;
use loomwright_clock::Role;

rule! {
    /// A device announces a clock so good that it follows nobody, and it does not lead either.
    ///
    /// It stays on its own clock while the others follow the leader. If its audio goes into the same mix, it drifts.
    ///
    /// **Example:** a second reference clock of class 6 beside a leader with a lower priority1.
    ///
    /// **Source**: IEEE 1588-2008 clause 9.3.3: class 127 and below never follows (read in an open implementation).
    "clock/never-follows", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut passive: IndexMap<&Id, Vec<&Id>> = IndexMap::new();
    for (domain, followers) in all.clock.domains.iter().zip(&all.clock.followers) {
        for follower in followers.iter().filter(|follower| follower.role == Role::Passive) {
            let networks = domain.networks.iter().map(|at| &all.fabric.networks[at.0 as usize]);
            passive.entry(&all.fabric.devices[follower.device.0 as usize]).or_default().extend(networks);
        }
    }
    passive.into_iter().map(|(id, networks)| stays_alone(id, &networks)).collect()
}

fn stays_alone(id: &Id, networks: &[&Id]) -> Finding {
    let says = format!("{id} neither leads nor follows on network {}: its clock class makes it stay on its own clock.", list(networks));
    let remedy = format!("Let {id} lead, or lock it and the leader to the same reference.");
    let items = std::iter::once(device(id)).chain(networks.iter().copied().map(network)).collect();
    let source = "IEEE 1588-2008 clause 9.3.3";
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures("class 127 or lower", "class 128 or higher, or leader").with_source(source)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        let mut reference = trial.plan.gear["mono"].clone();
        reference.clock.quality = 6;
        trial.plan.gear.insert(crate::trial::id("reference"), reference);
        trial.device("ref", "reference", "stage").cable("A-003", ["ref/1", "sw-a/3"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
