//! `power/no-poe-port`.

use super::*;

rule! {
    /// A device that is powered over Ethernet has no port that gives it power.
    ///
    /// It stays dark. An injector or a supply of its own would do as well; then say so in the plan with `feeds`.
    ///
    /// **Example:** a ceiling loudspeaker plugged into a switch without power over Ethernet.
    ///
    /// **Source**: the gear types in the plan.
    "power/no-poe-port", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.physical.without_power_port.iter().map(|id| dark(all, id)).collect()
}

fn dark(all: &Analysis, id: &Id) -> Finding {
    let class = all.plan.devices.get(id).and_then(|device| all.plan.gear_of(device)?.poe).map_or_else(String::new, |class| class.to_string());
    let says = format!("{id} is powered over Ethernet ({class}), but nothing it is plugged into gives power.");
    let remedy = format!("Plug {id} into a port that gives {class} or more, or name the feed of its own supply.");
    Finding::new((RULE.code, Severity::Stop), vec![device(id)], says, remedy).with_figures("no power", class).with_source("the gear types in the plan")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("speaker-1", "speaker", "stage").cable("A-003", ["speaker-1/1", "sw-a/3"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
