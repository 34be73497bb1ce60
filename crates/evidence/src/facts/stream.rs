//! Streams: what is announced and what really flows.

use crate::mac::Mac;
use crate::seen::Seen;
use std::net::{IpAddr, Ipv4Addr};

/// A stream description that a sender announces. **Source**: SAP (RFC 2974), SDP (RFC 8866).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Announcement {
    /// When and where.
    pub seen: Seen,
    /// Who announces it: the origin in the announcement, else the packet's sender.
    pub from: Option<IpAddr>,
    /// The announcer's hardware address.
    pub mac: Option<Mac>,
    /// The VLAN tag.
    pub vlan: Option<u16>,
    /// The announcement's hash: same text, same hash.
    pub hash: u16,
    /// Whether the last word was that it is over.
    pub is_deleted: bool,
    /// The session's name.
    pub name: String,
    /// The session's number and version, and the address in its origin line.
    pub origin: Option<(u64, u64, String)>,
    /// Media, in the order given. Two in one group of duplicates are the two legs of one stream (RFC 7104).
    pub media: Vec<Media>,
    /// Media that are duplicates of each other, by `mid`.
    pub duplicates: Vec<Vec<String>>,
}

/// One medium of a description.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Media {
    /// `audio` or another kind.
    pub kind: String,
    /// The group or host it is sent to.
    pub group: Option<IpAddr>,
    /// How many hops it may travel.
    pub hops: Option<u8>,
    /// UDP port.
    pub udp_port: u16,
    /// The one sender that receivers shall listen to (`a=source-filter`, RFC 4570).
    pub sender: Option<IpAddr>,
    /// RTP payload type, the first one named.
    pub payload_type: Option<u8>,
    /// Encoding, such as `L24`.
    pub encoding: Option<String>,
    /// **Unit**: hertz.
    pub sample_rate: Option<u32>,
    /// Channels.
    pub channels: Option<u16>,
    /// Time in one packet. **Unit**: nanosecond.
    pub packet_time: Option<u64>,
    /// The clock it is tied to, as written (`a=ts-refclk`, RFC 7273).
    pub reference_clock: Option<String>,
    /// How its clock relates to it, as written (`a=mediaclk`).
    pub media_clock: Option<String>,
    /// Its name within the session.
    pub mid: Option<String>,
    /// Its title.
    pub title: Option<String>,
}

/// One run of UDP packets from one sender to one address and port, as it passed the place of the capture.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Flow {
    /// When and where; `times` is the number of packets.
    pub seen: Seen,
    /// Index of the capture's interface.
    pub interface: u32,
    /// The sender's hardware address.
    pub mac: Option<Mac>,
    /// The sender.
    pub sender: Ipv4Addr,
    /// The group or receiver.
    pub destination: Ipv4Addr,
    /// UDP ports: from, to.
    pub udp_ports: (u16, u16),
    /// The VLAN tag.
    pub vlan: Option<u16>,
    /// Code points seen, in rising order.
    pub code_points: Vec<u8>,
    /// Hops left: smallest and largest seen.
    pub hops_left: (u8, u8),
    /// Octets of the frames as they were on the wire, without preamble and check sequence.
    pub octets: u64,
    /// Shortest and longest frame. **Unit**: octet.
    pub frame_octets: (u32, u32),
    /// Longest silence. **Unit**: nanosecond.
    pub longest_gap: u64,
    /// Packets that came in pieces.
    pub fragmented: u64,
    /// RTP senders within it, by their number; empty if it is no RTP. More than one is a clash.
    pub rtp: Vec<Rtp>,
}

/// One RTP sender. **Source**: RFC 3550 sections 5.1, 6.4.1 and appendix A.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Rtp {
    /// The number that it gave itself.
    pub ssrc: u32,
    /// Payload types seen, in rising order.
    pub payload_types: Vec<u8>,
    /// Packets.
    pub packets: u64,
    /// When the first and the last came.
    pub first: Option<crate::seen::Moment>,
    /// When the last came.
    pub last: Option<crate::seen::Moment>,
    /// Sequence number of the first packet.
    pub first_sequence: u16,
    /// Packets that should have come: highest sequence number less the first, and one (appendix A.3).
    pub expected: u64,
    /// Packets expected that never came. A packet that comes twice is not counted as two.
    pub lost: u64,
    /// Runs of packets lost together.
    pub gaps: u64,
    /// Most packets lost together.
    pub longest_loss: u64,
    /// Packets that came after a later one.
    pub reordered: u64,
    /// Packets that came twice.
    pub duplicates: u64,
    /// Breaks: the sender began again.
    pub restarts: u64,
    /// Interarrival jitter at the end, in media time. **Unit**: nanosecond; `None` without clock or known sample rate.
    pub jitter: Option<u64>,
    /// Greatest jitter. **Unit**: nanosecond.
    pub greatest_jitter: Option<u64>,
    /// Samples from one packet to the next, the most common step.
    pub samples_per_packet: Option<u32>,
    /// The sample rate used for the jitter: as announced, else the nearest usual rate to what was measured. **Unit**: hertz.
    pub sample_rate: Option<u32>,
    /// Payload octets of a packet, the last one's; `None` in a shortened capture.
    pub payload_octets: Option<u32>,
    /// Longest time between two packets. **Unit**: nanosecond.
    pub longest_gap: u64,
}
