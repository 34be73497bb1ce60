//! `multicast/slow-port-drowns`.

use super::*;
use loomwright_delay::DirectionLoad;
use loomwright_forwarding::Direction;
use loomwright_model::BitRate;

rule! {
    /// A slow port gets more streams than it can take, and nobody behind it asked for them.
    ///
    /// Where streams flood, the ports at 100 Mb/s drown first. What the device behind it does want is lost among
    /// the rest.
    ///
    /// **Example:** a paging station with a 100 Mb/s port on a switch without snooping, and 40 streams on the network.
    ///
    /// **Source**: sum of the wire rates against the port's speed; RFC 4541 for where streams go.
    "multicast/slow-port-drowns", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let slow = all.loads().filter(|(direction, load)| drowns(all, *direction, load));
    slow.map(|(direction, load)| drowning(all, direction, &load)).collect()
}

/// Whether a direction is full only because of what nobody asked for.
pub(super) fn drowns(all: &Analysis, direction: Direction, load: &DirectionLoad) -> bool {
    let limit = all.load_limit(direction);
    load.load > limit && load.load - load.unwanted <= limit
}

fn drowning(all: &Analysis, direction: Direction, load: &DirectionLoad) -> Finding {
    let (from, to) = (all.fabric.from_port(direction), all.fabric.to_port(direction));
    let found = &all.fabric.cables[direction.cable().0 as usize];
    let severity = if load.load > found.speed { Severity::Stop } else { Severity::Warn };
    let wanted: BitRate = load.load - load.unwanted;
    let says = format!("{to} gets {} of streams over a {} port, and asked for {wanted} of them.", load.load, found.speed);
    let remedy = format!("Switch snooping on at {}, with a querier, or move {} to a faster port.", from.item, to.item);
    let items = vec![port(to), cable(&found.id), port(from)];
    Finding::new((RULE.code, severity), items, says, remedy).with_figures(load.load, all.load_limit(direction)).with_source("RFC 4541; your target link-load")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.switches["sw-a"].gear = id("plain-switch");
        trial.plan.streams["mics"].channels = 10 * 8;
        trial.device("paging", "slow", "stage").cable("A-003", ["paging/1", "sw-a/3"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
