//! The simulator builds, for every receiver of random networks, the schedule that makes one packet as late as
//! it can. No packet may be later than its bound, and what the calculation says is reached must be reached.

mod random;

use loomwright_delay::analyse;
use loomwright_simulator::worst_trace;
use random::{Dice, Pair, random_pair};

/// The trace puts packets a picosecond before the instant, at up to 10 queues, and lower frames another.
const TRACE_LOSS: u64 = 100;

#[test]
fn bounds_hold_and_what_is_said_to_be_reached_is_reached() {
    let mut dice = Dice(42);
    let (mut compared, mut tight) = (0u32, 0u32);
    for round in 0..60 {
        let Pair { network, net } = random_pair(&mut dice);
        let analysis = analyse(network.clone());
        for (stream, spec) in network.streams.iter().enumerate() {
            for hop in 0..spec.hops.len() {
                let Ok(bound) = analysis.bound(stream, hop) else { continue };
                let seen = worst_trace(&net, stream as u32, hop as u32).delay;
                assert!(seen <= bound.worst.picoseconds(), "round {round}: stream {stream} hop {hop}: {seen} above {bound:?}");
                assert!(seen + TRACE_LOSS >= bound.reached.picoseconds(), "round {round}: stream {stream} hop {hop}: {seen} for {bound:?}");
                compared += 1;
                tight += u32::from(bound.is_known_tight());
            }
        }
    }
    assert!(compared > 1_000 && tight > compared / 3, "{tight} of {compared} known to be tight");
}
