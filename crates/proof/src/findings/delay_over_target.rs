//! `delay/over-target`.

use super::*;
use loomwright_model::Time;

rule! {
    /// A stream may arrive later than the plan allows.
    ///
    /// The figure is a worst case that is proved, from the last bit out of the sender to the last bit into the
    /// receiver: every packet that can be in front is in front. A receiver whose buffer is no longer than the
    /// target drops such a packet, and that is a click.
    ///
    /// **Example:** a chain of 100 Mb/s devices, where one hop alone takes more than 1 ms.
    ///
    /// **Source**: the plan's own target `network-delay`, or the stream's; the bound is network calculus, queue by queue.
    "delay/over-target", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut worst: IndexMap<&Id, (Time, &Id)> = IndexMap::new();
    for (at, (flow, (id, stream), _)) in all.flows().enumerate() {
        for delivery in &flow.deliveries {
            let Ok(bound) = all.delays.bound(at, delivery.hop) else { continue };
            if bound.worst > worst.get(id).map_or(Time::ZERO, |(worst, _)| *worst) {
                worst.insert(id, (bound.worst, &stream.to[delivery.receiver as usize]));
            }
        }
    }
    worst.into_iter().filter_map(|(id, (worst, to))| late(all, id, worst, to)).collect()
}

fn late(all: &Analysis, id: &Id, worst: Time, to: &Id) -> Option<Finding> {
    let own = all.plan.streams[id].network_delay;
    let limit = own.unwrap_or(all.plan.targets.network_delay);
    if worst <= limit {
        return None;
    }
    let says = format!("{id} may reach {to} as late as {worst}, and {limit} is allowed.");
    let remedy = format!("Take boxes or slow links out of the way of {id}, or allow more and set the receivers' buffers to it.");
    let source = if own.is_some() { "network-delay of the stream" } else { "your target network-delay" };
    let items = vec![Item::Stream(id.clone()), device(to)];
    Some(Finding::new(RULE.code, Severity::Warn, items, says, remedy).with_figures(worst, limit).with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].network_delay = Some(Time::from_microseconds(20));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
