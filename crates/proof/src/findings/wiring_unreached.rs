//! `wiring/unreached`.

use super::*;
use std::collections::BTreeSet;

rule! {
    /// A receiver has no way to hear a stream on any network.
    ///
    /// Its audio is silent from the start: one end has no cable, the two ends are on different networks, or
    /// the way between them is missing.
    ///
    /// **Example:** the sender is on network A only, and the new recorder was plugged into network B only.
    ///
    /// **Source**: the plan's stream against the wiring.
    "wiring/unreached", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let heard: BTreeSet<(u32, u32)> = all
        .flows()
        .flat_map(|(flow, _, _)| flow.deliveries.iter().map(|delivery| (all.forwarding.packets.all[flow.packet_stream as usize].stream, delivery.receiver)))
        .collect();
    let streams = all.plan.streams.iter().enumerate();
    streams.filter_map(|(at, (id, stream))| {
        let deaf = stream.to.iter().enumerate().filter(|(n, to)| **to != stream.from && !heard.contains(&(at as u32, *n as u32)));
        unreached(all, id, &stream.from, &deaf.map(|(_, to)| to).collect::<Vec<_>>())
    })
    .collect()
}

fn unreached(all: &Analysis, id: &Id, from: &Id, deaf: &[&Id]) -> Option<Finding> {
    let first = deaf.first()?;
    let on = |id: &Id| all.audio_networks_of(id);
    let why = match (on(from), on(first)) {
        (sender, _) if sender.is_empty() => format!("{from} is on no network"),
        (_, receiver) if receiver.is_empty() => format!("{first} is on no network"),
        (sender, receiver) if sender.is_disjoint(&receiver) => format!("{from} is on {}, {first} on {}", list(sender), list(receiver)),
        _ => "no cable joins them".to_owned(),
    };
    let says = format!("{} cannot hear {id} from {from}: {why}.", list(deaf));
    let remedy = format!("Connect {first} to a network that {from} is on.");
    let items = std::iter::once(Item::Stream(id.clone())).chain(deaf.iter().copied().map(device)).collect();
    let source = "the plan's stream against the wiring";
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("0 legs", "at least 1").with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("recorder", "mono", "stage");
        trial.plan.streams["mics"].to.push(crate::trial::id("recorder"));
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn one_leg_is_enough_to_hear() {
        let mut trial = Trial::good();
        trial.unplug("B-002");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
        trial.unplug("A-002");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)).len(), 1);
    }
}
