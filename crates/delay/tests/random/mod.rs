//! Random networks, once for the calculation and once for the simulator.

pub mod tree;

use loomwright_delay::network::NONE;
use loomwright_delay::{HopSpec, Network, PortSpec, StreamSpec};
use loomwright_model::{LatencyRange, Time};
use loomwright_simulator::{Hop, Net, Queue, Train};
pub use tree::Dice;
use tree::Tree;

/// The same system twice.
pub struct Pair {
    pub network: Network,
    pub net: Net,
}

pub fn random_pair(dice: &mut Dice) -> Pair {
    let speeds: &[u64] = if dice.below(3) == 0 { &[1_000] } else { &[100, 1_000, 1_000, 10_000] };
    let tree = Tree::random(dice, speeds);
    let boxes = tree.boxes();
    let inside: Vec<u64> = (0..boxes).map(|_| dice.below(5_000)).collect();
    let blocker = dice.pick(&[0, 12_336]);
    let mut pair = Pair { network: Network::default(), net: Net::default() };
    for port in 0..2 * boxes {
        let bit = tree.bit[port / 2];
        let blocking = Time::from_picoseconds(blocker * bit);
        pair.network.ports.push(PortSpec { blocking, ..PortSpec::default() });
        pair.net.queues.push(Queue { propagation: 0, blocker: blocker * bit });
    }
    for _ in 0..1 + dice.below(20) {
        add_stream(dice, (&tree, &inside), &mut pair);
    }
    pair
}

fn add_stream(dice: &mut Dice, (tree, inside): (&Tree, &[u64]), pair: &mut Pair) {
    let boxes = tree.boxes() as u64;
    let from = dice.below(boxes) as usize;
    let bits = 8 * dice.pick(&[110, 222, 366, 654, 1_230, 1_230]);
    let mut hops: Vec<HopSpec> = Vec::new();
    for _ in 0..1 + dice.below(3) {
        let mut parent = NONE;
        for port in tree.way(from, dice.below(boxes) as usize) {
            let known = hops.iter().position(|hop| hop.port as usize == port);
            let inside = Time::from_nanoseconds(if parent == NONE { 0 } else { inside[tree.sender(port)] });
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
