//! `wiring/pairing-not-offered`.

use super::*;

rule! {
    /// A device is set to a way of pairing its ports that its gear type does not offer.
    ///
    /// The setting will not be found on the device, and what it really does with its two ports is the other way.
    ///
    /// **Example:** independent ports planned for a loudspeaker whose two ports are always a small switch.
    ///
    /// **Source**: the gear type in the plan.
    "wiring/pairing-not-offered", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.geared().filter_map(|(id, _, gear)| not_offered(all, id, gear)).collect()
}

fn not_offered(all: &Analysis, id: &Id, gear: &Gear) -> Option<Finding> {
    let set = all.pairing(id)?;
    if gear.pairing.contains(&set) || gear.pairing.is_empty() {
        return None;
    }
    let says = format!("{id} is planned with {set} ports, but {} only does {}.", gear.title, list(&gear.pairing));
    let remedy = format!("Plan {id} with {} ports and cable it so, or choose another type.", gear.pairing[0]);
    Some(
        Finding::new((RULE.code, Severity::Stop), vec![device(id)], says, remedy)
            .with_figures(set, list(&gear.pairing))
            .with_source("the gear type in the plan"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["box"].pairing = vec![Pairing::Chained];
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
