//! How streams are cut into packet streams, and what one packet costs on the wire.

use loomwright_model::{BitRate, ByteCount, Frequency, Plan, StreamFormat, Time};

/// Preamble and start delimiter. **Source**: IEEE 802.3 clause 3.2 (RFC 2544 appendix B gives 64 bit).
pub const PREAMBLE: u64 = 8;
/// Gap between frames. **Source**: IEEE 802.3 clause 4.4.2; the frame rates of RFC 2544 appendix B need it.
pub const GAP: u64 = 12;
/// Destination, source and type. **Source**: IEEE 802.3 clause 3.2 (from memory; agrees with RFC 894).
pub const MAC_HEADER: u64 = 14;
/// One VLAN tag. **Source**: IEEE 802.1Q (read second-hand).
pub const TAG: u64 = 4;
/// Frame check sequence. **Source**: IEEE 802.3 clause 3.2.9 (from memory).
pub const CHECK: u64 = 4;
/// Smallest frame. **Source**: RFC 894, RFC 2544.
pub const SMALLEST_FRAME: u64 = 64;
/// Largest IP packet. **Source**: RFC 894.
pub const MTU: u64 = 1_500;
/// IPv4 (RFC 791 section 3.1), UDP (RFC 768) and RTP (RFC 3550 section 5.1) headers without options.
pub const RTP_HEADERS: u64 = 20 + 8 + 12;
/// Most audio bytes in one packet. **Source**: AES67 (from memory; agrees with its 120 channels of 16 bit at 125 us).
pub const MOST_PAYLOAD: u64 = 1_440;
/// A full frame with one tag, on the wire: what a lower class can block a port with.
/// **Source**: 1518 (RFC 2544) + tag + preamble + gap; IEEE 802.1 slides of January 2011 give its 12.336 us at 1 Gb/s.
pub const LARGEST_WIRE: u64 = 1_518 + TAG + PREAMBLE + GAP;

/// One packet stream: what one sender sends to one group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PacketStream {
    /// Index of its stream in the plan's order.
    pub stream: u32,
    /// Its number within the stream, from 1.
    pub number: u32,
    /// Channels it carries.
    pub channels: u32,
    /// Samples of each channel in one packet.
    pub samples: u32,
    /// Audio bytes in one packet.
    pub payload: ByteCount,
    /// Time between packets, rounded down to a picosecond where it is no whole number.
    pub period: Time,
    /// Bytes a packet takes on the wire, untagged, with preamble and gap.
    pub wire: ByteCount,
}

impl PacketStream {
    /// Whether its packets keep to the payload that every receiver takes, and so to the MTU.
    pub fn fits(&self) -> bool {
        self.payload.bytes() <= MOST_PAYLOAD
    }

    /// Its rate on the wire, with `tags` VLAN tags; `rate` is the stream's sample rate.
    pub fn wire_rate(&self, tags: u32, rate: Frequency) -> BitRate {
        wire_rate(wire_bytes(self.payload, tags), self.samples, rate)
    }
}

/// All packet streams of a plan.
#[derive(Debug, Clone, Default)]
pub struct PacketStreams {
    /// In the order of the plan's streams.
    pub all: Vec<PacketStream>,
    /// First packet stream of each stream, one longer than the plan's streams.
    pub first: Vec<u32>,
}

impl PacketStreams {
    /// Cuts every stream of `plan` by its format's limits: full packet streams first, the rest in the
    /// last. A packet stream holds no more channels than fit the payload limit; where not even one
    /// does, it stays at one and [`PacketStream::fits`] is false.
    pub fn new(plan: &Plan) -> Self {
        let mut packets = Self::default();
        for (at, stream) in plan.streams.values().enumerate() {
            packets.first.push(packets.all.len() as u32);
            packets.cut(at as u32, stream.channels, &stream.format);
        }
        packets.first.push(packets.all.len() as u32);
        packets
    }

    /// Packet streams of one stream.
    pub fn of(&self, stream: usize) -> &[PacketStream] {
        &self.all[self.first[stream] as usize..self.first[stream + 1] as usize]
    }

    fn cut(&mut self, stream: u32, channels: u32, format: &StreamFormat) {
        let samples = samples_per_packet(format.sample_rate, format.packet_time);
        let channel_bytes = u64::from(samples) * u64::from(format.bits).div_ceil(8);
        let room = MOST_PAYLOAD.checked_div(channel_bytes).unwrap_or(MOST_PAYLOAD).max(1);
        let most = room.min(u64::from(format.channels_per_packet_stream.max(1))) as u32;
        let period = period(samples, format.sample_rate);
        let (mut left, mut number) = (channels, 1);
        while left > 0 {
            let channels = left.min(most);
            let payload = ByteCount::from_bytes(channel_bytes * u64::from(channels));
            self.all.push(PacketStream { stream, number, channels, samples, payload, period, wire: wire_bytes(payload, 0) });
            left -= channels;
            number += 1;
        }
    }
}

/// Samples of one channel in a packet of nominal length `packet_time`.
///
/// Rates a little off a binary multiple of 48 kHz (44.1 and 88.2 kHz, pulled rates) keep the sample
/// count of that multiple, and the packet time stretches. **Source**: AES67 (rule from memory).
pub fn samples_per_packet(rate: Frequency, packet_time: Time) -> u32 {
    let nominal = u128::from(nominal_millihertz(rate.millihertz()));
    // Picoseconds times millihertz: 10^15 to the sample.
    let samples = (u128::from(packet_time.picoseconds()) * nominal + 500_000_000_000_000) / 1_000_000_000_000_000;
    u32::try_from(samples).unwrap_or(u32::MAX).max(1)
}

fn nominal_millihertz(rate: u64) -> u64 {
    [24_000_000u64, 48_000_000, 96_000_000, 192_000_000, 384_000_000]
        .into_iter()
        .find(|nominal| rate.abs_diff(*nominal) <= nominal / 10)
        .unwrap_or(rate)
}

/// Time that `samples` last at `rate`, rounded down, so that an analysis never counts too few packets.
fn period(samples: u32, rate: Frequency) -> Time {
    let picoseconds = u128::from(samples) * 1_000_000_000_000_000;
    let period = picoseconds.checked_div(u128::from(rate.millihertz())).unwrap_or(u128::from(u64::MAX));
    Time::from_picoseconds(u64::try_from(period).unwrap_or(u64::MAX))
}

/// Bytes one frame of an RTP packet with `payload` audio bytes takes on the wire.
pub fn wire_bytes(payload: ByteCount, tags: u32) -> ByteCount {
    wire_bytes_of_ip(payload.bytes().saturating_add(RTP_HEADERS), tags)
}

/// Bytes one frame with an IP packet of `length` bytes takes on the wire.
pub fn wire_bytes_of_ip(length: u64, tags: u32) -> ByteCount {
    let frame = length.saturating_add(MAC_HEADER + TAG * u64::from(tags) + CHECK).max(SMALLEST_FRAME);
    ByteCount::from_bytes(frame.saturating_add(PREAMBLE + GAP))
}

/// Rate on the wire of packets of `wire` bytes, `samples` samples each at `rate`, rounded up.
pub fn wire_rate(wire: ByteCount, samples: u32, rate: Frequency) -> BitRate {
    let bits = u128::from(wire.bytes()) * 8 * u128::from(rate.millihertz());
    let rate = bits.div_ceil(u128::from(samples.max(1)) * 1_000);
    BitRate::from_bits_per_second(u64::try_from(rate).unwrap_or(u64::MAX))
}
