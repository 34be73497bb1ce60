//! Random networks with everything in them: trees and rings, several classes, mixed speeds, tags, jitter, latencies,
//! clock bundles, overload, queues that promise nothing.

use loomwright_delay::network::NONE;
use loomwright_delay::{Bundle, HopSpec, Network, PortSpec, StreamSpec};
use loomwright_model::{LatencyRange, Time};

/// Numbers that look random and are the same every time.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, sides: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 24) % sides.max(1)
    }

    pub fn pick(&mut self, values: &[u64]) -> u64 {
        values[self.below(values.len() as u64) as usize]
    }
}

/// Boxes in a tree; port `2 b` leads from box `b` to its parent, `2 b + 1` back. A ring has links between
/// the last box and box 0 as well.
struct Boxes {
    parent: Vec<usize>,
    is_ring: bool,
    /// Picoseconds per bit of each box's link to its parent.
    bit: Vec<u64>,
    inside: Vec<LatencyRange>,
    /// Extra bits of a frame on that link: a tag.
    extra: Vec<u64>,
}

impl Boxes {
    fn random(dice: &mut Dice) -> Self {
        let count = 3 + dice.below(10) as usize;
        let is_ring = dice.below(6) == 0;
        let is_even = dice.below(3) == 0;
        let range = |dice: &mut Dice| {
            let least = dice.below(3_000_000);
            LatencyRange { least: Time::from_picoseconds(least), most: Time::from_picoseconds(least + dice.pick(&[0, 0, 4_000_000])) }
        };
        Self {
            parent: (0..count).map(|at| if is_ring { (at + count - 1) % count } else { dice.below(at as u64) as usize }).collect(),
            is_ring,
            bit: (0..count).map(|_| if is_even { 1_000 } else { dice.pick(&[100, 1_000, 1_000, 10_000]) }).collect(),
            inside: (0..count).map(|_| range(dice)).collect(),
            extra: (0..count).map(|_| dice.pick(&[0, 0, 32])).collect(),
        }
    }

    /// Ports from one box to another.
    fn way(&self, mut from: usize, mut to: usize) -> Vec<usize> {
        let (mut up, mut down) = (Vec::new(), Vec::new());
        while from != to {
            if self.is_ring || from > to {
                up.push(2 * from);
                from = self.parent[from];
            } else {
                down.push(2 * to + 1);
                to = self.parent[to];
            }
        }
        up.extend(down.into_iter().rev());
        up
    }

    /// The box that frames leaving by `port` come from.
    fn sender(&self, port: usize) -> usize {
        if port.is_multiple_of(2) { port / 2 } else { self.parent[port / 2] }
    }
}

/// One random network.
pub fn random_network(dice: &mut Dice) -> Network {
    let boxes = Boxes::random(dice);
    let blocker = dice.pick(&[0, 12_336]);
    let has_storm = dice.below(12) == 0;
    let ports = (0..2 * boxes.parent.len()).map(|port| PortSpec {
        blocking: Time::from_picoseconds(blocker * boxes.bit[port / 2]),
        propagation: Time::from_picoseconds(dice.below(600_000)),
        is_unbounded: has_storm && dice.below(9) == 0,
    });
    let mut network = Network { ports: ports.collect(), ..Network::default() };
    let classes = 1 + dice.below(3);
    let is_calm = dice.below(2) == 0;
    for _ in 0..1 + dice.below(24) {
        let (bits, period) = (8 * dice.pick(&[84, 110, 222, 366, 654, 1_230]), dice.pick(&[125, 250, 333, 1_000, 1_000]));
        let jitter = if is_calm { 0 } else { dice.pick(&[0, 0, 0, 20, 300, 1_700]) };
        let hops = hops(dice, &boxes, bits);
        if !hops.is_empty() {
            let (period, jitter) = (Time::from_microseconds(period), Time::from_microseconds(jitter));
            network.streams.push(StreamSpec { class: dice.below(classes) as u8, period, jitter, hops });
        }
    }
    if dice.below(2) == 0 {
        add_bundles(dice, &boxes, &mut network);
    }
    network
}

fn hops(dice: &mut Dice, boxes: &Boxes, bits: u64) -> Vec<HopSpec> {
    let count = boxes.parent.len() as u64;
    let from = dice.below(count) as usize;
    let mut hops: Vec<HopSpec> = Vec::new();
    for _ in 0..1 + dice.below(3) {
        let mut parent = NONE;
        for port in boxes.way(from, dice.below(count) as usize) {
            let known = hops.iter().position(|hop| hop.port as usize == port);
            let at_once = LatencyRange { least: Time::ZERO, most: Time::ZERO };
            let forward = if parent == NONE { at_once } else { boxes.inside[boxes.sender(port)] };
            let send = Time::from_picoseconds((bits + boxes.extra[port / 2]) * boxes.bit[port / 2]);
            parent = known.unwrap_or_else(|| {
                hops.push(HopSpec { port: port as u32, parent, send, forward });
                hops.len() - 1
            }) as u32;
        }
    }
    hops
}

/// Messages from some of the neighbours of each queue, and from its own box.
fn add_bundles(dice: &mut Dice, boxes: &Boxes, network: &mut Network) {
    let class = dice.pick(&[0, 3, 3, 3]) as u8;
    let ports = 2 * boxes.parent.len();
    for port in 0..ports {
        let feeders = (0..ports).filter(|feeder| boxes.sender(*feeder) != boxes.sender(port) && dice.below(4) == 0);
        let feeders: Vec<u32> = feeders.map(|feeder| feeder as u32).chain([NONE]).collect();
        for feeder in feeders {
            let on = |port: usize| Time::from_picoseconds(880 * boxes.bit[port / 2]);
            network.bundles.push(Bundle {
                port: port as u32,
                feeder,
                class,
                kind: 0,
                before: 0,
                count: 1 + dice.below(5) as u32,
                send: on(port),
                feeder_send: if feeder == NONE { on(port) } else { on(feeder as usize) },
                period: Time::from_milliseconds(125),
                jitter: Time::from_milliseconds(dice.pick(&[0, 10])),
            });
        }
    }
}
