//! Replays of networks small enough to count by hand.

use loomwright_delay::network::NONE;
use loomwright_delay::{Bundle, HopSpec, Network, PortSpec, StreamSpec, analyse};
use loomwright_model::{LatencyRange, Time};
use loomwright_replay::{Replays, Whose};

const FRAME: Time = Time::from_microseconds(100);
const AT_ONCE: LatencyRange = LatencyRange { least: Time::ZERO, most: Time::ZERO };

fn hop(port: usize, parent: u32) -> HopSpec {
    HopSpec { port: port as u32, parent, send: FRAME, forward: AT_ONCE }
}

/// `senders` cables into one switch, one cable out of it to a second, one to the receiver; frames of 100 us.
fn star(senders: usize, blocking: Time) -> Network {
    let stream = |at| StreamSpec {
        class: 2,
        period: Time::from_milliseconds(2),
        jitter: Time::ZERO,
        hops: vec![hop(at, NONE), hop(senders, 0), hop(senders + 1, 1)],
    };
    let port = PortSpec { blocking, propagation: Time::from_nanoseconds(500), is_unbounded: false };
    Network { ports: vec![port; senders + 2], streams: (0..senders).map(stream).collect(), bundles: Vec::new() }
}

fn close(found: Time, expected: Time) {
    assert!(found.picoseconds().abs_diff(expected.picoseconds()) <= 100, "{found:?}, expected {expected:?}");
}

#[test]
fn everybody_stands_in_front_of_the_last() {
    let network = star(8, Time::ZERO);
    let replay = Replays::new(&network).worst(3, 2);
    // Own cable 1 frame, then 8, then its own again, and three cables of 500 ns.
    close(replay.reached, Time::from_nanoseconds(1_000_000 + 1_500));
    assert_eq!(replay.heard - replay.released, replay.reached);
    let queue = &replay.queues[1];
    assert_eq!((queue.port, queue.packets.len()), (8, 8));
    assert_eq!(queue.packets.iter().filter(|packet| packet.whose == Whose::Own).count(), 1);
    assert_eq!(queue.own(), queue.packets.last());
    assert!(queue.packets.windows(2).all(|pair| pair[0].ends == pair[1].starts && pair[0].arrives <= pair[1].arrives));
    assert_eq!((replay.fullest.queue, replay.fullest.packets), (1, 8));
    close(replay.fullest.work, Time::from_microseconds(800));
    assert_eq!(queue.work_at(replay.fullest.at), replay.fullest.work);
    assert_eq!(queue.packets_at(replay.heard), 0);
}

#[test]
fn a_frame_of_other_traffic_is_just_ahead_in_every_queue() {
    let network = star(4, Time::from_microseconds(123));
    let replay = Replays::new(&network).worst(0, 2);
    close(replay.reached, Time::from_nanoseconds(600_000 + 3 * 123_000 + 1_500));
    for queue in &replay.queues {
        assert_eq!(queue.packets[0].whose, Whose::Other, "{queue:?}");
    }
    let bound = analyse(network.clone()).bound(0, 2).expect("a bound");
    close(replay.reached, bound.worst);
}

#[test]
fn lower_classes_stay_out_and_clock_messages_come_in() {
    let mut network = star(4, Time::ZERO);
    network.streams[3].class = 1;
    let message = Time::from_microseconds(7);
    let bundle = |port, feeder| Bundle {
        kind: 0,
        before: 0,
        port,
        feeder,
        class: 3,
        count: 1,
        send: message,
        feeder_send: message,
        period: Time::from_milliseconds(125),
        jitter: Time::ZERO,
    };
    // One message of every sender's own, all of them on the two shared cables.
    network.bundles.extend((0..4).map(|port| bundle(port, NONE)));
    network.bundles.extend((0..4).map(|feeder| bundle(4, feeder)));
    network.bundles.push(Bundle { count: 4, ..bundle(5, 4) });
    let replay = Replays::new(&network).worst(0, 2);
    // Own cable: message and frame. Shared cable: three frames and three more messages. Last cable: the frame.
    close(replay.reached, Time::from_nanoseconds(7_000 + 100_000 + 300_000 + 3 * 7_000 + 100_000 + 1_500));
    let seen: Vec<Whose> = replay.queues[1].packets.iter().map(|packet| packet.whose).collect();
    assert!(!seen.contains(&Whose::Stream(3)), "{seen:?}");
    assert_eq!(seen.iter().filter(|whose| **whose == Whose::Clock).count(), 4);
    assert!(replay.reached <= analyse(network.clone()).bound(0, 2).expect("a bound").worst);
}

/// A stream towards one receiver of several: the other branches do not matter.
#[test]
fn one_branch_of_a_tree() {
    let mut network = star(3, Time::ZERO);
    network.ports.push(PortSpec::default());
    network.streams[1].hops.push(hop(5, 1));
    let replays = Replays::new(&network);
    let replay = replays.worst(1, 3);
    assert_eq!(replay.queues.iter().map(|queue| queue.port).collect::<Vec<_>>(), [1, 3, 5]);
    assert_eq!(replays.reached(1, 3), replay.reached);
    close(replay.reached, Time::from_nanoseconds(500_000 + 1_000));
}
