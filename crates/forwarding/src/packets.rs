//! How streams are cut into packet streams, and what one packet costs on the wire.

use loomwright_model::{BitRate, ByteCount, Frequency, Plan, Time};

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
    /// Exact time between packets.
    pub period: Time,
    /// Bytes a packet takes on the wire, untagged, with preamble and gap.
    pub wire: ByteCount,
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
    /// Cuts every stream of `plan` by its format's limits.
    pub fn new(_plan: &Plan) -> Self {
        Self::default()
    }
}

/// Bytes one frame of an RTP packet with `payload` audio bytes takes on the wire.
pub fn wire_bytes(_payload: ByteCount, _tags: u32) -> ByteCount {
    ByteCount::ZERO
}

/// Rate on the wire of packets of `wire` bytes, `samples` samples each at `rate`.
pub fn wire_rate(_wire: ByteCount, _samples: u32, _rate: Frequency) -> BitRate {
    BitRate::ZERO
}
