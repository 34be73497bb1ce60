//! `physical/wrong-medium`.

use super::*;
use loomwright_physical::CableTrouble;

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
    let troubles = all.physical.cables.iter().flat_map(|found| found.troubles.iter().map(move |trouble| (&found.cable, trouble)));
    troubles.filter_map(|(id, trouble)| wrong(all, id, trouble)).collect()
}

fn wrong(all: &Analysis, id: &Id, trouble: &CableTrouble) -> Option<Finding> {
    let medium = all.wiring.cables[id].medium;
    let (says, items, takes) = match trouble {
        CableTrouble::PortTakesAnother { port: at, takes } => (format!("{id} is {medium}, but {at} takes {takes}."), vec![cable(id), port(at)], takes.word()),
        CableTrouble::NotACable(found) => (format!("{id} is written as {found}, which is a kind of port, not of cable."), vec![cable(id)], "copper or fibre"),
        _ => return None,
    };
    let remedy = format!("Plan {id} in the medium of both its ports, or move it to ports that take {medium}.");
    Some(Finding::new(RULE.code, Severity::Stop, items, says, remedy).with_figures(medium, takes).with_source("the gear type in the plan"))
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
