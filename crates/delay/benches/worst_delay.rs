//! Prints how long the whole calculation takes, best of several runs, for 1,000, 10,000 and 50,000 streams, and how it grows;
//! then, of 10,000 streams, how long it takes after one cable is gone, taking over what that does not reach.
//!
//! Two-level tree: 25 unicast streams from every device, 24 devices on every edge switch at 1 Gb/s, one core,
//! trunks of 10 Gb/s, packets of 370 to 1,234 bytes every millisecond, one full lower frame in the way everywhere.
//! Run: `cargo bench -p loomwright-delay`; with `-- STREAMS RUNS` behind, only the whole calculation of so many, so often.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

use loomwright_delay::network::NONE;
use loomwright_delay::{HopSpec, Network, PortSpec, StreamSpec, analyse};
use loomwright_model::{LatencyRange, Time};
use std::time::{Duration, Instant};

const GIGABIT: u64 = 1_000;
const TEN_GIGABIT: u64 = 100;

struct Dice(u64);

impl Dice {
    fn below(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }
}

/// Ports: two for each device (out of it, into it), then two for each edge switch (up, down).
fn network(streams: usize) -> Network {
    let mut dice = Dice(streams as u64);
    let devices = (streams / 25).max(2);
    let edges = devices.div_ceil(24);
    let port = |bit: u64| PortSpec { blocking: Time::from_picoseconds(1_542 * 8 * bit), propagation: Time::ZERO, is_unbounded: false };
    let mut network = Network::default();
    network.ports.extend((0..2 * devices).map(|_| port(GIGABIT)));
    network.ports.extend((0..2 * edges).map(|_| port(TEN_GIGABIT)));
    let microsecond = Time::from_microseconds(1);
    let inside = LatencyRange { least: microsecond, most: microsecond };
    let mut taken = vec![0; devices];
    for at in 0..streams {
        let from = at % devices;
        let to = loop {
            let to = dice.below(devices);
            if to != from && taken[to] <= 50 {
                break to;
            }
        };
        taken[to] += 1;
        let (edge_from, edge_to) = (from / 24, to / 24);
        let mut way = vec![(2 * from, GIGABIT)];
        if edge_from != edge_to {
            way.extend([(2 * (devices + edge_from), TEN_GIGABIT), (2 * (devices + edge_to) + 1, TEN_GIGABIT)]);
        }
        way.push((2 * to + 1, GIGABIT));
        let bytes = [370u64, 370, 370, 658, 1_234][dice.below(5)];
        let hop = |(at, (port, bit)): (usize, &(usize, u64))| HopSpec {
            port: *port as u32,
            parent: at.checked_sub(1).map_or(NONE, |at| at as u32),
            send: Time::from_picoseconds(bytes * 8 * bit),
            forward: if at == 0 { LatencyRange { least: Time::ZERO, most: Time::ZERO } } else { inside },
        };
        let hops = way.iter().enumerate().map(hop).collect();
        network.streams.push(StreamSpec { class: 2, period: Time::from_milliseconds(1), jitter: Time::ZERO, hops });
    }
    network
}

/// Milliseconds that this thread has really run, so that other load on the machine does not count, from the kernel's
/// count. It is kept in ticks, so several calculations go into one figure. Linux only.
fn processor_time() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    text.split_whitespace().next().and_then(|run| run.parse::<f64>().ok()).unwrap_or(f64::NAN) / 1e6
}

/// Best time of one calculation on the wall and on the processor, in milliseconds, and the worst delay of all streams.
fn measure(network: &Network, (runs, at_once): (usize, usize)) -> (f64, f64, Time) {
    let (mut best, mut busy, mut worst) = (f64::MAX, f64::MAX, Time::ZERO);
    for _ in 0..runs {
        let given = vec![network.clone(); at_once];
        let mut done = Vec::with_capacity(at_once);
        // A sleep makes the kernel bring its count up to date.
        std::thread::sleep(Duration::from_micros(100));
        let before = processor_time();
        for network in given {
            let start = Instant::now();
            done.push(analyse(network));
            best = best.min(start.elapsed().as_secs_f64() * 1e3);
        }
        std::thread::sleep(Duration::from_micros(100));
        busy = busy.min((processor_time() - before) / at_once as f64);
        let bounds = (0..network.streams.len()).filter_map(|stream| done[0].bound(stream, network.streams[stream].hops.len() - 1).ok());
        worst = bounds.map(|bound| bound.worst).max().unwrap_or(Time::ZERO);
    }
    (best, busy, worst)
}

/// Slope of the straight line through the points by least squares: the exponent where they are logarithms.
fn slope(points: &[(f64, f64)]) -> f64 {
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / points.len() as f64;
    let (x, y) = (mean(|point| point.0), mean(|point| point.1));
    points.iter().map(|point| (point.0 - x) * (point.1 - y)).sum::<f64>() / points.iter().map(|point| (point.0 - x).powi(2)).sum::<f64>()
}

/// The network without what passed one cable.
fn unplugged(network: &Network, cable: u32) -> Network {
    let mut network = network.clone();
    for stream in network.streams.iter_mut().filter(|stream| stream.hops.iter().any(|hop| hop.port / 2 == cable)) {
        stream.hops.clear();
    }
    network
}

/// For some cables: how long it takes from scratch, and from what is known, in milliseconds of processor time, and how many
/// queues were worked out again.
fn unplug_each(streams: usize) {
    let network = network(streams);
    let known = analyse(network.clone());
    let cables = network.ports.len() as u32 / 2;
    let (mut ratios, runs) = (Vec::new(), 8);
    println!("cable gone, {streams} streams: from scratch, from what is known, ratio, queues worked out of {}", network.ports.len());
    for cable in (0..12).map(|at| at * (cables - 1) / 11) {
        let given = unplugged(&network, cable);
        let [whole, part] = [false, true].map(|is_known| {
            let given = vec![given.clone(); runs];
            std::thread::sleep(Duration::from_micros(100));
            let mut best = f64::MAX;
            for network in given {
                let start = processor_time_now();
                let done = if is_known { known.with_changes(network) } else { analyse(network) };
                best = best.min(processor_time_now() - start);
                drop(done);
            }
            best
        });
        let visited = known.with_changes(given).visited();
        ratios.push(whole / part);
        println!("  cable {cable}: {whole:.3} ms, {part:.3} ms, {:.1}, {visited}", whole / part);
    }
    println!("ratio in the mean {:.1}", ratios.iter().sum::<f64>() / ratios.len() as f64);
}

/// [`processor_time`] brought up to date.
fn processor_time_now() -> f64 {
    std::thread::sleep(Duration::from_micros(50));
    processor_time()
}

fn main() {
    let mut given = std::env::args().skip(1).filter_map(|argument| argument.parse().ok());
    if let (Some(streams), Some(runs)) = (given.next(), given.next()) {
        let (best, busy, worst) = measure(&network(streams), (runs, 1));
        return println!("{streams} streams: {best:.3} ms ({busy:.3} ms of processor time), worst delay {worst}");
    }
    let mut points = Vec::new();
    for (streams, runs) in [(1_000, (40, 25)), (10_000, (20, 3)), (50_000, (10, 1))] {
        let network = network(streams);
        let hops: usize = network.streams.iter().map(|stream| stream.hops.len()).sum();
        let (best, busy, worst) = measure(&network, runs);
        points.push(((hops as f64).ln(), busy.ln()));
        println!("{streams} streams, {hops} stream-hops: {best:.3} ms ({busy:.3} ms of processor time), worst delay {worst}");
    }
    unplug_each(10_000);
    println!("processor time grows with stream-hops to the power {:.2}", slope(&points));
}
