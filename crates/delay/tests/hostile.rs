//! Plans that make no sense give causes and left-out cables, never a panic.

#[path = "../../forwarding/tests/rig/mod.rs"]
mod rig;

use loomwright_delay::{Assumptions, Delays, System};
use loomwright_forwarding::{Direction, Fabric, Removed, forward_without};
use loomwright_model::plan::{Legs, Mode};
use loomwright_model::{BitRate, ByteCount, Frequency, Pairing, SpanningTree, Time};
use rig::{Rig, id};

struct Dice(u64);

impl Dice {
    fn below(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }

    fn pick<T: Clone>(&mut self, values: &[T]) -> T {
        values[self.below(values.len())].clone()
    }
}

fn spoil_gear(dice: &mut Dice, rig: &mut Rig) {
    for gear in rig.plan.gear.values_mut() {
        match dice.below(24) {
            0 => gear.audio_ports.clear(),
            1 => gear.control = None,
            2 => gear.ports.clear(),
            3 => gear.spanning_tree = SpanningTree::Classic,
            4 => gear.audio_ports.iter_mut().for_each(|port| port.speed = BitRate::from_bits_per_second(dice.pick(&[0, 1, u64::MAX]))),
            5 => (gear.latency.least, gear.latency.most) = (Time::MAX, Time::ZERO),
            _ => {}
        }
    }
}

fn nonsense(dice: &mut Dice) -> Rig {
    let mut rig = Rig::new();
    let names = ["p", "q", "r", "s", "t", "ghost"];
    for name in &names[..3] {
        let gear = dice.pick(&["box", "box", "one", "one", "one", "router", "smart", "no-such-gear"]);
        rig.device(name, gear, dice.pick(&[None, Some(Pairing::Independent), Some(Pairing::Chained)]));
    }
    for name in &names[3..5] {
        rig.switch(
            name,
            dice.pick(&["smart", "plain", "dumb", "box", "no-such-gear"]),
            dice.pick(&["", "a", "a b", "b b control", "nowhere"]),
        );
    }
    spoil_gear(dice, &mut rig);
    for at in 0..dice.below(24) {
        let mut end = || format!("{}/{}", dice.pick(&names), dice.pick(&["1", "1", "2", "2", "3", "4", "5", "0", "01", "99", "control"]));
        let (from, to) = (end(), end());
        rig.cables(&format!("C{at} {from} {to} {}", dice.pick(&["a", "a", "a", "a", "b", "a b", "control", "nowhere", ""])));
    }
    for at in 0..dice.below(5) {
        let way = format!("{} {} {}", dice.pick(&names), dice.pick(&names), dice.pick(&names));
        rig.stream(&format!("x{at}"), &way, dice.pick(&[Mode::Multicast, Mode::Unicast]));
        let (stream, ms) = (&mut rig.plan.streams[at], Time::from_milliseconds(1));
        stream.channels = dice.pick(&[0, 1, 8, 8, 2_000]);
        stream.format.bits = dice.pick(&[0, 16, 24, 24, 255]);
        stream.format.packet_time = dice.pick(&[Time::ZERO, ms, ms, ms, Time::MAX]);
        stream.format.sample_rate = Frequency::from_millihertz(dice.pick(&[0, 1, 48_000_000, 48_000_000, 48_000_000, u64::MAX]));
        stream.format.channels_per_packet_stream = dice.pick(&[0, 8, 8, u32::MAX]);
        if dice.below(4) == 0 {
            stream.legs = Legs::Only(vec![id("nowhere"), id("control")]);
        }
    }
    rig.querier(dice.pick(&["a", "nowhere"]), dice.pick(&names));
    rig
}

#[test]
fn nonsense_never_panics() {
    let mut dice = Dice(1);
    let (mut bounded, mut left_out) = (0, 0);
    for _ in 0..3_000 {
        let rig = nonsense(&mut dice);
        let fabric = Fabric::new(&rig.plan, &rig.wiring);
        left_out += fabric.left_out.len();
        let removed = match dice.below(3) {
            0 if !fabric.cables.is_empty() => Removed::default().with_cable(loomwright_forwarding::CableIx(0)),
            1 => Removed::default().with_dead_device(&fabric, loomwright_forwarding::DeviceIx(0)),
            _ => Removed::default(),
        };
        let forwarding = forward_without(&rig.plan, &rig.wiring, &fabric, &removed);
        let assumptions = Assumptions {
            other_frame: ByteCount::from_bytes(dice.pick(&[0, 1_542, u64::MAX])),
            has_clock_messages: dice.below(2) == 0,
            release_jitter: dice.pick(&[Time::ZERO, Time::from_milliseconds(5), Time::MAX]),
        };
        let delays = Delays::new(&System { plan: &rig.plan, fabric: &fabric, forwarding: &forwarding, leaders: &[] }, &assumptions);
        for (at, flow) in forwarding.flows.iter().enumerate() {
            for delivery in &flow.deliveries {
                bounded += usize::from(delays.bound(at, delivery.hop).is_ok());
                let sum: Time =
                    delays.hops(at, delivery.hop).iter().map(|hop| hop.serialise + hop.wait + hop.forward + hop.propagate).sum();
                assert!(delays.bound(at, delivery.hop).is_err() || Ok(sum) == delays.bound(at, delivery.hop).map(|bound| bound.worst));
                assert!(!flow.items_to(&fabric, *delivery).is_empty());
            }
        }
        for direction in (0..fabric.cables.len() as u32 * 2).map(Direction) {
            let _ = (delays.backlog(direction), delays.clock_wait(direction), delays.load(direction));
        }
    }
    assert!(bounded > 100 && left_out > 1_000, "{bounded} with a bound, {left_out} left out");
}
