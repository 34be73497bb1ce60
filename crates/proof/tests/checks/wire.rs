//! Bytes, rates and times on the wire.

use crate::row::Row;
use crate::rules;
use loomwright_forwarding::PacketStreams;
use loomwright_forwarding::packets::{LARGEST_WIRE, wire_bytes, wire_bytes_of_ip, wire_rate};
use loomwright_model::{BitRate, ByteCount, Frequency, Share, Time};

pub fn evaluate(row: &Row) -> Option<String> {
    Some(match row.topic.as_str() {
        "wire.bytes" => wire(row).bytes().to_string(),
        "wire.bitrate" => wire_rate(wire(row), row.get("samples"), hertz(row)).bits_per_second().to_string(),
        "wire.overhead_const" => overhead(&row.input).to_string(),
        "wire.max_fps" => frames_per_second(row).to_string(),
        "wire.max_channels" => most_channels(row).to_string(),
        "latency.serialise" => sent(row, row.get("bytes"), row.get("rate")),
        "qos.block_time" => {
            assert_eq!(row.get::<u64>("lower_frame_wire"), LARGEST_WIRE, "the frame that the delay bound counts with");
            sent(row, LARGEST_WIRE, row.get("rate"))
        }
        "link.load" => BitRate::from_bits_per_second(row.get("wire_bps_each")).times(row.get("streams")).bits_per_second().to_string(),
        "link.max_streams" => {
            let share = Share::from_fraction(row.get("share")).expect("a share");
            (share.of(row.get("rate")) / row.get::<u64>("wire_bps_each")).to_string()
        }
        _ => return None,
    })
}

fn wire(row: &Row) -> ByteCount {
    let payload = row.get::<u64>("ch") * row.get::<u64>("samples") * row.get::<u64>("bytes");
    wire_bytes(ByteCount::from_bytes(payload), row.get("vlan_tags"))
}

fn hertz(row: &Row) -> Frequency {
    Frequency::from_millihertz(row.get::<u64>("rate") * 1_000)
}

/// Header bytes of a frame, without what preamble and gap take: what is on the wire around the audio.
fn overhead(kind: &str) -> u64 {
    let tags = u32::from(kind == "rtp_one_tag");
    wire_bytes(ByteCount::from_bytes(1_000), tags).bytes() - 1_000
}

fn frames_per_second(row: &Row) -> u64 {
    /// Addresses, type and check sequence around an IP packet.
    const AROUND: u64 = 18;
    let wire = wire_bytes_of_ip(row.get::<u64>("frame") - AROUND, 0);
    let time = Time::to_send(wire, BitRate::from_bits_per_second(row.get("rate"))).expect("a rate");
    1_000_000_000_000 / time.picoseconds()
}

/// Channels in the first packet stream of a stream with very many.
fn most_channels(row: &Row) -> u32 {
    let (mut plan, _) = rules::two_networks("", "");
    let samples: u64 = row.get("samples");
    let stream = plan.streams.first_mut().expect("the plan has a stream").1;
    stream.channels = 1_000;
    stream.format.bits = row.get::<u8>("bytes") * 8;
    stream.format.packet_time = Time::from_picoseconds(samples * 1_000_000_000_000 / 48_000);
    stream.format.channels_per_packet_stream = u32::MAX;
    let packets = PacketStreams::new(&plan);
    assert_eq!(u64::from(packets.all[0].samples), samples, "{}", row.id);
    packets.all[0].channels
}

/// The published time if it is exactly what the bytes take, else the time they take.
fn sent(row: &Row, bytes: u64, rate: u64) -> String {
    let time = Time::to_send(ByteCount::from_bytes(bytes), BitRate::from_bits_per_second(rate)).expect("a rate");
    let published: Time = format!("{} us", row.expected).parse().expect("a time");
    if time == published { row.expected.clone() } else { time.to_string() }
}
