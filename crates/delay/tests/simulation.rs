//! No packet of a small packet-by-packet simulation may be later than its bound, or sooner than its least
//! delay. The simulation shares nothing with the calculation, and has what the simulator of its own crate leaves out: boxes with
//! a range of latency, release jitter, ties decided by chance, lower frames of any rest length.

#[path = "random/tree.rs"]
mod tree;

use loomwright_delay::network::NONE;
use loomwright_delay::{HopSpec, Network, PortSpec, StreamSpec, analyse};
use loomwright_model::{LatencyRange, Time};
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};
use tree::{Dice, Tree};

/// Latency of each box, and extra bits of a frame (a tag) on the link of each box to its parent.
struct Boxes {
    tree: Tree,
    latency: Vec<LatencyRange>,
    extra: Vec<u64>,
}

impl Boxes {
    fn random(dice: &mut Dice) -> Self {
        let tree = Tree::random(dice, &[100, 1_000, 1_000, 10_000]);
        let range = |dice: &mut Dice| {
            let least = dice.below(3_000_000);
            LatencyRange { least: Time::from_picoseconds(least), most: Time::from_picoseconds(least + dice.pick(&[0, 0, 4_000_000])) }
        };
        let latency = (0..tree.boxes()).map(|_| range(dice)).collect();
        let extra = (0..tree.boxes()).map(|_| dice.pick(&[0, 0, 32])).collect();
        Self { tree, latency, extra }
    }
}

fn random_network(dice: &mut Dice) -> Network {
    let Boxes { tree, latency, extra } = Boxes::random(dice);
    let boxes = tree.boxes();
    let has_other_traffic = dice.below(2) == 0;
    let ports = (0..2 * boxes).map(|port| PortSpec {
        blocking: Time::from_picoseconds(if has_other_traffic { 12_336 * tree.bit[port / 2] } else { 0 }),
        propagation: Time::from_picoseconds(dice.below(600_000)),
        is_unbounded: false,
    });
    let mut network = Network { ports: ports.collect(), ..Network::default() };
    let classes = 1 + dice.below(3);
    for _ in 0..1 + dice.below(14) {
        let from = dice.below(boxes as u64) as usize;
        let bits = 8 * dice.pick(&[84, 110, 222, 366, 654, 1_230]);
        let mut hops: Vec<HopSpec> = Vec::new();
        for _ in 0..1 + dice.below(3) {
            let mut parent = NONE;
            for port in tree.way(from, dice.below(boxes as u64) as usize) {
                let known = hops.iter().position(|hop| hop.port as usize == port);
                let wait = LatencyRange { least: Time::ZERO, most: Time::ZERO };
                let forward = if parent == NONE { wait } else { latency[tree.sender(port)] };
                let send = Time::from_picoseconds((bits + extra[port / 2]) * tree.bit[port / 2]);
                parent = known.unwrap_or_else(|| {
                    hops.push(HopSpec { port: port as u32, parent, send, forward });
                    hops.len() - 1
                }) as u32;
            }
        }
        if !hops.is_empty() {
            let period = Time::from_microseconds(dice.pick(&[125, 250, 333, 1_000, 1_000]));
            let jitter = Time::from_microseconds(dice.pick(&[0, 0, 0, 20, 300]));
            network.streams.push(StreamSpec { class: dice.below(classes) as u8, period, jitter, hops });
        }
    }
    network
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Packet {
    stream: usize,
    hop: usize,
    released: u64,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// The link is free again.
    Free(usize),
    /// A packet reaches the queue of its hop.
    Arrival(Packet),
}

/// A queue of one class per vector.
#[derive(Default)]
struct Queue {
    waiting: [VecDeque<Packet>; 3],
    is_busy: bool,
}

struct Simulation<'a> {
    network: &'a Network,
    events: BinaryHeap<Reverse<(u64, u64, Event)>>,
    queues: Vec<Queue>,
    /// Least and most seen delay, by stream and hop.
    seen: Vec<Vec<(u64, u64)>>,
    dice: Dice,
    /// When the last packet of each link came to a queue in the box behind it.
    last: Vec<u64>,
    /// Whether a lower frame always stands in the way of a busy spell, and for as long as can be.
    is_hostile: bool,
}

impl Simulation<'_> {
    fn post(&mut self, time: u64, event: Event) {
        let order = self.dice.below(1 << 30);
        self.events.push(Reverse((time, order, event)));
    }

    fn run(&mut self) {
        while let Some(Reverse((now, _, event))) = self.events.pop() {
            match event {
                Event::Free(port) => {
                    self.queues[port].is_busy = false;
                    self.serve(port, now);
                }
                Event::Arrival(packet) => self.arrive(packet, now),
            }
        }
    }

    fn arrive(&mut self, packet: Packet, now: u64) {
        let spec = &self.network.streams[packet.stream];
        let port = spec.hops[packet.hop].port as usize;
        let is_idle = !self.queues[port].is_busy;
        self.queues[port].waiting[usize::from(spec.class)].push_back(packet);
        if is_idle {
            let blocking = self.network.ports[port].blocking.picoseconds();
            let rest = if self.is_hostile { blocking } else { self.dice.below(blocking + 1) * self.dice.below(2) };
            if rest > 0 {
                self.queues[port].is_busy = true;
                self.post(now + rest, Event::Free(port));
            } else {
                self.serve(port, now);
            }
        }
    }

    fn serve(&mut self, port: usize, now: u64) {
        if self.queues[port].is_busy {
            return;
        }
        let Some(packet) = self.queues[port].waiting.iter_mut().rev().find_map(VecDeque::pop_front) else { return };
        let network = self.network;
        let hops = &network.streams[packet.stream].hops;
        let done = now + hops[packet.hop].send.picoseconds();
        self.queues[port].is_busy = true;
        self.post(done, Event::Free(port));
        let there = done + network.ports[port].propagation.picoseconds();
        let delay = there - packet.released;
        let (least, most) = &mut self.seen[packet.stream][packet.hop];
        (*least, *most) = ((*least).min(delay), (*most).max(delay));
        let before = self.last[port];
        for (next, hop) in hops.iter().enumerate().filter(|(_, hop)| hop.parent as usize == packet.hop) {
            let (least, most) = (hop.forward.least.picoseconds(), hop.forward.most.picoseconds());
            // A box keeps in order what comes in by one port.
            let inside = if packet.stream.is_multiple_of(2) { most } else { least };
            let arrival = (there + inside).max(before + 1);
            self.last[port] = self.last[port].max(arrival);
            self.post(arrival, Event::Arrival(Packet { hop: next, ..packet }));
        }
    }
}

/// A run, in picoseconds.
const LENGTH: u64 = 4_000_000_000;

/// Least and most delay seen in a run with random or aligned releases.
fn simulate(network: &Network, dice: &mut Dice) -> Vec<Vec<(u64, u64)>> {
    let is_hostile = dice.below(2) == 0;
    let is_aligned = dice.below(2) == 0;
    let seen = network.streams.iter().map(|stream| vec![(u64::MAX, 0); stream.hops.len()]).collect();
    let queues = network.ports.iter().map(|_| Queue::default()).collect();
    let mut simulation = Simulation {
        network,
        events: BinaryHeap::new(),
        queues,
        seen,
        dice: Dice(dice.below(1 << 40)),
        last: vec![0; network.ports.len()],
        is_hostile,
    };
    for (stream, spec) in network.streams.iter().enumerate() {
        let period = spec.period.picoseconds();
        let phase = if is_aligned { dice.pick(&[0, 0, 0, 12_000_000]) } else { dice.below(period.min(LENGTH)) };
        for turn in 0..(LENGTH / period).max(1) {
            let late = if dice.below(4) == 0 { spec.jitter.picoseconds() } else { dice.below(spec.jitter.picoseconds() + 1) };
            let released = phase + turn * period + late;
            for hop in (0..spec.hops.len()).filter(|hop| spec.hops[*hop].parent == NONE) {
                simulation.post(released, Event::Arrival(Packet { stream, hop, released }));
            }
        }
    }
    simulation.run();
    simulation.seen
}

#[test]
fn no_simulated_packet_breaks_its_bound() {
    let mut dice = Dice(20_261_125);
    let (mut compared, mut unbounded, mut closest) = (0u32, 0u32, 0.0f64);
    for round in 0..2_000 {
        let mut network = random_network(&mut dice);
        if round % 2 == 0 {
            // Higher classes that come rarely overtake a packet once.
            let rare = Time::from_milliseconds(20);
            network.streams.iter_mut().filter(|stream| stream.class > 0).for_each(|stream| stream.period = rare);
        }
        let analysis = analyse(network.clone());
        for run in 0..4 {
            for (stream, hops) in simulate(&network, &mut dice).into_iter().enumerate() {
                for (hop, (least, most)) in hops.into_iter().enumerate() {
                    let Ok(bound) = analysis.bound(stream, hop) else {
                        unbounded += 1;
                        continue;
                    };
                    let (low, high) = (bound.least.picoseconds(), bound.worst.picoseconds());
                    assert!(most <= high, "round {round}.{run}: stream {stream} hop {hop} took {most}, bound {high}");
                    assert!(bound.reached <= bound.worst, "round {round}: stream {stream} hop {hop}: {bound:?}");
                    assert!(least >= low, "round {round}.{run}: stream {stream} hop {hop} took {least}, least {low}");
                    closest = closest.max(most as f64 / high as f64);
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 20_000 && unbounded > 50, "{compared} compared, {unbounded} without bound");
    assert!(closest > 0.999, "some packet should come close to its bound: {closest}");
}

/// Three queues in a ring, every stream passing two: each queue's delay depends on the one before.
fn ring(share: u64) -> Network {
    let period = Time::from_microseconds(1_000);
    let send = Time::from_picoseconds(1_000_000_000 * share / 200);
    let at_once = LatencyRange { least: Time::ZERO, most: Time::ZERO };
    let hop = |port: usize, parent: u32| HopSpec { port: port as u32, parent, send, forward: at_once };
    let streams = (0..3).map(|at| StreamSpec { class: 1, period, jitter: Time::ZERO, hops: vec![hop(at, NONE), hop((at + 1) % 3, 0)] });
    Network { ports: vec![PortSpec::default(); 3], streams: streams.collect(), bundles: Vec::new() }
}

#[test]
fn queues_in_a_circle_settle_or_give_no_bound() {
    let mut dice = Dice(3);
    for share in [20, 60, 90] {
        let network = ring(share);
        let analysis = analyse(network.clone());
        for _ in 0..50 {
            for (stream, hops) in simulate(&network, &mut dice).into_iter().enumerate() {
                let bound = analysis.bound(stream, 1).expect("the fixed point is small").worst.picoseconds();
                assert!(hops[1].1 <= bound, "{share} %: {} of {bound}", hops[1].1);
            }
        }
    }
    assert!(analyse(ring(101)).bound(0, 1).is_err());
}
