//! `physical/route-broken`.

use super::*;
use loomwright_physical::CableTrouble;

rule! {
    /// The routes of a cable do not lead from one of its ends to the other.
    ///
    /// Nobody can lay it as written, its length is a guess, and what fails with which route is not known for it.
    ///
    /// **Example:** a cable from the stage to front of house that names only the route to the amplifier room.
    ///
    /// **Source**: the places and routes in the plan.
    "physical/route-broken", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let troubles = all.physical.cables.iter().flat_map(|found| found.troubles.iter().map(move |trouble| (&found.cable, trouble)));
    troubles.filter_map(|(id, trouble)| broken(all, id, trouble)).collect()
}

fn broken(all: &Analysis, id: &Id, trouble: &CableTrouble) -> Option<Finding> {
    let (severity, says, value) = match trouble {
        CableTrouble::UnknownRoute(route) => (Severity::Warn, format!("{id} lies in route {route}, which is not in the plan."), route.to_string()),
        CableTrouble::RouteGap(route) => (Severity::Warn, format!("The routes of {id} do not meet at {route}."), route.to_string()),
        CableTrouble::NoRoute([from, to]) if all.plan.routes.is_empty() => {
            (Severity::Note, format!("{id} runs from {from} to {to} and names no route."), "no route".to_owned())
        }
        CableTrouble::NoRoute([from, to]) => (Severity::Warn, format!("{id} runs from {from} to {to} and names no route."), "no route".to_owned()),
        _ => return None,
    };
    let remedy = format!("Write the routes of {id} in order, from one end to the other.");
    let source = "the places and routes in the plan";
    Some(Finding::new((RULE.code, severity), vec![cable(id)], says, remedy).with_figures(value, "routes from end to end").with_source(source))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.lay("A-002", &[]);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
