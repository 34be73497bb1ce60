//! `delay/memory-too-small`.

use super::*;
use crate::memory::{Memory, memories};

rule! {
    /// A box may have to keep more packets in its queues than its memory holds.
    ///
    /// Packets of many streams can come in the same microseconds and leave by one port: until the port has sent
    /// them, they wait in the box. What does not fit is thrown away, and that is a click. The bound of the delay
    /// holds only if nothing is thrown away.
    ///
    /// **Example:** 100 packets of 1230 bytes that meet at one port need 123 kB there; a small switch that gives
    /// every port 64 kB loses half of them.
    ///
    /// **Source**: the gear type's own `buffer`; what can wait is network calculus, queue by queue.
    "delay/memory-too-small", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    memories(all).iter().filter_map(|memory| too_small(all, memory)).collect()
}

fn too_small(all: &Analysis, memory: &Memory<'_>) -> Option<Finding> {
    let stated = memory.stated?;
    let (direction, fullest) = memory.fullest;
    let name = memory.item.name();
    let from = all.fabric.from_port(direction);
    let (needed, says) = match memory.needed {
        _ if fullest > stated => (fullest, format!("Up to {fullest} may wait at {from}, and {name} has {stated} of memory.")),
        Some(needed) if needed > stated => {
            (needed, format!("Up to {needed} may wait in {name} if all its ports are at their fullest at once, and it has {stated}."))
        }
        _ => return None,
    };
    let remedy = format!("Take a type with more memory for {name}, or lead some of its streams another way.");
    let items = vec![memory.item.clone(), port(from)];
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(needed, stated).with_source(source(memory)))
}

fn source(memory: &Memory<'_>) -> String {
    format!("buffer of gear type {}", memory.gear)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};
    use loomwright_model::ByteCount;

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["switch"].buffer = Some(ByteCount::from_bytes(1_000));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn names_the_port_or_all_ports() {
        let mut trial = Trial::good();
        // Streams both ways: each port is well below what both need together.
        trial.stream("back", "desk", &["box-1"], 8);
        let says = |trial: &Trial| check(&Analysis::new(&trial.plan, &trial.wiring)).iter().map(|found| found.says.clone()).collect::<Vec<_>>();
        let all = Analysis::new(&trial.plan, &trial.wiring);
        let found = memories(&all);
        let (fullest, needed) = (found[0].fullest.1, found[0].needed.expect("a bound"));
        assert!(fullest < needed);
        trial.plan.gear["switch"].buffer = Some(fullest);
        assert!(says(&trial)[0].contains("if all its ports"), "{:?}", says(&trial));
        trial.plan.gear["switch"].buffer = Some(needed);
        assert!(says(&trial).is_empty());
        trial.plan.gear["switch"].buffer = Some(ByteCount::from_bytes(fullest.bytes() - 1));
        assert!(says(&trial)[0].contains("may wait at sw-a/"), "{:?}", says(&trial));
    }
}
