//! How much the streams put on a trunk that joins some devices to the rest.

use crate::demand;
use crate::draft::Draft;
use loomwright_forwarding::PacketStreams;
use loomwright_model::plan::{Legs, Mode};
use loomwright_model::{BitRate, Id, Stream};
use std::collections::BTreeSet;

/// One stream on one network.
struct Leg {
    network: Id,
    sender: usize,
    receivers: Vec<usize>,
    rate: u64,
    multicast: bool,
}

/// All streams on all networks.
pub(crate) struct Loads {
    legs: Vec<Leg>,
}

/// The audio networks that each device of the plan is wired to, devices in plan order.
pub(crate) fn device_networks(draft: &Draft) -> Vec<BTreeSet<Id>> {
    let of = |(id, device)| {
        let Some(gear) = draft.plan.gear_of(device) else { return BTreeSet::new() };
        let pairing = draft.done.wiring.pairing_of(id, device, gear);
        demand::audio_legs(draft.plan, device, gear, pairing).into_iter().map(|(_, network)| network).collect()
    };
    draft.plan.devices.iter().map(of).collect()
}

/// The networks that carry `stream`, each with the receivers that hear it there.
pub(crate) fn stream_networks(draft: &Draft, networks: &[BTreeSet<Id>], stream: &Stream) -> Vec<(Id, Vec<usize>)> {
    let index = |device: &Id| draft.plan.devices.get_index_of(device);
    let wanted = |network: &Id| match &stream.legs {
        Legs::Both => true,
        Legs::Only(only) => only.contains(network),
    };
    let Some(sender) = index(&stream.from) else { return Vec::new() };
    let carried = networks[sender].iter().filter(|network| wanted(network)).map(|network| {
        let hears = |device: &usize| networks[*device].contains(network);
        (network.clone(), stream.to.iter().filter_map(index).filter(hears).collect::<Vec<_>>())
    });
    carried.filter(|(_, receivers)| !receivers.is_empty()).collect()
}

impl Loads {
    /// Every stream on every network that carries it.
    pub fn new(draft: &Draft) -> Self {
        let packets = PacketStreams::new(draft.plan);
        let mut rates = vec![0u64; draft.plan.streams.len()];
        for packet in &packets.all {
            let bits = u128::from(packet.wire.bytes()) * 8 * 1_000_000_000_000;
            let rate = bits.checked_div(u128::from(packet.period.picoseconds())).unwrap_or(0);
            if let Some(sum) = rates.get_mut(packet.stream as usize) {
                *sum = sum.saturating_add(u64::try_from(rate).unwrap_or(u64::MAX));
            }
        }
        let networks = device_networks(draft);
        let mut legs = Vec::new();
        for (stream, rate) in draft.plan.streams.values().zip(rates) {
            let Some(sender) = draft.plan.devices.get_index_of(&stream.from) else { continue };
            let multicast = stream.mode == Mode::Multicast;
            let carried = stream_networks(draft, &networks, stream);
            legs.extend(carried.into_iter().map(|(network, receivers)| Leg { network, sender, receivers, rate, multicast }));
        }
        Self { legs }
    }

    /// The greater of the two directions of a trunk between the devices `inside` and the rest. The querier sits at
    /// the core, so every multicast stream that begins inside goes out, wanted or not (RFC 4541 section 2.1.2).
    pub fn trunk(&self, network: &Id, inside: &dyn Fn(usize) -> bool) -> BitRate {
        let (mut out, mut back) = (0u64, 0u64);
        for leg in self.legs.iter().filter(|leg| leg.network == *network) {
            let within = leg.receivers.iter().filter(|device| inside(**device)).count() as u64;
            let beyond = leg.receivers.len() as u64 - within;
            if inside(leg.sender) {
                let copies = if leg.multicast { 1 } else { beyond };
                out = out.saturating_add(leg.rate.saturating_mul(copies));
            } else {
                let copies = if leg.multicast { within.min(1) } else { within };
                back = back.saturating_add(leg.rate.saturating_mul(copies));
            }
        }
        BitRate::from_bits_per_second(out.max(back))
    }
}
