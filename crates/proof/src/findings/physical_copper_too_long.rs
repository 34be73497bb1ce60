//! `physical/copper-too-long`.

use super::*;
use loomwright_physical::{CableCheck, CableTrouble};

rule! {
    /// A copper cable is longer than Ethernet over copper reaches.
    ///
    /// It may come up on the bench and fail in the heat of the show, or fall back to a slower speed. Reeled and
    /// stranded cable reaches less than fixed cable: about 83 m, or 66 m when thin.
    ///
    /// **Example:** a 120 m reel from the stage to front of house.
    ///
    /// **Source**: ISO/IEC 11801 and TIA-568: 100 m channel, 90 m fixed and 10 m of cords (read second-hand).
    "physical/copper-too-long", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    too_long(all, loomwright_model::Medium::Copper).into_iter().filter_map(finding).collect()
}

/// Cables of a medium that are longer than it reaches.
pub(super) fn too_long(all: &Analysis, medium: loomwright_model::Medium) -> Vec<&CableCheck> {
    let long = all.physical.cables.iter().filter(|found| found.troubles.contains(&CableTrouble::TooLong));
    long.filter(|found| all.wiring.cables[&found.cable].medium == medium).collect()
}

fn finding(found: &CableCheck) -> Option<Finding> {
    let limit = found.limit?;
    let says = format!("{} is {} of copper, and {} is the most at {}.", found.cable, found.length, limit.most, found.speed?);
    let remedy = format!("Use fibre for {}, or put a switch on the way.", found.cable);
    let source = format!("{}; assumes {}", limit.source, limit.assumes);
    Some(Finding::new((RULE.code, Severity::Stop), vec![cable(&found.cable)], says, remedy).with_figures(found.length, limit.most).with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.long("A-001", 101);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_hundred_metres_are_allowed() {
        let mut trial = Trial::good();
        trial.long("A-001", 100);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
