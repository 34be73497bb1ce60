//! From plan, fabric and paths to a [`Network`]: stream `i` is flow `i`, port `i` is direction `i`.

use crate::class::class_of;
use crate::clockwork::clock_bundles;
use crate::network::{HopSpec, NONE, Network, PortSpec, StreamSpec};
use loomwright_forwarding::packets::{LARGEST_WIRE, TAG};
use loomwright_forwarding::{Direction, Fabric, Flow, Forwarding, NodeIx, PacketStream};
use loomwright_model::{BitRate, ByteCount, LatencyRange, Plan, Time};
use std::collections::BTreeSet;

/// What is assumed about everything that the plan does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Assumptions {
    /// The largest frame of traffic that is no planned stream, on the wire; zero if there is none. One
    /// can stand in front of everything at every queue.
    pub other_frame: ByteCount,
    /// Whether every audio device sends clock messages to all others.
    pub has_clock_messages: bool,
    /// How much later than nominal a sender may release a packet into its own queue, at least; a gear type that
    /// says more counts more.
    pub release_jitter: Time,
}

impl Default for Assumptions {
    /// A full tagged frame everywhere, as discovery and control traffic reach every port; clock
    /// messages of every device; senders that release on time.
    fn default() -> Self {
        Self { other_frame: ByteCount::from_bytes(LARGEST_WIRE), has_clock_messages: true, release_jitter: Time::ZERO }
    }
}

/// What is worked out from.
#[derive(Clone, Copy)]
pub struct System<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its fabric.
    pub fabric: &'a Fabric,
    /// Where everything goes.
    pub forwarding: &'a Forwarding,
    /// Nodes of the devices that lead the clock. Where none is known, a tree is taken to have none: requests, but no answers.
    pub leaders: &'a [NodeIx],
}

/// Time of `wire` bytes on a link; the fabric leaves out cables without speed.
pub(crate) fn send_time(wire: ByteCount, speed: BitRate) -> Time {
    Time::to_send(wire, speed).unwrap_or(Time::MAX)
}

impl System<'_> {
    /// Queues and streams of the whole system.
    pub fn network(&self, assumptions: &Assumptions) -> Network {
        let (fabric, forwarding) = (self.fabric, self.forwarding);
        let stormy = self.stormy();
        let ports = (0..fabric.cables.len() * 2).map(|direction| {
            let cable = &fabric.cables[direction / 2];
            PortSpec {
                blocking: send_time(assumptions.other_frame, cable.speed),
                propagation: cable.propagation,
                is_unbounded: stormy[direction / 2],
            }
        });
        let streams = forwarding.flows.iter().map(|flow| self.stream(flow, assumptions));
        let bundles = if assumptions.has_clock_messages { clock_bundles(self) } else { Vec::new() };
        Network { ports: ports.collect(), streams: streams.collect(), bundles }
    }

    /// The packet stream of a flow.
    pub(crate) fn packets(&self, flow: &Flow) -> &PacketStream {
        &self.forwarding.packets.all[flow.packet_stream as usize]
    }

    fn stream(&self, flow: &Flow, assumptions: &Assumptions) -> StreamSpec {
        let packets = self.packets(flow);
        let class = class_of(self.plan.streams[packets.stream as usize].format.media_dscp, self.plan);
        let hops = flow.hops.iter().map(|hop| HopSpec {
            port: hop.direction.0,
            parent: hop.parent,
            send: self.frame_time(packets, hop.direction),
            forward: flow.hops.get(hop.parent as usize).map_or(AT_ONCE, |before| self.box_after(before.direction)),
        });
        let jitter = assumptions.release_jitter.max(self.release_jitter(packets));
        StreamSpec { class, period: packets.period, jitter, hops: hops.collect() }
    }

    /// What the gear of the sender says; nothing where it says nothing.
    fn release_jitter(&self, packets: &PacketStream) -> Time {
        let stream = self.plan.streams.get_index(packets.stream as usize);
        let sender = stream.and_then(|(_, stream)| self.plan.devices.get(&stream.from));
        sender.and_then(|device| self.plan.gear_of(device)?.release_jitter).unwrap_or(Time::ZERO)
    }

    /// Time of one of its frames on a cable.
    pub(crate) fn frame_time(&self, packets: &PacketStream, direction: Direction) -> Time {
        let cable = &self.fabric.cables[direction.cable().0 as usize];
        let tag = ByteCount::from_bytes(if cable.is_tagged() { TAG } else { 0 });
        send_time(packets.wire + tag, cable.speed)
    }

    /// Latency of the box at the far end; all networks of a switch share one.
    fn box_after(&self, direction: Direction) -> LatencyRange {
        let link = &self.fabric.links[self.fabric.links_of(direction.cable()).start];
        self.fabric.latency[link.nodes[1 - direction.from_end()].0 as usize]
    }

    /// For each cable: whether frames that circle reach it.
    fn stormy(&self) -> Vec<bool> {
        let (fabric, forwarding) = (self.fabric, self.forwarding);
        let domain = |link: usize| forwarding.domain[fabric.links[link].nodes[0].0 as usize];
        let looping = forwarding.storms.iter().flat_map(|storm| &storm.cables).flat_map(|cable| fabric.links_of(*cable));
        let domains: BTreeSet<u32> = looping.filter(|link| forwarding.passes[*link]).map(domain).collect();
        let mut stormy = vec![false; fabric.cables.len()];
        for (link, passes) in forwarding.passes.iter().enumerate() {
            if *passes && domains.contains(&domain(link)) {
                stormy[fabric.links[link].cable.0 as usize] = true;
            }
        }
        stormy
    }
}

const AT_ONCE: LatencyRange = LatencyRange { least: Time::ZERO, most: Time::ZERO };
const _: () = assert!(NONE == loomwright_forwarding::flow::NO_PARENT);
