//! From plan and wiring to delays, with sums that can be followed by hand.

#[path = "../../forwarding/tests/rig/mod.rs"]
mod rig;

use loomwright_delay::{Assumptions, Cause, Delays, NoBound, Occupied, System, occupied};
use loomwright_forwarding::{Direction, Fabric, Forwarding, forward};
use loomwright_model::plan::Mode;
use loomwright_model::{BitRate, ByteCount, ClockSupport, Dscp, GearKind, Time};
use rig::Rig;

/// One packet of eight channels of 24 bit at 1 Gb/s: 1230 bytes. **Source**: IEEE 802.3, RFC 791, 768, 3550.
const PACKET: u64 = 9_840;
/// A lower frame of 1542 bytes at 1 Gb/s. **Source**: IEEE 802.1 slides of January 2011.
const LOWER: u64 = 12_336;
/// A clock message of 110 bytes at 1 Gb/s.
const MESSAGE: u64 = 880;
/// An announcement of 130 bytes and an answer of 120 at 1 Gb/s.
const ANNOUNCE: u64 = 1_040;
const ANSWER: u64 = 960;
/// 10 m of copper.
const CABLE: u64 = 50;
/// Longest forwarding time assumed where a type does not say.
const INSIDE: u64 = 10_000;

const QUIET: Assumptions = Assumptions { other_frame: ByteCount::ZERO, has_clock_messages: false, release_jitter: Time::ZERO };

fn star() -> Rig {
    let mut rig = Rig::new();
    rig.switch("sw", "smart", "a").querier("a", "sw");
    rig.device("m1", "one", None).device("m2", "one", None).device("m3", "one", None).device("desk", "one", None);
    rig.cables("C1 m1/1 sw/1 a\n C2 m2/1 sw/2 a\n C3 m3/1 sw/3 a\n C4 desk/1 sw/4 a");
    for name in ["1", "2", "3"] {
        rig.stream(&format!("s{name}"), &format!("m{name} desk"), Mode::Multicast);
    }
    rig
}

fn delays(rig: &Rig, assumptions: &Assumptions) -> (Forwarding, Delays) {
    let fabric = Fabric::new(&rig.plan, &rig.wiring);
    assert!(fabric.left_out.is_empty(), "{:?}", fabric.left_out);
    let forwarding = forward(&rig.plan, &rig.wiring, &fabric);
    let delays = Delays::new(&System { plan: &rig.plan, fabric: &fabric, forwarding: &forwarding, leaders: &[] }, assumptions);
    (forwarding, delays)
}

fn worst(delays: &Delays, flow: usize) -> Result<u64, NoBound> {
    delays.bound(flow, 1).map(|bound| bound.worst.picoseconds() / 1_000)
}

#[test]
fn a_star_adds_up_by_hand() {
    let way = 2 * CABLE + INSIDE;
    let rig = star();
    let (_, quiet) = delays(&rig, &QUIET);
    assert_eq!(worst(&quiet, 0), Ok(PACKET + 3 * PACKET + way));
    assert!(quiet.is_known_tight(0, 1));
    let (_, busy) = delays(&rig, &Assumptions { has_clock_messages: false, ..Assumptions::default() });
    assert_eq!(worst(&busy, 0), Ok(4 * PACKET + 2 * LOWER + way));
    assert!(busy.is_known_tight(0, 1));
    // The microphone's own clock message, then one from each of the two others: its own goes ahead and is not waited for again.
    let (_, all) = delays(&rig, &Assumptions::default());
    assert_eq!(worst(&all, 0), Ok(4 * PACKET + 2 * LOWER + 3 * MESSAGE + way));
    let least = all.bound(0, 1).map(|bound| bound.least.picoseconds() / 1_000);
    assert_eq!(least, Ok(2 * PACKET + 2 * CABLE + 1_000));
    let buffer = all.receiver_buffer(0, 1).map(|buffer| buffer.picoseconds() / 1_000);
    assert_eq!(buffer, Some(2 * PACKET + 2 * LOWER + 3 * MESSAGE + 9_000 + 1_000_000), "variation and one packet time");
}

/// Delay of flow 0 when the device at this place of the plan leads, picoseconds over a thousand.
fn worst_when_led(rig: &Rig, leader: usize) -> Result<u64, NoBound> {
    let fabric = Fabric::new(&rig.plan, &rig.wiring);
    let forwarding = forward(&rig.plan, &rig.wiring, &fabric);
    let leaders = [fabric.audio[leader][0].node];
    let system = System { plan: &rig.plan, fabric: &fabric, forwarding: &forwarding, leaders: &leaders };
    worst(&Delays::new(&system, &Assumptions::default()), 0)
}

#[test]
fn a_leader_times_announces_and_answers() {
    let way = 2 * CABLE + INSIDE;
    let media = 4 * PACKET + 2 * LOWER + way;
    let mut rig = star();
    // The desk leads: it only hears requests on the way of the stream, as before.
    assert_eq!(worst_when_led(&rig, 3), Ok(media + 3 * MESSAGE));
    // The microphone leads: its own Sync, Follow_Up, Announce and an answer to each of three, which go ahead and are not waited for again;
    // then the requests of two others, on the way to the desk.
    let led = |answers| 2 * MESSAGE + ANNOUNCE + answers * ANSWER;
    assert_eq!(worst_when_led(&rig, 0), Ok(media + led(3) + 2 * MESSAGE));
    // A boundary clock between them asks the microphone itself, and answers the desk alone.
    rig.plan.gear.values_mut().filter(|gear| gear.kind == GearKind::Switch).for_each(|gear| gear.clock_support = ClockSupport::Boundary);
    assert_eq!(worst_when_led(&rig, 0), Ok(media + led(1) + led(1)));
    assert_eq!(worst_when_led(&rig, 3), Ok(media + 2 * MESSAGE), "one request of the microphone, one of the switch");
}

#[test]
fn hops_add_up_and_name_who_is_ahead() {
    let (_, delays) = delays(&star(), &Assumptions::default());
    let hops = delays.hops(1, 1);
    let sum: Time = hops.iter().map(|hop| hop.serialise + hop.wait + hop.forward + hop.propagate).sum();
    assert_eq!(Ok(sum), delays.bound(1, 1).map(|bound| bound.worst));
    assert_eq!(hops[0].forward, Time::from_microseconds(10));
    assert_eq!((hops[0].behind.as_slice(), hops[1].behind.as_slice()), (&[][..], &[0, 2][..]));
    assert!(hops.iter().all(|hop| hop.blocked == Time::from_nanoseconds(LOWER)));
}

#[test]
fn loads_and_backlog_are_counted_by_direction() {
    let (_, delays) = delays(&star(), &QUIET);
    let into_desk = Direction(3 * 2 + 1);
    let load = delays.load(into_desk);
    assert_eq!((load.load, load.streams, load.unwanted), (BitRate::from_bits_per_second(3 * 9_840_000), 3, BitRate::ZERO));
    assert_eq!(delays.backlog(into_desk), Some(ByteCount::from_bytes(3 * 1_230)));
    assert_eq!(delays.backlog(into_desk.reversed()), Some(ByteCount::ZERO));
}

#[test]
fn flooding_is_unwanted_load() {
    let mut rig = star();
    rig.wiring.querier.clear();
    let (_, delays) = delays(&rig, &QUIET);
    let into_first = delays.load(Direction(1));
    assert_eq!((into_first.streams, into_first.load), (2, into_first.unwanted));
}

#[test]
fn a_clock_message_waits_for_one_frame_and_the_others_messages() {
    let (_, all) = delays(&star(), &Assumptions::default());
    let wait = |direction| all.clock_wait(Direction(direction)).map(|wait| wait.picoseconds() / 1_000);
    assert_eq!(wait(7), Ok(LOWER + 2 * MESSAGE), "into the desk: two other microphones");
    assert_eq!(wait(6), Ok(LOWER), "out of the desk: alone");
    let (_, silent) = delays(&star(), &Assumptions { has_clock_messages: false, ..Assumptions::default() });
    assert_eq!(silent.clock_wait(Direction(7)), Ok(Time::from_nanoseconds(LOWER)));
}

#[test]
fn a_tagged_trunk_costs_four_bytes_more() {
    let mut rig = Rig::new();
    rig.switch("s1", "smart", "a b").switch("s2", "smart", "a b").querier("a", "s1");
    rig.device("mic", "one", None).device("desk", "one", None);
    rig.cables("C1 mic/1 s1/1 a\n T s1/2 s2/2 a b\n C2 desk/1 s2/1 a").stream("s", "mic desk", Mode::Multicast);
    let (_, delays) = delays(&rig, &QUIET);
    let hops = delays.hops(0, 2);
    assert_eq!(hops.iter().map(|hop| hop.serialise.picoseconds() / 1_000).collect::<Vec<_>>(), [PACKET, PACKET + 32, PACKET]);
    assert_eq!(delays.load(Direction(2)).load, BitRate::from_bits_per_second(9_872_000));
}

#[test]
fn no_number_where_there_is_no_bound() {
    let mut rig = star();
    rig.plan.streams[0].channels = 8 * 110;
    let overloaded = delays(&rig, &QUIET).1;
    assert_eq!(overloaded.bound(0, 0), Err(NoBound { port: 0, cause: Cause::Overload }));
    let flow = 110;
    assert_eq!(overloaded.bound(flow, 1), Err(NoBound { port: 7, cause: Cause::Overload }));
    assert!(overloaded.hops(flow, 1).is_empty() && overloaded.backlog(Direction(7)).is_none());

    let mut rig = star();
    rig.switch("other", "plain", "a").cables("X1 sw/5 other/1 a\n X2 other/2 other/3 a");
    assert_eq!(worst(&delays(&rig, &QUIET).1, 0), Err(NoBound { port: 0, cause: Cause::Storm }));

    let mut rig = star();
    rig.plan.streams[0].format.media_dscp = Dscp::new(0).expect("a code point");
    let mixed = delays(&rig, &QUIET).1;
    assert_eq!(worst(&mixed, 0), Err(NoBound { port: 7, cause: Cause::Unprotected }));
    assert_eq!(worst(&mixed, 1), Ok(PACKET + 3 * PACKET + 2 * CABLE + INSIDE), "the unprotected packet can still be in the way");
}

#[test]
fn a_sender_that_is_late_by_itself_needs_a_longer_hold() {
    let on_time = delays(&star(), &QUIET).1;
    let mut rig = star();
    let late = Time::from_microseconds(50);
    rig.plan.gear.values_mut().for_each(|gear| gear.release_jitter = Some(late));
    let (_, jittery) = delays(&rig, &QUIET);
    let [before, after] = [&on_time, &jittery].map(|delays| delays.hold(0, 1).expect("a star has bounds"));
    assert_eq!((before.jitter, after.jitter), (Time::ZERO, late));
    // Each microphone sends one packet a millisecond: 50 us late, they still meet at most once.
    assert_eq!(after.network, before.network);
    assert_eq!(after.receive_delay(), before.receive_delay() + late);
    assert_eq!(after.buffer(), before.network.variation() + late + Time::from_milliseconds(1));
    assert_eq!(jittery.receiver_buffer(0, 1), Some(after.buffer()));
}

#[test]
fn a_random_message_waits_for_half_a_frame_with_the_chance_of_the_load() {
    let rig = star();
    let fabric = Fabric::new(&rig.plan, &rig.wiring);
    let forwarding = forward(&rig.plan, &rig.wiring, &fabric);
    let found = occupied(&System { plan: &rig.plan, fabric: &fabric, forwarding: &forwarding, leaders: &[] });
    let to_desk = forwarding.flows[0].hops[1].direction;
    let here = found[to_desk.0 as usize];
    // Three packets of 9.84 us a millisecond: 29,520 ppm; half of 9.84 us at that chance is 145.2384 ns.
    assert_eq!((here.load_ppm, here.mean_wait), (29_520, Time::from_picoseconds(145_238)));
    assert_eq!(found[to_desk.reversed().0 as usize], Occupied::default(), "nothing comes back");
}
