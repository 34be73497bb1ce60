//! `multicast/slow-port-unasked`.

use super::*;
use loomwright_delay::DirectionLoad;
use loomwright_forwarding::Direction;
use loomwright_model::BitRate;

/// Speed up to which a port counts as slow. **Source**: IEEE 802.3 clause 24, 100BASE-X; common practice for "slow".
const SLOW: BitRate = BitRate::from_bits_per_second(100_000_000);
/// Share of the port that is worth a word, percent. Own choice.
const WORTH_A_WORD: u64 = 10;

rule! {
    /// A slow port gets streams that nobody behind it asked for, though it can still take them.
    ///
    /// The device behind it has to sort them out. Small processors in paging stations, wall panels and remotes get
    /// slow or lose their control connection long before the link is full, and a few more streams will fill it.
    ///
    /// **Example:** 15 Mb/s of flooded streams into a wall panel with a 100 Mb/s port.
    ///
    /// **Source**: sum of the wire rates of streams without a receiver behind the port; RFC 4541 for where streams go.
    "multicast/slow-port-unasked", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let slow = all.loads().filter(|(direction, load)| is_bothered(all, *direction, load));
    slow.map(|(direction, load)| bothered(all, direction, &load)).collect()
}

/// Whether a slow port of a device gets much that nobody asked for, and is not over its limit.
fn is_bothered(all: &Analysis, direction: Direction, load: &DirectionLoad) -> bool {
    let speed = all.fabric.cables[direction.cable().0 as usize].speed;
    let is_much = load.unwanted.bits_per_second().saturating_mul(100) >= speed.bits_per_second().saturating_mul(WORTH_A_WORD);
    let is_device = all.plan.devices.contains_key(&all.fabric.to_port(direction).item);
    speed <= SLOW && is_much && is_device && load.load <= all.load_limit(direction)
}

fn bothered(all: &Analysis, direction: Direction, load: &DirectionLoad) -> Finding {
    let (from, to) = (all.fabric.from_port(direction), all.fabric.to_port(direction));
    let found = &all.fabric.cables[direction.cable().0 as usize];
    let says = format!("{to} gets {} of streams that nobody behind it asked for, over a {} port.", load.unwanted, found.speed);
    let remedy = format!("Switch snooping on at {}, with a querier, or put {} on a network without streams.", from.item, to.item);
    let items = vec![port(to), cable(&found.id), port(from)];
    let limit = format!("{WORTH_A_WORD} % of {}", found.speed);
    Finding::new((RULE.code, Severity::Note), items, says, remedy).with_figures(load.unwanted, limit).with_source("RFC 4541")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.switches["sw-a"].gear = id("plain-switch");
        trial.plan.streams["mics"].channels = 2 * 8;
        trial.device("paging", "slow", "stage").cable("A-003", ["paging/1", "sw-a/3"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_little_is_not_worth_a_word() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.streams["mics"].channels = 1;
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
