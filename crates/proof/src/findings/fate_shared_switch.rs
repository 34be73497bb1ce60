//! `fate/shared-switch`.

use super::*;

rule! {
    /// One switch carries both audio networks.
    ///
    /// Two networks are there so that one may fail. A switch that carries both, told apart by VLAN, takes both
    /// with it when it fails, freezes, or is set wrongly.
    ///
    /// **Example:** A on VLAN 10 and B on VLAN 20 of the only switch at front of house.
    ///
    /// **Source**: common practice, no source (two networks share fate where they share a box).
    "fate/shared-switch", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.wiring.switches.iter().filter_map(|(id, found)| shared(all, id, &found.networks)).collect()
}

fn shared(all: &Analysis, id: &Id, networks: &[Id]) -> Option<Finding> {
    let audio: Vec<&Id> = all.audio_networks().filter(|network| networks.contains(network)).collect();
    if audio.len() < 2 {
        return None;
    }
    let says = format!("{id} carries networks {}: if it fails, it takes all of them.", list(&audio));
    let remedy = "Give each audio network switches of its own.";
    let items = std::iter::once(switch(id)).chain(audio.iter().copied().map(network)).collect();
    let figures = (count(audio.len(), "audio network"), "1 audio network");
    Some(Finding::new((RULE.code, all.fate()), items, says, remedy).with_figures(figures.0, figures.1).with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.switches["sw-a"].networks.push(id("b"));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
