//! `load/link-over`.

use super::*;
use loomwright_delay::DirectionLoad;
use loomwright_forwarding::Direction;

rule! {
    /// A link carries more than the plan allows.
    ///
    /// Above its target a link has no room for the clock, for control and for what is patched in at the last
    /// minute; above its speed packets are lost. The two directions of a cable count apart.
    ///
    /// **Example:** 80 streams of 9.84 Mb/s over one trunk of 1 Gb/s: 787.2 Mb/s where 750 Mb/s is the target.
    ///
    /// **Source**: the plan's own target `link-load`; 75 % is the default share for reserved streams in IEEE 802.1Q (read second-hand).
    "load/link-over", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let over = all.loads().filter(|(direction, load)| load.load > all.load_limit(*direction));
    let own = over.filter(|(direction, load)| !multicast_slow_port_drowns::drowns(all, *direction, load));
    own.map(|(direction, load)| overfull(all, direction, &load)).collect()
}

fn overfull(all: &Analysis, direction: Direction, load: &DirectionLoad) -> Finding {
    let found = &all.fabric.cables[direction.cable().0 as usize];
    let (from, to) = (all.fabric.from_port(direction), all.fabric.to_port(direction));
    let limit = all.load_limit(direction);
    let severity = if load.load > found.speed { Severity::Stop } else { Severity::Warn };
    let says = format!("{} from {from} to {to} carries {} in {}, more than the {limit} allowed.", found.id, load.load, count(load.streams as usize, "packet stream"));
    let remedy = format!("Move streams to another cable, or make {} faster than {}.", found.id, found.speed);
    let items = vec![cable(&found.id), port(from), port(to)];
    let source = format!("your target link-load = {} of {}", all.plan.targets.link_load, found.speed);
    Finding::new((RULE.code, severity), items, says, remedy).with_figures(load.load, limit).with_source(source)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].channels = 80 * 8;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn figures_are_those_of_the_wire() {
        let mut trial = Trial::good();
        firing(&mut trial);
        let found = check(&Analysis::new(&trial.plan, &trial.wiring));
        assert_eq!((found[0].value.as_deref(), found[0].limit.as_deref()), (Some("787.2 Mb/s"), Some("750 Mb/s")));
    }
}
