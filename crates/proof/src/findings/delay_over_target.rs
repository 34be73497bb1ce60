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
    let mut late: IndexMap<Time, Vec<Late>> = IndexMap::new();
    for (id, (worst, to)) in worst {
        let limit = all.plan.streams[id].network_delay.unwrap_or(all.plan.targets.network_delay);
        if worst > limit {
            late.entry(limit).or_default().push((worst, id, to));
        }
    }
    late.into_iter().filter_map(|(limit, streams)| too_late(all, limit, streams)).collect()
}

/// Worst delay, stream, receiver.
type Late<'a> = (Time, &'a Id, &'a Id);

/// Streams with the same limit are told together, the latest first.
fn too_late(all: &Analysis, limit: Time, mut streams: Vec<Late<'_>>) -> Option<Finding> {
    streams.sort_by_key(|(worst, _, _)| std::cmp::Reverse(*worst));
    let (worst, id, to) = *streams.first()?;
    let says = match streams.len() {
        1 => format!("{id} may reach {to} as late as {worst}, and {limit} is allowed."),
        n => format!("{n} streams may arrive later than the {limit} allowed; the latest is {id} at {to} with {worst}."),
    };
    let remedy = format!("Take boxes or slow links out of the way of {id}, or allow more and set the receivers' buffers to it.");
    let source = if limit == all.plan.targets.network_delay { "your target network-delay" } else { "network-delay of the stream" };
    let items = streams.iter().map(|(_, id, _)| Item::Stream((*id).clone())).chain([device(to)]).collect();
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(worst, limit).with_source(source))
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
