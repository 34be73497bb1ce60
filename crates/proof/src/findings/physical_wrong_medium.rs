//! `physical/wrong-medium`.

use super::*;
use loomwright_physical::{CableCheck, CableTrouble};

rule! {
    /// A cable does not fit the port it is planned for.
    ///
    /// Fibre does not go into a copper jack. Somebody will look for a converter ten minutes before doors.
    ///
    /// **Example:** a fibre planned into port 3 of a switch whose fibre ports are 25 to 28.
    ///
    /// **Source**: the gear type in the plan.
    "physical/wrong-medium", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.physical.cables.iter().filter_map(|found| wrong(all, found)).collect()
}

/// One finding for a cable, whether one end or both do not take it.
fn wrong(all: &Analysis, found: &CableCheck) -> Option<Finding> {
    let (id, medium) = (&found.cable, all.wiring.cables[&found.cable].medium);
    let ends = found.troubles.iter().filter_map(|trouble| match trouble {
        CableTrouble::PortTakesAnother { port, takes } => Some((port, takes.word())),
        _ => None,
    });
    let ends: Vec<(&PortRef, &str)> = ends.collect();
    let (says, takes) = match ends.first() {
        Some((_, takes)) => (format!("{id} is {medium}, but {}.", list(ends.iter().map(|(at, takes)| format!("{at} takes {takes}")))), *takes),
        None if found.troubles.iter().any(|trouble| matches!(trouble, CableTrouble::NotACable(_))) => {
            (format!("{id} is written as {medium}, which is a kind of port, not of cable."), "copper or fibre")
        }
        None => return None,
    };
    let remedy = format!("Plan {id} in the medium of both its ports, or move it to ports that take {medium}.");
    let items = std::iter::once(cable(id)).chain(ends.iter().map(|(at, _)| port(at))).collect();
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(medium, takes).with_source("the gear type in the plan"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.cables["A-001"].medium = loomwright_model::Medium::Fibre;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
