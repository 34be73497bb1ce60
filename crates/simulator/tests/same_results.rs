//! The quick way to play gives what the obvious way gives, on random nets: trees and circles, one class and several,
//! with lower-priority frames, ties, idle spells and overload.

use loomwright_simulator::{Blocker, Hop, Net, Player, Queue, Release, Train, play_events};
use oorandom::Rand64;

struct Chance(Rand64);

impl Chance {
    fn below(&mut self, sides: u64) -> u64 {
        self.0.rand_range(0..sides.max(1))
    }
}

/// Times are small and round so that many things happen at the same instant.
fn random_net(chance: &mut Chance) -> Net {
    let queues = 2 + chance.below(8) as u32;
    let is_circle_allowed = chance.below(4) == 0;
    let classes = 1 + chance.below(3);
    let mut net = Net::default();
    for _ in 0..queues {
        net.queues.push(Queue { propagation: chance.below(3) * 5, blocker: chance.below(2) * 30 });
    }
    for _ in 0..1 + chance.below(8) {
        let mut hops: Vec<Hop> = Vec::new();
        for _ in 0..1 + chance.below(5) {
            let queue = chance.below(u64::from(queues)) as u32;
            let parent = if hops.is_empty() { None } else { Some(chance.below(hops.len() as u64) as u32) };
            let is_onward = parent.is_none_or(|parent| is_circle_allowed || hops[parent as usize].queue < queue);
            if is_onward && hops.iter().all(|hop| hop.queue != queue) {
                hops.push(Hop { queue, parent, send: 10 * (1 + chance.below(4)), before: chance.below(2) * 10 });
            }
        }
        net.trains.push(Train { period: 50 * (1 + chance.below(6)), class: chance.below(classes) as u8, hops });
    }
    net
}

fn blockers(chance: &mut Chance, net: &Net) -> Vec<Blocker> {
    (0..chance.below(12)).map(|_| Blocker { at: 5 * chance.below(300), queue: chance.below(net.queues.len() as u64) as u32 }).collect()
}

#[test]
fn given_releases() {
    let mut chance = Chance(Rand64::new(7));
    let (mut packets, mut passages) = (0, 0);
    for round in 0..3_000 {
        let net = random_net(&mut chance);
        let mut player = Player::new(&net);
        let watched: Vec<u32> = (0..net.queues.len() as u32).collect();
        for _ in 0..2 {
            let trains = net.trains.len() as u64;
            let releases = (0..chance.below(60)).map(|_| Release { at: 5 * chance.below(300), train: chance.below(trains) as u32 });
            let releases: Vec<Release> = releases.collect();
            let blockers = blockers(&mut chance, &net);
            player.play(&releases, &blockers, &watched);
            let expected = play_events(&net, (&releases, &blockers), &watched);
            assert_eq!(player.outcome(), expected, "round {round}: {net:?} {releases:?} {blockers:?}");
            packets += expected.packet_hops;
            passages += expected.passages.len();
        }
    }
    assert!(packets > 100_000 && passages as u64 > packets, "{packets} packets, {passages} passages");
}

/// Slice by slice against one long list of releases.
#[test]
fn periodic_trains() {
    let mut chance = Chance(Rand64::new(8));
    let mut packets = 0;
    for round in 0..300 {
        let net = random_net(&mut chance);
        let end = 5_000 + chance.below(120_000);
        let phases: Vec<u64> = net.trains.iter().map(|_| 5 * chance.below(150)).collect();
        let blockers = blockers(&mut chance, &net);
        let mut releases = Vec::new();
        for (train, (spec, phase)) in net.trains.iter().zip(&phases).enumerate() {
            let times = (0..).map(|turn| phase + turn * spec.period).take_while(|at| *at < end);
            releases.extend(times.map(|at| Release { at, train: train as u32 }));
        }
        let mut player = Player::new(&net);
        player.play_periodic(&phases, end, &blockers);
        let found = player.outcome();
        assert_eq!(found, play_events(&net, (&releases, &blockers), &[]), "round {round}: {net:?} {phases:?} {end} {blockers:?}");
        packets += found.packet_hops;
    }
    assert!(packets > 1_000_000, "{packets} packets");
}
