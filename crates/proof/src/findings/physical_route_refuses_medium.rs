//! `physical/route-refuses-medium`.

use super::*;
use loomwright_physical::CableTrouble;

rule! {
    /// A cable lies in a route that does not take its medium.
    ///
    /// The plan says what may lie where, for reasons that the plan does not know: different earths between two
    /// buildings, a duct with mains in it, a fire section.
    ///
    /// **Example:** copper in the duct between two buildings, where only fibre is allowed.
    ///
    /// **Source**: `takes` of the route in the plan; local electrical and fire codes decide.
    "physical/route-refuses-medium", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let troubles = all.physical.cables.iter().flat_map(|found| found.troubles.iter().map(move |trouble| (&found.cable, trouble)));
    troubles
        .filter_map(|(id, trouble)| match trouble {
            CableTrouble::RouteForbids(route) => Some(refused(all, id, route)),
            _ => None,
        })
        .collect()
}

fn refused(all: &Analysis, id: &Id, route: &Id) -> Finding {
    let (medium, takes) = (all.wiring.cables[id].medium, list(&all.plan.routes[route].takes));
    let says = format!("{id} is {medium}, but route {route} takes {takes}.");
    let remedy = format!("Lay {id} another way, or plan it in what {route} takes. Local codes decide what may lie there.");
    let items = vec![cable(id), Item::Route(route.clone())];
    Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(medium, takes).with_source("takes of the route in the plan")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.routes["left"].takes = vec![loomwright_model::Medium::Fibre];
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
