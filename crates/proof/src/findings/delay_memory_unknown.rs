//! `delay/memory-unknown`.

use super::*;
use crate::memory::{Memory, memories};
use loomwright_model::ByteCount;

rule! {
    /// A gear type that forwards streams does not say how much memory its queues have.
    ///
    /// What may have to wait in it is known; whether it fits is not. A packet that does not fit is lost.
    ///
    /// **Example:** a switch type written into the plan without `buffer`, and 40 kB that can meet at its trunk.
    ///
    /// **Source**: common practice, no source (small switches share 0.5 to 1.5 MB).
    "delay/memory-unknown", check, tests::firing
}

/// One finding for all: what is missing is a line of a data sheet each. Where nothing bounds what waits, another
/// finding says so.
fn check(all: &Analysis) -> Vec<Finding> {
    let unknown: Vec<Memory<'_>> = memories(all).into_iter().filter(|memory| memory.stated.is_none() && memory.needed.is_some()).collect();
    let Some(most) = unknown.iter().max_by_key(|memory| (memory.needed, std::cmp::Reverse(&memory.item))) else { return Vec::new() };
    let types: IndexSet<&Id> = unknown.iter().map(|memory| memory.gear).collect();
    let needed = most.needed.unwrap_or(ByteCount::ZERO);
    let says = match types.len() {
        1 => format!("{} does not say how much its queues hold; up to {needed} may wait in {}.", most.gear, most.item.name()),
        n => format!("{n} gear types do not say how much their queues hold; up to {needed} may wait in {}.", most.item.name()),
    };
    let remedy = format!("Write `buffer` of {} from the data sheets into the plan; `check --buffers` says what each needs.", list(&types));
    let items = types.into_iter().map(|gear| Item::Gear(gear.clone())).chain(unknown.iter().map(|memory| memory.item.clone())).collect();
    vec![Finding::new((RULE.code, Severity::Note), items, says, remedy).with_figures(needed, "not stated").with_source(PRACTICE)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["switch"].buffer = None;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn one_finding_names_types_and_boxes() {
        let mut trial = Trial::good();
        firing(&mut trial);
        let found = check(&Analysis::new(&trial.plan, &trial.wiring));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].items.len(), 3, "the type and both switches");
    }
}
