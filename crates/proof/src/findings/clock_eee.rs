//! `clock/eee`.

use super::*;

rule! {
    /// Energy-saving Ethernet stays on where the clock passes.
    ///
    /// A port that sleeps between packets needs time to wake, and not the same time each way. The clock takes
    /// that for distance, and followers wander.
    ///
    /// **Example:** a "green" office switch between the leader and the stage.
    ///
    /// **Source**: IEEE 802.3az: 16.5 us to wake at 1000BASE-T, 30 us at 100BASE-TX (read in Linux driver comments).
    "clock/eee", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let audio: IndexSet<&Id> = all.audio_networks().collect();
    let switches = all.placed().filter(|(_, found, gear)| gear.energy_saving && found.networks.iter().any(|id| audio.contains(id)));
    let devices = all.geared().filter(|(id, _, gear)| gear.energy_saving && all.audio_networks_of(id).iter().any(|id| audio.contains(*id)));
    let items: Vec<Item> = switches.map(|(id, _, _)| switch(id)).chain(devices.map(|(id, _, _)| device(id))).collect();
    if items.is_empty() {
        return Vec::new();
    }
    let names = list(items.iter().map(Item::name));
    let says = format!("Energy-saving Ethernet stays on at {names}, where the clock passes: waking takes 16.5 us at 1 Gb/s.");
    let remedy = format!("Switch energy-saving Ethernet off on every port of {names}, or use other gear.");
    vec![
        Finding::new((RULE.code, Severity::Warn), items, says, remedy)
            .with_figures("16.5 us", all.plan.targets.clock_error)
            .with_source("IEEE 802.3az (read in Linux driver comments)"),
    ]
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["switch"].energy_saving = true;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
