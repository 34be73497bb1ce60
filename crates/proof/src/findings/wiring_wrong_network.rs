//! `wiring/wrong-network`.

use super::*;

rule! {
    /// A cable is labelled for a network that the switch at its end does not carry.
    ///
    /// The crew follow the label. What leaves the switch on that port is another network, or nothing, and the
    /// device behind it is not where the rest of the plan believes it to be.
    ///
    /// **Example:** a cable of network A plugged into the switch of network B, one rack unit lower.
    ///
    /// **Source**: common practice, no source.
    "wiring/wrong-network", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.wiring.cables.iter().filter_map(|(id, cable)| wrong(all, id, cable)).collect()
}

fn wrong(all: &Analysis, id: &Id, found: &Cable) -> Option<Finding> {
    let (end, switch_networks) = found.ends.iter().find_map(|end| {
        let switch = all.wiring.switches.get(&end.item)?;
        found.networks.iter().any(|network| !switch.networks.contains(network)).then_some((end, &switch.networks))
    })?;
    let missing = found.networks.iter().filter(|network| !switch_networks.contains(network));
    let says = format!("{id} is for network {}, but {} at {end} carries {}.", list(missing), end.item, list(switch_networks));
    let remedy = format!("Plug {id} into a switch of its network, or change its label.");
    let figures = (list(&found.networks), list(switch_networks));
    Some(
        Finding::new((RULE.code, Severity::Stop), vec![cable(id), switch(&end.item)], says, remedy)
            .with_figures(figures.0, figures.1)
            .with_source(PRACTICE),
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.cable("A-002", ["desk/1", "sw-b/5"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
