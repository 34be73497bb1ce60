//! `power/poe-class-too-low`.

use super::*;
use loomwright_physical::PoePort;

rule! {
    /// A port gives less power than the device behind it needs.
    ///
    /// The device stays dark, or runs with less: quieter, dimmer, or rebooting at full level. The same happens
    /// when the cable is so long that the voltage collapses.
    ///
    /// **Example:** a class 4 loudspeaker in a class 3 port.
    ///
    /// **Source**: IEEE 802.3 clauses 33 and 145: power by class (read second-hand).
    "power/poe-class-too-low", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.physical.poe.iter().flat_map(|switch| &switch.ports).filter_map(too_low).collect()
}

fn too_low(found: &PoePort) -> Option<Finding> {
    let (id, from) = (&found.link.to.item, &found.link.from);
    let (severity, says, value, limit) = if found.port_too_weak {
        let says = format!("{id} needs {}, but {from} gives {}.", found.asks, found.link.class);
        (Severity::Stop, says, found.link.class.to_string(), found.asks.to_string())
    } else if found.cable.is_none() {
        let says = format!("{id} draws {} over {}, which is too long for it: the voltage collapses.", found.device, found.link.cable);
        (Severity::Stop, says, found.device.to_string(), "what the cable carries".to_owned())
    } else if found.beyond_class {
        let says = format!("{id} draws {}, more than {} allows a device.", found.device, found.asks);
        (Severity::Warn, says, found.device.to_string(), found.asks.to_string())
    } else {
        return None;
    };
    let remedy = format!("Move {id} to a port of a higher class, or give it a supply of its own.");
    let items = vec![device(id), port(from), cable(&found.link.cable)];
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures(value, limit).with_source("IEEE 802.3 clauses 33 and 145 (read second-hand)"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-p", ("poe-switch", "stage"), &["a"]);
        trial.device("big", "big-speaker", "stage").cable("P-1", ["big/1", "sw-p/1"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
