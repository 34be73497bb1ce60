//! From plan and wiring to a fabric, and from streams to packet streams.

mod rig;

use loomwright_forwarding::fabric::{Fabric, NetworkIx, NodeKind};
use loomwright_forwarding::packets::{PacketStreams, samples_per_packet, wire_bytes, wire_rate};
use loomwright_model::{ByteCount, Frequency, Pairing, Time};
use rig::Rig;

fn fabric(rig: &Rig) -> Fabric {
    Fabric::new(&rig.plan, &rig.wiring)
}

#[test]
fn a_chained_device_is_one_node_and_an_independent_one_two() {
    let mut rig = Rig::new();
    rig.device("chained", "box", None).device("apart", "box", Some(Pairing::Independent));
    rig.switch("sw-a", "smart", "a").switch("sw-b", "smart", "b");
    rig.cables("A1 chained/1 sw-a/1 a\n A2 apart/1 sw-a/2 a\n B2 apart/2 sw-b/2 b");
    let fabric = fabric(&rig);
    let kinds: Vec<_> = fabric.nodes.iter().map(|node| node.kind).collect();
    assert_eq!(kinds.iter().filter(|kind| matches!(kind, NodeKind::Chained(_))).count(), 1);
    assert_eq!(kinds.iter().filter(|kind| matches!(kind, NodeKind::Interface(..))).count(), 2);
    let networks = |device: usize| fabric.audio[device].iter().map(|a| a.network).collect::<Vec<_>>();
    assert_eq!((networks(0), networks(1)), (vec![NetworkIx(0)], vec![NetworkIx(0), NetworkIx(1)]));
    assert_eq!(fabric.control[1].map(|c| c.node), Some(fabric.audio[1][0].node), "control is merged with port 1");
    assert!(fabric.left_out.is_empty() && fabric.joins.is_empty());
    assert_eq!(fabric.cables[0].propagation, Time::from_nanoseconds(50), "10 m of copper at 5 ns/m");
}

#[test]
fn a_wrong_plug_joins_two_networks() {
    let mut rig = Rig::new();
    rig.device("desk", "box", Some(Pairing::Independent)).switch("sw-b", "smart", "b");
    rig.cables("A1 desk/1 sw-b/1 a");
    let fabric = fabric(&rig);
    assert_eq!(fabric.joins.len(), 1);
    let join = fabric.joins[0];
    assert_eq!((join.end, join.network, join.meets), (1, NetworkIx(0), NetworkIx(1)));
}

#[test]
fn what_cannot_be_wired_is_left_out_with_a_reason() {
    let mut rig = Rig::new();
    rig.device("desk", "box", None).switch("sw", "smart", "a control").switch("far", "smart", "a");
    rig.cables(
        "X1 desk/3 sw/1 a
         X2 desk/1 sw/99 a
         X3 desk/1 ghost/1 a
         X4 desk/1 sw/1 b
         X5 desk/1 desk/1 a
         OK desk/1 sw/1 a
         X6 desk/2 sw/1 a
         T1 sw/9 far/9 a control",
    );
    let fabric = fabric(&rig);
    let cables: Vec<&str> = fabric.cables.iter().map(|cable| cable.id.as_str()).collect();
    assert_eq!(cables, ["OK", "T1"]);
    for (name, words) in [
        ("X1", "no port"),
        ("X2", "no port"),
        ("X3", "not known"),
        ("X4", "does not carry network `b`"),
        ("X5", "both ends"),
        ("X6", "taken by cable `OK`"),
        ("T1", "`far` does not carry network `control`"),
    ] {
        assert!(fabric.left_out.iter().any(|(id, reason)| id.as_str() == name && reason.contains(words)), "{name}: {:?}", fabric.left_out);
    }
    assert_eq!(fabric.links_of(loomwright_forwarding::CableIx(1)).len(), 1);
}

/// **Source**: facts of IEEE 802.3 and RFC 791, 768, 3550: 78 bytes around the audio, 82 with a tag.
#[test]
fn wire_cost_is_exact() {
    for (rate, micros, bits, channels, payload, wire, bps) in [
        (48_000_000, 1_000, 24, 8, 1_152, 1_230, 9_840_000),
        (48_000_000, 1_000, 24, 2, 288, 366, 2_928_000),
        (48_000_000, 333, 24, 8, 384, 462, 11_088_000),
        (48_000_000, 125, 16, 1, 12, 90, 5_760_000),
        (96_000_000, 250, 24, 8, 576, 654, 20_928_000),
        (44_100_000, 1_000, 24, 8, 1_152, 1_230, 9_040_500),
        (44_100_000, 1_000, 16, 8, 768, 846, 6_218_100),
    ] {
        let rate = Frequency::from_millihertz(rate);
        let samples = samples_per_packet(rate, Time::from_microseconds(micros));
        let bytes = ByteCount::from_bytes(u64::from(samples) * channels * bits / 8);
        assert_eq!((bytes.bytes(), wire_bytes(bytes, 0).bytes()), (payload, wire));
        assert_eq!(wire_rate(wire_bytes(bytes, 0), samples, rate).bits_per_second(), bps);
    }
    assert_eq!(wire_bytes(ByteCount::from_bytes(1_152), 1).bytes(), 1_234);
    assert_eq!(wire_bytes(ByteCount::from_bytes(1), 0).bytes(), 84, "the smallest frame is 64 bytes");
}

#[test]
fn streams_are_cut_by_channels_and_payload() {
    let mut rig = Rig::new();
    rig.device("x", "one", None).device("y", "one", None).stream("s", "x y", loomwright_model::plan::Mode::Multicast);
    let mut cut = |channels, most, packet_time, bits| {
        let stream = &mut rig.plan.streams[0];
        stream.channels = channels;
        stream.format.channels_per_packet_stream = most;
        stream.format.packet_time = packet_time;
        stream.format.bits = bits;
        let packets = PacketStreams::new(&rig.plan);
        assert_eq!(packets.of(0).len(), packets.all.len());
        (packets.all.iter().map(|p| p.channels).collect::<Vec<_>>(), packets.all.iter().all(|p| p.fits()))
    };
    let ms = Time::from_milliseconds;
    assert_eq!(cut(20, 8, ms(1), 24), (vec![8, 8, 4], true));
    assert_eq!(cut(20, 16, ms(1), 24), (vec![10, 10], true), "no more than 10 channels fit 1440 bytes");
    assert_eq!(cut(4, 8, ms(4), 24), (vec![2, 2], true));
    assert_eq!(cut(2, 8, ms(20), 24), (vec![1, 1], false), "one channel alone is too long");
    assert_eq!(cut(0, 8, ms(1), 24), (vec![], true));
}
