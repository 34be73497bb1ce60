//! Frames that should not be there: pauses, the same frame again and again, and floods of frames to everybody.

use crate::mac::Mac;
use crate::seen::{Moment, Seen};

/// A port that asks others to stop sending. **Source**: IEEE 802.3 annex 31B (read second-hand).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct PauseSender {
    /// When and where; `times` counts its frames.
    pub seen: Seen,
    /// Who.
    pub mac: Mac,
    /// Longest pause asked for. **Unit**: 512 bit times.
    pub longest: u16,
    /// Whether it paused by priority class (IEEE 802.1Qbb).
    pub by_class: bool,
}

/// The very same frame, seen again within a second: a loop, or two paths for one frame.
///
/// Frames that differ only in what every copy keeps are the same frame; a stream's packets differ in number and time.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Repeat {
    /// When and where; `times` counts all copies.
    pub seen: Seen,
    /// Its sender.
    pub mac: Mac,
    /// Where it went.
    pub to: Mac,
    /// Its EtherType, or its length if that is below 1536.
    pub ether_type: u16,
    /// Most copies within one second.
    pub most_per_second: u64,
    /// When those were.
    pub worst: Option<Moment>,
}

/// Many frames for everybody within one second, alike or not: a loop, or a box that floods.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Flood {
    /// When and where; `times` counts every frame for everybody on this interface.
    pub seen: Seen,
    /// Most within one second.
    pub most_per_second: u64,
    /// When that second began.
    pub worst: Option<Moment>,
    /// Senders within it, as many as are counted apart.
    pub senders: usize,
    /// The busiest of them, with its frames; `None` if there were more senders than are counted apart.
    pub busiest: Option<(Mac, u64)>,
}
