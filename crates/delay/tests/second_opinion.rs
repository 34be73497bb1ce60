//! The simulator builds, for every receiver of random networks, the schedule that makes one packet as late as
//! it can. No packet may be later than its bound, and what the calculation says is reached must be reached.

mod random;

use loomwright_delay::analyse;
use loomwright_simulator::{Player, Search, climb, worst_trace_on};
use random::{Dice, Pair, random_pair};

/// The trace puts packets a picosecond before the instant, at up to 10 queues, and lower frames another.
const TRACE_LOSS: u64 = 100;

#[test]
fn bounds_hold_and_what_is_said_to_be_reached_is_reached() {
    let mut dice = Dice(42);
    let (mut compared, mut tight) = (0u32, 0u32);
    for round in 0..200 {
        let Pair { network, net } = random_pair(&mut dice);
        let analysis = analyse(network.clone());
        let mut player = Player::new(&net);
        for (stream, spec) in network.streams.iter().enumerate() {
            for hop in 0..spec.hops.len() {
                let Ok(bound) = analysis.bound(stream, hop) else { continue };
                let seen = worst_trace_on(&mut player, stream as u32, hop as u32).delay;
                assert!(seen <= bound.worst.picoseconds(), "round {round}: stream {stream} hop {hop}: {seen} above {bound:?}");
                assert!(seen + TRACE_LOSS >= bound.reached.picoseconds(), "round {round}: stream {stream} hop {hop}: {seen} for {bound:?}");
                compared += 1;
                tight += u32::from(bound.is_known_tight());
            }
        }
    }
    assert!(compared > 4_000 && tight > compared / 2, "{tight} of {compared} known to be tight");
}

/// Where bound and trace are apart, a search through thousands of schedules may come closer to the bound but never past it.
#[test]
fn no_search_gets_past_a_bound() {
    let mut dice = Dice(43);
    let (mut searched, mut later) = (0u32, 0u32);
    for round in 0..200 {
        let Pair { network, net } = random_pair(&mut dice);
        let analysis = analyse(network.clone());
        let mut player = Player::new(&net);
        for (stream, spec) in network.streams.iter().enumerate() {
            let hop = spec.hops.len() - 1;
            let Ok(bound) = analysis.bound(stream, hop) else { continue };
            let place = (stream as u32, hop as u32);
            let first = worst_trace_on(&mut player, place.0, place.1);
            if bound.worst.picoseconds() * 20 < first.delay * 21 {
                continue;
            }
            let found = climb(&mut player, place, first.clone(), Search { moves: 200, seed: round, enough: u64::MAX });
            assert!(found.delay <= bound.worst.picoseconds(), "round {round}: stream {stream}: {} above {bound:?}", found.delay);
            searched += 1;
            later += u32::from(found.delay > first.delay);
        }
    }
    assert!(searched > 20 && later > 10, "{searched} searched, {later} of them made later");
}
