//! Delays while something is missing, once the network has found itself again.
//!
//! Streams that go another way meet other streams there, so a failure can make one late that it does not touch. Paths are those
//! of the spanning tree without what was lost; the clock is led by whoever leads then. Only queues behind something that changed are
//! worked out again.

use crate::analysis::Analysis;
use crate::clock::Leading;
use crate::name::Name;
use loomwright_delay::{Assumptions, Delays, System};
use loomwright_forwarding::{CableIx, DeviceIx, Forwarding, Removed, SwitchIx, forward_without};
use loomwright_model::{Id, Item, Time};
use loomwright_survival::Loss;
use serde::Serialize;
use std::collections::BTreeMap;

/// One stream at one receiver on one network, whose longest delay is not what it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DelayChange {
    /// Stream.
    pub stream: Name,
    /// Receiver.
    pub to: Name,
    /// Network.
    pub network: Name,
    /// With everything there, in nanoseconds; absent without bound.
    pub before_ns: Option<u64>,
    /// Without what was lost, in nanoseconds; absent without bound.
    pub after_ns: Option<u64>,
    /// What the plan allows, in nanoseconds.
    pub allowed_ns: u64,
}

impl DelayChange {
    /// Whether it may arrive later than allowed now and did not before.
    pub fn is_too_late_now(&self) -> bool {
        let is_late = |delay: Option<u64>| delay.is_none_or(|delay| delay > self.allowed_ns);
        is_late(self.after_ns) && !is_late(self.before_ns)
    }

    /// Whether it may arrive later than before.
    pub fn is_later(&self) -> bool {
        self.after_ns.is_none_or(|after| self.before_ns.is_some_and(|before| after > before))
    }
}

/// What a failure does to delays.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct DelaysAfter {
    /// How many streams at receivers still arrive, each network apart.
    pub arriving: usize,
    /// Those whose longest delay changed, latest first.
    pub changed: Vec<DelayChange>,
    /// How many queues had to be worked out again.
    pub queues: usize,
}

/// Delays of all that still arrives without `losses`, beside those with everything there.
/// O(devices + cables + hops of all streams), and the calculation of what lies behind a change.
pub fn whatif_delays(analysis: &Analysis, losses: &[Loss]) -> DelaysAfter {
    let (plan, wiring, fabric) = (&analysis.plan, &analysis.wiring, &analysis.fabric);
    let forwarding = forward_without(plan, wiring, fabric, &removed(analysis, losses));
    let leaders = Leading::new(plan, wiring, fabric, &forwarding).nodes();
    let system = System { plan, fabric, forwarding: &forwarding, leaders: &leaders };
    let delays = analysis.delays.with_changes(&system, &Assumptions::default());
    let before = longest(&analysis.forwarding, &analysis.delays);
    let after = longest(&forwarding, &delays);
    let change = |(place, after): (&Place, &Option<Time>)| {
        let before = *before.get(place)?;
        (before != *after).then(|| line(analysis, *place, (before, *after)))?
    };
    let mut changed: Vec<DelayChange> = after.iter().filter_map(change).collect();
    changed.sort_by_key(|change| std::cmp::Reverse(change.after_ns.unwrap_or(u64::MAX)));
    DelaysAfter { arriving: after.len(), changed, queues: delays.analysis().visited() }
}

/// Stream, receiver and network.
type Place = (u32, u32, u16);

/// The longest delay of every arrival, all packet streams of a stream together; none if one has no bound.
fn longest(forwarding: &Forwarding, delays: &Delays) -> BTreeMap<Place, Option<Time>> {
    let mut longest = BTreeMap::new();
    for (at, flow) in forwarding.flows.iter().enumerate() {
        let stream = forwarding.packets.all[flow.packet_stream as usize].stream;
        for delivery in &flow.deliveries {
            let delay = delays.bound(at, delivery.hop).ok().map(|bound| bound.worst);
            let known = longest.entry((stream, delivery.receiver, flow.network.0)).or_insert(delay);
            *known = known.zip(delay).map(|(known, delay)| known.max(delay));
        }
    }
    longest
}

fn line(analysis: &Analysis, (stream, receiver, network): Place, (before, after): (Option<Time>, Option<Time>)) -> Option<DelayChange> {
    let (id, stream) = analysis.plan.streams.get_index(stream as usize)?;
    Some(DelayChange {
        stream: id.into(),
        to: stream.to.get(receiver as usize)?.into(),
        network: (&analysis.fabric.networks[network as usize]).into(),
        before_ns: before.map(Time::nanoseconds_up),
        after_ns: after.map(Time::nanoseconds_up),
        allowed_ns: stream.network_delay.unwrap_or(analysis.plan.targets.network_delay).nanoseconds_up(),
    })
}

/// What the losses and all that goes with them take from the fabric.
fn removed(analysis: &Analysis, losses: &[Loss]) -> Removed {
    let fabric = &analysis.fabric;
    let at = |ids: &[Id], id: &Id| ids.iter().position(|known| known == id).map(|at| at as u32);
    let gone = analysis.survival.whatif(losses).gone_too;
    losses.iter().map(Loss::item).chain(gone).fold(Removed::default(), |removed, item| match &item {
        Item::Device(id) => match at(&fabric.devices, id) {
            Some(device) => removed.with_dead_device(fabric, DeviceIx(device)),
            None => removed,
        },
        Item::Switch(id) => match at(&fabric.switches, id) {
            Some(switch) => removed.with_dead_switch(fabric, SwitchIx(switch)),
            None => removed,
        },
        Item::Cable(id) => match fabric.cables.iter().position(|cable| cable.id == *id) {
            Some(cable) => removed.with_cable(CableIx(cable as u32)),
            None => removed,
        },
        _ => removed,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Trial;

    fn without(trial: &Trial, items: &[&str]) -> DelaysAfter {
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        let item = |item: &&str| crate::resolve_item(&trial.plan, &trial.wiring, item).expect("a known item");
        let losses: Vec<Loss> = items.iter().map(item).map(Loss::from).collect();
        whatif_delays(&analysis, &losses)
    }

    /// The same from scratch: the wiring without the cable, proved as a plan of its own.
    #[test]
    fn a_cable_away_gives_the_delays_of_a_wiring_that_never_had_it() {
        let mut trial = Trial::good();
        trial.stream("more", "box-1", &["desk"], 64).chain("sw-a/3", 3).stream("end", "c3", &["desk"], 16);
        let whole = without(&trial, &[]);
        assert!(whole.changed.is_empty() && whole.queues == 0, "{whole:?}");
        let after = without(&trial, &["A-001"]);
        assert!(after.arriving < whole.arriving);
        let mut other = trial.clone();
        other.wiring.cables.retain(|cable, _| cable.as_str() != "A-001");
        let [before, never] = [&trial, &other].map(|trial| Analysis::new(&trial.plan, &trial.wiring));
        let [before, never] = [before, never].map(|analysis| longest(&analysis.forwarding, &analysis.delays));
        let expected = never.iter().filter(|(place, delay)| before[*place] != **delay).count();
        assert!(expected > 0);
        assert_eq!((after.arriving, after.changed.len()), (never.len(), expected));
    }
}
