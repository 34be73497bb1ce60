//! `clock/leader-cannot-lead`.

use super::*;

rule! {
    /// The planned clock leader or its backup cannot lead.
    ///
    /// It only follows, whatever its priority. Another device leads, chosen by the lowest number on a chip.
    ///
    /// **Example:** a loudspeaker that follows only, written as backup leader.
    ///
    /// **Source**: IEEE 1588-2008 clause 9.3 (clock class 255 follows only; read second-hand); the gear type in the plan.
    "clock/leader-cannot-lead", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let chosen = [("leader", &all.wiring.clock.leader), ("backup leader", &all.wiring.clock.backup)];
    chosen.into_iter().filter_map(|(role, id)| cannot(all, role, id.as_ref()?)).collect()
}

fn cannot(all: &Analysis, role: &str, id: &Id) -> Option<Finding> {
    let gear = all.plan.devices.get(id).and_then(|device| all.plan.gear_of(device))?;
    if gear.clock.can_lead {
        return None;
    }
    let says = format!("{id} is the planned clock {role}, but its type ({}) cannot lead.", gear.title);
    let remedy = format!("Choose another {role}.");
    let source = "the gear type in the plan";
    Some(Finding::new((RULE.code, Severity::Warn), vec![device(id)], says, remedy).with_figures("follows only", "can lead").with_source(source))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["box"].clock.can_lead = false;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
