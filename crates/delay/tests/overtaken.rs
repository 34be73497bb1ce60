//! Two classes, the higher one rare: each of its frames can overtake a packet once. Whatever schedule is searched for, no packet may
//! be later than a bound that counts them so; and the bound must be worth it.

mod random;

use loomwright_delay::analyse;
use loomwright_model::Time;
use loomwright_simulator::{Player, Search, climb, worst_trace_on};
use random::{Dice, Pair, random_pair};

/// Far longer than any way through these networks.
const RARE: Time = Time::from_milliseconds(100);
const NETWORKS: u64 = 250;

/// The same networks, where every third stream is of a higher class and rare.
fn two_classes(dice: &mut Dice) -> Pair {
    let mut pair = random_pair(dice);
    for (spec, train) in pair.network.streams.iter_mut().zip(&mut pair.net.trains) {
        let is_higher = dice.below(3) == 0;
        (spec.class, train.class) = if is_higher { (1, 0) } else { (0, 1) };
        if is_higher {
            (spec.period, train.period) = (RARE, RARE.picoseconds());
        }
    }
    pair
}

#[test]
fn no_search_gets_past_what_overtakes_once() {
    let mut dice = Dice(44);
    let (mut compared, mut ratios) = (0u32, 0.0);
    for round in 0..NETWORKS {
        let Pair { network, net } = two_classes(&mut dice);
        let analysis = analyse(network.clone());
        let mut player = Player::new(&net);
        for (stream, spec) in network.streams.iter().enumerate().filter(|(_, spec)| spec.class == 0) {
            for hop in 1..spec.hops.len() {
                let Ok(bound) = analysis.bound(stream, hop) else { continue };
                let place = (stream as u32, hop as u32);
                let first = worst_trace_on(&mut player, place.0, place.1);
                let found = climb(&mut player, place, first, Search { moves: 40, seed: round, enough: u64::MAX });
                let worst = bound.worst.picoseconds();
                assert!(found.delay <= worst, "round {round}: stream {stream} hop {hop}: {} above {bound:?}", found.delay);
                compared += 1;
                ratios += worst as f64 / found.delay as f64;
            }
        }
    }
    let mean = ratios / f64::from(compared);
    println!("{compared} compared, bound/reached mean {mean:.4}");
    assert!(compared > 2_000 && mean < 1.1, "{compared} compared, mean {mean}");
}
