//! Precision-time messages and what they say about who leads. **Source**: IEEE 1588-2008 clause 13 (read second-hand).

use crate::mac::Mac;
use crate::seen::{Moment, Seen};
use std::fmt;
use std::net::IpAddr;
use std::str::FromStr;

/// A clock's identity: eight octets, mostly made from a hardware address.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClockIdentity(pub [u8; 8]);

impl ClockIdentity {
    /// The hardware address it was made from, if FF-FE stands in its middle. **Source**: RFC 7273 section 4.3 shows the form.
    pub const fn mac(self) -> Option<Mac> {
        match self.0 {
            [a, b, c, 0xff, 0xfe, d, e, f] => Some(Mac([a, b, c, d, e, f])),
            _ => None,
        }
    }
}

impl fmt::Display for ClockIdentity {
    /// As stream descriptions write it (RFC 7273): `39-A7-94-FF-FE-07-CB-D0`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0.map(|octet| format!("{octet:02X}")).join("-"))
    }
}

impl FromStr for ClockIdentity {
    type Err = ();

    /// Reads 16 hexadecimal digits with any of `-`, `:`, `.` and spaces between.
    fn from_str(text: &str) -> Result<Self, ()> {
        let digits: String = text.chars().filter(|c| !matches!(c, '-' | ':' | '.' | ' ')).collect();
        let is_plain = digits.len() == 16 && digits.bytes().all(|b| b.is_ascii_hexdigit());
        is_plain.then(|| u64::from_str_radix(&digits, 16).ok()).flatten().map(|value| Self(value.to_be_bytes())).ok_or(())
    }
}

impl serde::Serialize for ClockIdentity {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// One port of one clock that sends precision-time messages.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ClockSender {
    /// When and where.
    pub seen: Seen,
    /// The clock.
    pub identity: ClockIdentity,
    /// Its port.
    pub port: u16,
    /// The domain.
    pub domain: u8,
    /// The first octet's upper half and version: profiles of their own set it. **Source**: IEEE 1588-2008 clause 13.3.
    pub profile: u8,
    /// Version of the protocol.
    pub version: u8,
    /// What carries it.
    pub transport: Transport,
    /// Its network address.
    pub address: Option<IpAddr>,
    /// Its hardware address.
    pub mac: Option<Mac>,
    /// The VLAN tag.
    pub vlan: Option<u16>,
    /// Code points of its event messages (Sync, Delay_Req), in rising order.
    pub event_code_points: Vec<u8>,
    /// Code points of its general messages, in rising order.
    pub general_code_points: Vec<u8>,
    /// How many of each.
    pub messages: MessageCounts,
    /// What it announced last: it leads or would lead.
    pub announce: Option<Announce>,
    /// When it first and last announced.
    pub announced: Option<(Moment, Moment)>,
    /// Announce interval that it states. **Unit**: power of two of a second.
    pub announce_interval: Option<i8>,
    /// Sync interval that it states. **Unit**: power of two of a second.
    pub sync_interval: Option<i8>,
    /// Whether its Sync messages come with a Follow_Up.
    pub is_two_step: Option<bool>,
    /// Whom it answers: clocks named in its Delay_Resp, in rising order (at most 64).
    pub answers: Vec<ClockIdentity>,
}

/// What carries the messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Transport {
    /// UDP on IPv4 (IEEE 1588-2008 annex D).
    Udp4,
    /// UDP on IPv6 (annex E).
    Udp6,
    /// Ethernet (annex F).
    Ethernet,
}

/// How many of each message. **Source**: IEEE 1588-2008 table 19.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct MessageCounts {
    /// Sync.
    pub sync: u64,
    /// Delay_Req: this clock follows.
    pub delay_request: u64,
    /// Pdelay_Req.
    pub peer_request: u64,
    /// Pdelay_Resp and its Follow_Up.
    pub peer_response: u64,
    /// Follow_Up.
    pub follow_up: u64,
    /// Delay_Resp.
    pub delay_response: u64,
    /// Announce.
    pub announce: u64,
    /// Signalling.
    pub signalling: u64,
    /// Management.
    pub management: u64,
    /// Anything else.
    pub other: u64,
}

/// What a leader says about the clock it takes time from. **Source**: IEEE 1588-2008 clause 13.5, table 25.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Announce {
    /// The clock at the top.
    pub leader: ClockIdentity,
    /// First priority, lower wins.
    pub priority1: u8,
    /// Class.
    pub class: u8,
    /// Accuracy.
    pub accuracy: u8,
    /// Variance.
    pub variance: u16,
    /// Second priority.
    pub priority2: u8,
    /// Clocks between the sender and the top.
    pub steps: u16,
    /// Where the top takes its time from.
    pub time_source: u8,
    /// TAI less UTC, where it says that it knows. **Unit**: second.
    pub utc_offset: Option<i16>,
}

/// How a clock's own management says it stands.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct ClockState {
    /// When and where.
    pub seen: Seen,
    /// The clock.
    pub identity: ClockIdentity,
    /// Its domain.
    pub domain: Option<u8>,
    /// Its port's state in the standard's word; one port only.
    pub port_state: Option<String>,
    /// Whom it follows.
    pub parent: Option<ClockIdentity>,
    /// The clock at the top, as it knows it.
    pub leader: Option<ClockIdentity>,
    /// Its own first priority.
    pub priority1: Option<u8>,
    /// Clocks between it and the top.
    pub steps: Option<u16>,
    /// Its offset from its leader, as it measured it. **Unit**: nanosecond.
    pub offset: Option<i64>,
    /// Its mean path delay. **Unit**: nanosecond.
    pub path_delay: Option<i64>,
}
