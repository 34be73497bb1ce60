//! Prints how many packet-hops (a packet sent at one hop) are played in a second: queue by queue, and one event after the other.
//!
//! Every train sends a packet each millisecond from a random phase; no lower-priority frames. Networks: a star of 8 senders
//! and a chain of 20 devices at 1 Gb/s; two-level trees of 1,000 to 50,000 streams, 25 from every device, 24 devices at 1 Gb/s on every
//! edge switch, trunks of 10 Gb/s to one core, packets of 370 to 1,234 bytes. Best of several runs, compiling the net included.
//! Run: `cargo bench -p loomwright-simulator --bench speed`.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

use loomwright_simulator::{Hop, Net, Player, Queue, Release, Train, play_events};
use oorandom::Rand64;
use std::time::Instant;

const MILLISECOND: u64 = 1_000_000_000;
/// Picoseconds per byte.
const GIGABIT: u64 = 8_000;
const TEN_GIGABIT: u64 = 800;

fn train(bytes: u64, way: &[(usize, u64)]) -> Train {
    let hop = |(at, (queue, byte)): (usize, &(usize, u64))| Hop {
        queue: *queue as u32,
        parent: at.checked_sub(1).map(|at| at as u32),
        send: bytes * byte,
        before: 1_000_000,
    };
    Train { period: MILLISECOND, class: 0, hops: way.iter().enumerate().map(hop).collect() }
}

fn star() -> Net {
    let trains = (0..8).map(|at| train(1_250, &[(at, GIGABIT), (8, GIGABIT)])).collect();
    Net { queues: vec![Queue::default(); 9], trains }
}

fn chain() -> Net {
    let way = |from: usize| (from..20).map(|queue| (queue, GIGABIT)).collect::<Vec<_>>();
    Net { queues: vec![Queue::default(); 20], trains: (0..20).map(|from| train(1_234, &way(from))).collect() }
}

/// Queues: two for each device (out of it, into it), then two for each edge switch (up, down).
fn tree(streams: usize) -> Net {
    let mut chance = Rand64::new(streams as u128);
    let devices = streams / 25;
    let edges = devices.div_ceil(24);
    let mut taken = vec![0; devices];
    let mut net = Net { queues: vec![Queue::default(); 2 * (devices + edges)], trains: Vec::new() };
    for at in 0..streams {
        let from = at % devices;
        let to = loop {
            let to = chance.rand_range(0..devices as u64) as usize;
            if to != from && taken[to] <= 50 {
                break to;
            }
        };
        taken[to] += 1;
        let mut way = vec![(2 * from, GIGABIT)];
        if from / 24 != to / 24 {
            way.extend([(2 * (devices + from / 24), TEN_GIGABIT), (2 * (devices + to / 24) + 1, TEN_GIGABIT)]);
        }
        way.push((2 * to + 1, GIGABIT));
        net.trains.push(train([370, 370, 370, 658, 1_234][chance.rand_range(0..5) as usize], &way));
    }
    net
}

/// Hops in a second and packet-hops of the best of `runs`.
fn best(runs: u32, mut play: impl FnMut() -> u64) -> (f64, u64) {
    let mut best = (0.0, 0);
    for _ in 0..runs {
        let start = Instant::now();
        let hops = play();
        let speed = hops as f64 / start.elapsed().as_secs_f64();
        if speed > best.0 {
            best = (speed, hops);
        }
    }
    best
}

fn print(name: &str, net: &Net, periods: u64) {
    let mut chance = Rand64::new(1);
    let phases: Vec<u64> = net.trains.iter().map(|train| chance.rand_range(0..train.period)).collect();
    let end = periods * MILLISECOND;
    let (quick, hops) = best(5, || {
        let mut player = Player::new(net);
        player.play_periodic(&phases, end, &[]);
        player.packet_hops()
    });
    let few = (periods / 10).max(2);
    let (obvious, _) = best(2, || {
        let at = |train: usize, turn: u64| Release { at: phases[train] + turn * MILLISECOND, train: train as u32 };
        let releases: Vec<Release> = (0..few).flat_map(|turn| (0..phases.len()).map(move |train| at(train, turn))).collect();
        play_events(net, (&releases, &[]), &[]).packet_hops
    });
    println!(
        "{name}: {hops} packet-hops, {:.2} M a second queue by queue, {:.2} M event by event, ratio {:.1}",
        quick / 1e6,
        obvious / 1e6,
        quick / obvious
    );
}

fn main() {
    print("star of 8", &star(), 200_000);
    print("chain of 20", &chain(), 20_000);
    for (streams, periods) in [(1_000, 1_000), (10_000, 100), (50_000, 20)] {
        print(&format!("tree of {streams}"), &tree(streams), periods);
    }
}
