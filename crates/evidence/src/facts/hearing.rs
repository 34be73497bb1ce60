//! What a receiver or a person says was heard.

use crate::seen::Seen;
use std::net::Ipv4Addr;

/// What a receiver counted of one group.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Received {
    /// When and where.
    pub seen: Seen,
    /// The receiver.
    pub host: String,
    /// The group.
    pub group: Ipv4Addr,
    /// UDP port.
    pub udp_port: u16,
    /// Packets that came.
    pub packets: u64,
    /// Packets that did not.
    pub lost: u64,
    /// RTP senders heard.
    pub senders: Vec<u32>,
    /// Longest silence. **Unit**: nanosecond.
    pub longest_gap: Option<u64>,
    /// Silence at the end of its listening. **Unit**: nanosecond.
    pub silent_at_end: Option<u64>,
    /// Interarrival jitter. **Unit**: nanosecond.
    pub jitter: Option<u64>,
}

/// What a person heard or missed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Hearing {
    /// When and where.
    pub seen: Seen,
    /// The receiver, as the person wrote it.
    pub receiver: String,
    /// The stream; `None` means everything.
    pub stream: Option<String>,
    /// Whether it was heard.
    pub is_heard: bool,
}
