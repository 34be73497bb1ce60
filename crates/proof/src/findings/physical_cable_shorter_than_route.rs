//! `physical/cable-shorter-than-route`.

use super::*;
use loomwright_physical::{CableCheck, CableTrouble};

rule! {
    /// A cable is shorter than the routes it should lie in.
    ///
    /// It will not reach, and the crew find out when half of it is laid.
    ///
    /// **Example:** a 35 m reel for a trench of 38 m.
    ///
    /// **Source**: the lengths of the routes in the plan.
    "physical/cable-shorter-than-route", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.physical.cables.iter().filter(|found| found.troubles.contains(&CableTrouble::ShorterThanRoutes)).map(|found| short(all, found)).collect()
}

fn short(all: &Analysis, found: &CableCheck) -> Finding {
    let routes = &all.wiring.cables[&found.cable].routes;
    let missing = found.routes_length - found.length;
    let says = format!("{} is {} long, but its way through {} takes {}: {missing} too short.", found.cable, found.length, list(routes), found.routes_length);
    let remedy = format!("Take at least {} for {}, with some to spare at both ends.", found.routes_length, found.cable);
    let items = std::iter::once(cable(&found.cable)).chain(routes.iter().map(|id| Item::Route(id.clone()))).collect();
    let source = "the lengths of the routes in the plan";
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(found.length, found.routes_length).with_source(source)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.long("A-002", 39);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
