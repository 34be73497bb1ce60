//! `wiring/not-connected`.

use super::*;

rule! {
    /// A device has no cable at all.
    ///
    /// It is in the plan and perhaps in the rack, but nobody is told to plug it in. If streams need it, they
    /// are reported as well.
    ///
    /// **Example:** a spare stage box that was added to the device list after the wiring was made.
    ///
    /// **Source**: common practice, no source.
    "wiring/not-connected", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let without = all.geared().filter(|(id, _, _)| all.layout.plugs(id).is_empty());
    without.map(|(id, found, gear)| not_connected(id, found, gear)).collect()
}

fn not_connected(id: &Id, found: &Device, gear: &Gear) -> Finding {
    let severity = if gear.kind == GearKind::Endpoint { Severity::Warn } else { Severity::Note };
    let says = format!("{id} at {} has no cable.", found.place);
    let remedy = format!("Run a cable from {id} to a switch, or take {id} out of the plan.");
    Finding::new((RULE.code, severity), vec![device(id)], says, remedy).with_figures("0 cables", "at least 1").with_source(PRACTICE)
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("spare", "box", "stage");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
