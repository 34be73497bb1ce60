//! The two capture formats: octets in, frames out, piece by piece.
//!
//! **Source**: draft-ietf-opsawg-pcap and draft-ietf-opsawg-pcapng; the octets are taken apart by the `pcap-parser` crate.

mod pcap;
mod pcapng;

use crate::evidence::CaptureInterface;
use crate::seen::{Moment, Spot};
use crate::sniff::Format;

/// Longest frame or block that is taken for real. **Unit**: octet. **Source**: own choice; the formats' usual snap length is 262,144.
pub const LONGEST: usize = 16 * 1024 * 1024;

/// One frame as it was stored.
#[derive(Debug, Clone, Copy)]
pub struct Stored<'a> {
    /// From 1, in the whole file.
    pub number: u64,
    /// When; `None` where the format gave no time.
    pub time: Option<Moment>,
    /// Index of its interface.
    pub interface: u32,
    /// What kind of header it begins with.
    pub link_type: u32,
    /// What was stored.
    pub octets: &'a [u8],
    /// How long it was on the wire.
    pub length: u32,
}

/// What a step through the octets gave.
pub enum Step<'a> {
    /// A frame, and how many octets it took.
    Frame(Stored<'a>, usize),
    /// Something else of so many octets.
    Passed(usize),
    /// Not enough octets yet.
    More,
    /// Nothing can be read from here on, and why.
    Broken(String),
}

/// A capture of either format.
pub enum Container {
    /// The older one.
    Pcap(pcap::Pcap),
    /// The newer one.
    PcapNg(pcapng::PcapNg),
}

impl Container {
    /// Ready for the first octet; `None` if the format is no capture.
    pub fn new(format: Format) -> Option<Self> {
        match format {
            Format::Pcap => Some(Self::Pcap(pcap::Pcap::default())),
            Format::PcapNg => Some(Self::PcapNg(pcapng::PcapNg::default())),
            _ => None,
        }
    }

    /// The next frame or block at the front of `octets`.
    pub fn step<'a>(&mut self, octets: &'a [u8]) -> Step<'a> {
        match self {
            Self::Pcap(pcap) => pcap.step(octets),
            Self::PcapNg(pcapng) => pcapng.step(octets),
        }
    }

    /// The interfaces described so far.
    pub fn interfaces(&self) -> Vec<CaptureInterface> {
        match self {
            Self::Pcap(pcap) => pcap.interface.clone().into_iter().collect(),
            Self::PcapNg(pcapng) => pcapng.described(),
        }
    }

    /// Blocks that were passed over because their insides made no sense: where the first stood, what is wrong, how many.
    pub fn skipped(&self) -> Option<(Spot, &'static str, u64)> {
        match self {
            Self::Pcap(_) => None,
            Self::PcapNg(pcapng) => pcapng.skipped,
        }
    }
}
