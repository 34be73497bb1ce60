//! `delay/no-bound`.

use super::*;
use loomwright_delay::Cause;
use loomwright_forwarding::Direction;

rule! {
    /// For some streams no worst delay can be promised.
    ///
    /// A queue on their way gets more than it can send, shares its class with traffic that nobody planned, or
    /// feeds itself in a circle. It may run for a whole season. It may also click whenever somebody copies a file.
    ///
    /// **Example:** audio marked with DSCP 0, so that it waits in one queue with everything else.
    ///
    /// **Source**: network calculus: a bound needs a queue that is served faster than it is filled; RFC 4594 for classes.
    "delay/no-bound", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut lost: IndexMap<(u32, Cause), IndexSet<&Id>> = IndexMap::new();
    for (at, (flow, (id, _), _)) in all.flows().enumerate() {
        for delivery in &flow.deliveries {
            if let Err(found) = all.delays.bound(at, delivery.hop) {
                lost.entry((found.port, found.cause)).or_default().insert(id);
            }
        }
    }
    let unprotected: IndexSet<&Id> = lost.iter().filter(|((_, cause), _)| *cause == Cause::Unprotected).flat_map(|(_, ids)| ids.iter().copied()).collect();
    let mut told: IndexMap<(u32, Cause), IndexSet<&Id>> = lost.into_iter().filter(|((_, cause), _)| *cause != Cause::Unprotected).collect();
    if !unprotected.is_empty() {
        told.insert((0, Cause::Unprotected), unprotected);
    }
    told.iter().filter_map(|((queue, cause), ids)| unbounded(all, Direction(*queue), *cause, ids)).collect()
}

/// Loops and overfull links have findings of their own.
fn unbounded(all: &Analysis, queue: Direction, cause: Cause, ids: &IndexSet<&Id>) -> Option<Finding> {
    let at = || all.fabric.from_port(queue);
    let speed = || all.fabric.cables[queue.cable().0 as usize].speed;
    let (severity, why, remedy) = match cause {
        Cause::Storm => return None,
        Cause::Overload if all.delays.load(queue).load > speed() => return None,
        Cause::Overload => (Severity::Stop, format!("{} gets more than {} can carry", at(), speed()), format!("Move streams away from {}.", at())),
        Cause::Upstream => (Severity::Warn, format!("at {} they meet traffic without a bound", at()), "Mend the other findings first.".to_owned()),
        Cause::Circle => {
            let remedy = "Break the circle: lead streams through the core, not around the ring.".to_owned();
            (Severity::Warn, format!("queues feed each other in a circle through {}", at()), remedy)
        }
        Cause::Unprotected => {
            let remedy = "Mark media with a DSCP of its own (media-dscp, 34 is usual) and let the switches trust it.".to_owned();
            (Severity::Warn, "they share their queues with everything else".to_owned(), remedy)
        }
    };
    let says = format!("No worst delay can be promised for {}: {why}.", list(ids));
    let items = ids.iter().map(|id| Item::Stream((*id).clone())).collect();
    let target = all.plan.targets.network_delay;
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures("no bound", target).with_source("network calculus; your target network-delay"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].format.media_dscp = loomwright_model::Dscp::new(0).expect("a DSCP");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
