//! Random networks, once for the calculation and once for the simulator.

use loomwright_delay::network::NONE;
use loomwright_delay::{HopSpec, Network, PortSpec, StreamSpec};
use loomwright_model::{LatencyRange, Time};
use loomwright_simulator::{Hop, Net, Queue, Train};

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

/// The same system twice.
pub struct Pair {
    pub network: Network,
    pub net: Net,
}

/// Boxes in a tree; port `2 b` leads from box `b` to its parent, `2 b + 1` back.
struct Tree {
    parent: Vec<usize>,
    /// Picoseconds per bit of each box's link to its parent, and nanoseconds inside each box.
    bit: Vec<u64>,
    inside: Vec<u64>,
}

impl Tree {
    fn way(&self, mut from: usize, mut to: usize) -> Vec<usize> {
        let (mut up, mut down) = (Vec::new(), Vec::new());
        while from != to {
            if from > to {
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

    fn sender(&self, port: usize) -> usize {
        if port.is_multiple_of(2) { port / 2 } else { self.parent[port / 2] }
    }
}

pub fn random_pair(dice: &mut Dice) -> Pair {
    let boxes = 3 + dice.below(9) as usize;
    let is_even = dice.below(3) == 0;
    let tree = Tree {
        parent: (0..boxes).map(|at| dice.below(at as u64) as usize).collect(),
        bit: (0..boxes).map(|_| if is_even { 1_000 } else { dice.pick(&[100, 1_000, 1_000, 10_000]) }).collect(),
        inside: (0..boxes).map(|_| dice.below(5_000)).collect(),
    };
    let blocker = dice.pick(&[0, 12_336]);
    let mut pair = Pair { network: Network::default(), net: Net::default() };
    for port in 0..2 * boxes {
        let bit = tree.bit[port / 2];
        let blocking = Time::from_picoseconds(blocker * bit);
        pair.network.ports.push(PortSpec { blocking, ..PortSpec::default() });
        pair.net.queues.push(Queue { propagation: 0, blocker: blocker * bit });
    }
    for _ in 0..1 + dice.below(20) {
        add_stream(dice, &tree, &mut pair);
    }
    pair
}

fn add_stream(dice: &mut Dice, tree: &Tree, pair: &mut Pair) {
    let boxes = tree.parent.len() as u64;
    let from = dice.below(boxes) as usize;
    let bits = 8 * dice.pick(&[110, 222, 366, 654, 1_230, 1_230]);
    let mut hops: Vec<HopSpec> = Vec::new();
    for _ in 0..1 + dice.below(3) {
        let mut parent = NONE;
        for port in tree.way(from, dice.below(boxes) as usize) {
            let known = hops.iter().position(|hop| hop.port as usize == port);
            let inside = Time::from_nanoseconds(if parent == NONE { 0 } else { tree.inside[tree.sender(port)] });
            parent = known.unwrap_or_else(|| {
                let send = Time::from_picoseconds(bits * tree.bit[port / 2]);
                hops.push(HopSpec { port: port as u32, parent, send, forward: LatencyRange { least: inside, most: inside } });
                hops.len() - 1
            }) as u32;
        }
    }
    if hops.is_empty() {
        return;
    }
    let period = Time::from_microseconds(dice.pick(&[125, 250, 1_000, 1_000, 1_000]));
    let same = |hop: &HopSpec| Hop {
        queue: hop.port,
        parent: (hop.parent != NONE).then_some(hop.parent),
        send: hop.send.picoseconds(),
        before: hop.forward.most.picoseconds(),
    };
    pair.net.trains.push(Train { period: period.picoseconds(), class: 0, hops: hops.iter().map(same).collect() });
    pair.network.streams.push(StreamSpec { class: 0, period, jitter: Time::ZERO, hops });
}
