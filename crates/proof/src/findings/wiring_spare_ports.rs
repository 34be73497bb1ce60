//! `wiring/spare-ports`.

use super::*;

rule! {
    /// A switch has fewer free ports than the plan wants to keep.
    ///
    /// A free port is what replaces a broken one five minutes before doors, and what the device that
    /// nobody mentioned gets plugged into.
    ///
    /// **Example:** a switch with 24 ports, 23 of them in use, where the plan asks for 15 % spare.
    ///
    /// **Source**: the plan's own target `spare-ports`; 10 to 20 % is common practice, no source.
    "wiring/spare-ports", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.placed().filter_map(|(id, _, gear)| few_spare(all, id, gear)).collect()
}

fn few_spare(all: &Analysis, id: &Id, gear: &Gear) -> Option<Finding> {
    let total = u64::from(gear.switch_port_count());
    let used: IndexSet<&PortRef> = all.layout.plugs(id).iter().map(|plug| &plug.own).collect();
    let spare = total.saturating_sub(used.len() as u64);
    let wanted = (total * u64::from(all.plan.targets.spare_ports.parts_per_million())).div_ceil(1_000_000);
    if spare >= wanted {
        return None;
    }
    let says = format!("{id} has {} free, and {} of {total} should stay free.", count(spare as usize, "port"), wanted);
    let remedy = format!("Move {} to another switch, or take a larger one.", count((wanted - spare) as usize, "cable"));
    let target = format!("your target spare-ports = {}", all.plan.targets.spare_ports);
    let figures = (count(spare as usize, "port"), count(wanted as usize, "port"));
    Some(Finding::new((RULE.code, Severity::Warn), vec![switch(id)], says, remedy).with_figures(figures.0, figures.1).with_source(target))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.targets.spare_ports = loomwright_model::Share::from_parts_per_million(900_000);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn parts_of_a_port_count_as_a_port() {
        let mut trial = Trial::good();
        trial.plan.targets.spare_ports = loomwright_model::Share::from_parts_per_million(800_000);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
        trial.plan.targets.spare_ports = loomwright_model::Share::from_parts_per_million(800_001);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)).len(), 2);
    }
}
