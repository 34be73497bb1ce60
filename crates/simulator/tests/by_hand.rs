//! Plays small enough to work out by hand, the quick and the obvious way.

use loomwright_simulator::{Blocker, Hop, Net, Player, Queue, Release, Train, play_events};

fn one_queue(classes: &[u8]) -> Net {
    let hop = Hop { queue: 0, parent: None, send: 10_000, before: 0 };
    let trains = classes.iter().map(|class| Train { period: 1_000_000, class: *class, hops: vec![hop] }).collect();
    Net { queues: vec![Queue { propagation: 0, blocker: 5_000 }], trains }
}

/// Packets of trains 0, 1, .. released at `at`, blockers at `blocked`; how late each is.
fn check(classes: &[u8], at: &[u64], blocked: &[u64], expected: &[u64]) {
    let net = one_queue(classes);
    let releases: Vec<Release> = at.iter().enumerate().map(|(train, at)| Release { at: *at, train: train as u32 }).collect();
    let blockers: Vec<Blocker> = blocked.iter().map(|at| Blocker { at: *at, queue: 0 }).collect();
    let mut player = Player::new(&net);
    player.play(&releases, &blockers, &[0]);
    let found: Vec<u64> = (0..classes.len() as u32).map(|train| player.latest(train, 0)).collect();
    assert_eq!(found, expected);
    assert_eq!(player.outcome(), play_events(&net, (&releases, &blockers), &[0]));
}

#[test]
fn waits_its_turn_within_a_class() {
    check(&[0, 0], &[0, 1], &[], &[10_000, 19_999]);
}

#[test]
fn a_frame_on_the_wire_is_not_interrupted_but_higher_classes_go_next() {
    check(&[1, 1, 0], &[0, 1, 2], &[], &[10_000, 29_999, 19_998]);
}

#[test]
fn a_blocker_starts_only_when_nothing_else_waits() {
    check(&[0, 0], &[10, 11], &[9], &[14_999, 24_998]);
    check(&[0, 0], &[10, 11], &[11], &[10_000, 19_999]);
    check(&[0, 0], &[10, 10_010], &[11], &[10_000, 15_000]);
}
