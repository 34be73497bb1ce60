//! `wiring/port-convention`.

use super::*;

rule! {
    /// A switch has trunks among its endpoints, or endpoints among its trunks.
    ///
    /// Endpoints from port 1 upward and trunks from the last port downward is a habit, not a need. But who
    /// knows it can tell at a glance, in the dark, which cable is which, and a trunk is not pulled by mistake.
    ///
    /// **Example:** the trunk to the stage in port 1 and the desk in port 24.
    ///
    /// **Source**: common practice, no source.
    "wiring/port-convention", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.wiring.switches.keys().filter_map(|id| off_convention(all, id)).collect()
}

fn off_convention(all: &Analysis, id: &Id) -> Option<Finding> {
    let numbered = all.layout.plugs(id).iter().filter_map(|plug| Some((plug.own.number()?, plug)));
    let (trunks, endpoints): (Vec<_>, Vec<_>) = numbered.partition(|(_, plug)| all.wiring.switches.contains_key(&plug.far.item));
    let (lowest, trunk) = trunks.into_iter().min_by_key(|(number, _)| *number)?;
    let (highest, endpoint) = endpoints.into_iter().max_by_key(|(number, _)| *number)?;
    if lowest > highest {
        return None;
    }
    let says = format!("{id} has a trunk ({}) in port {lowest}, below an endpoint ({}) in port {highest}.", trunk.cable, endpoint.cable);
    let remedy = "Plug endpoints from port 1 upward and trunks from the last port downward; it works either way.";
    let items = vec![switch(id), cable(&trunk.cable), cable(&endpoint.cable)];
    let figures = (format!("trunk in port {lowest}"), format!("above port {highest}"));
    Some(Finding::new((RULE.code, Severity::Note), items, says, remedy).with_figures(figures.0, figures.1).with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).cable("T-1", ["sw-a/1", "sw-a2/10"], "a").cable("A-001", ["box-1/1", "sw-a/8"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn trunks_at_the_end_are_as_they_should_be() {
        let mut trial = Trial::good();
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).cable("T-1", ["sw-a/10", "sw-a2/10"], "a");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
