//! The far ends of what can be asked, each with its figure worked out by hand or a cause.

use loomwright_delay::network::NONE;
use loomwright_delay::{Cause, HopSpec, Network, PortSpec, StreamSpec, analyse};
use loomwright_model::{LatencyRange, Time};

const AT_ONCE: LatencyRange = LatencyRange { least: Time::ZERO, most: Time::ZERO };

fn port() -> PortSpec {
    PortSpec { blocking: Time::ZERO, propagation: Time::ZERO, is_unbounded: false }
}

/// A stream through these queues in a row, each frame taking `send` on every link.
fn stream(queues: impl IntoIterator<Item = u32>, send: Time, period: Time) -> StreamSpec {
    let hop = |(at, port): (usize, u32)| HopSpec { port, parent: at.checked_sub(1).map_or(NONE, |at| at as u32), send, forward: AT_ONCE };
    StreamSpec { class: 2, period, jitter: Time::ZERO, hops: queues.into_iter().enumerate().map(hop).collect() }
}

fn network(ports: usize, streams: Vec<StreamSpec>) -> Network {
    Network { ports: vec![port(); ports], streams, ..Network::default() }
}

#[test]
fn nothing_to_carry_is_no_trouble() {
    assert_eq!(analyse(Network::default()).network().streams.len(), 0);
    let analysis = analyse(network(3, Vec::new()));
    assert!(analysis.at_port(1).is_empty() && analysis.backlog(1) == Some(Time::ZERO));
    let without_hops = analyse(network(1, vec![stream([], Time::from_microseconds(10), Time::from_milliseconds(1))]));
    assert!(without_hops.at_port(0).is_empty());
}

/// A chain in which every device adds one stream to the far end: the first stream meets each of the others once
/// and the frame ahead of it on every later link, 2k - 1 frame times in all.
#[test]
fn a_chain_of_two_hundred_devices_adds_up_by_hand() {
    let (devices, frame) = (200u32, Time::from_microseconds(10));
    let streams = (0..devices).map(|from| stream(from..devices, frame, Time::from_milliseconds(200))).collect();
    let analysis = analyse(network(devices as usize, streams));
    let bound = analysis.bound(0, devices as usize - 1).expect("the chain is nearly idle");
    assert_eq!(bound.worst, Time::from_microseconds(10 * u64::from(2 * devices - 1)));
    assert_eq!(analysis.parts(0, devices as usize - 1).len(), devices as usize);
}

/// Each device has one port of its own: its frame there, then all frames once.
#[test]
fn a_star_of_devices_with_one_port_adds_up_by_hand() {
    let (devices, frame) = (64u32, Time::from_microseconds(5));
    let streams = (0..devices).map(|from| stream([from, devices], frame, Time::from_milliseconds(1))).collect();
    let analysis = analyse(network(devices as usize + 1, streams));
    assert_eq!(analysis.bound(0, 1).map(|bound| bound.worst), Ok(Time::from_microseconds(5 * u64::from(devices + 1))));
}

/// 9,018 octets of frame and 20 of preamble and gap at 100 Mb/s: 723.04 us.
#[test]
fn a_jumbo_frame_takes_its_time() {
    let jumbo = Time::from_nanoseconds(723_040);
    let analysis = analyse(network(1, vec![stream([0], jumbo, Time::from_milliseconds(1))]));
    assert_eq!(analysis.bound(0, 0).map(|bound| bound.worst), Ok(jumbo));
}

#[test]
fn what_does_not_fit_has_a_cause_and_no_number() {
    let cases = [
        ("two of 0.6", Time::from_microseconds(600), Time::from_milliseconds(1), 2),
        ("no time between packets", Time::from_microseconds(1), Time::ZERO, 1),
        ("the longest frame there is", Time::MAX, Time::from_milliseconds(1), 1),
        ("longest frame and longest period", Time::MAX, Time::MAX, 3),
    ];
    for (name, send, period, count) in cases {
        let analysis = analyse(network(2, vec![stream([0, 1], send, period); count]));
        let lost = analysis.bound(0, 1).map(|bound| bound.worst).map_err(|lost| (lost.port, lost.cause));
        assert_eq!(lost, Err((0, Cause::Overload)), "{name}");
        assert!(analysis.parts(0, 1).is_empty() && analysis.backlog(0).is_none(), "{name}");
    }
}

/// A link that carries exactly what it can has a bound: the frames together, no more.
#[test]
fn a_full_link_is_not_an_overload() {
    let half = Time::from_microseconds(500);
    let analysis = analyse(network(1, vec![stream([0], half, Time::from_milliseconds(1)); 2]));
    assert_eq!(analysis.bound(1, 0).map(|bound| bound.worst), Ok(Time::from_milliseconds(1)));
}

#[test]
fn a_frame_that_takes_no_time_is_taken_as_the_shortest() {
    let analysis = analyse(network(1, vec![stream([0], Time::ZERO, Time::from_milliseconds(1))]));
    assert!(analysis.bound(0, 0).is_ok_and(|bound| bound.worst <= Time::from_picoseconds(1)));
}
