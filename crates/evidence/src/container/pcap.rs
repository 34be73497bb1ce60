//! The older capture format: a header of 24 octets, then frames with a header of 16 octets each.

use super::{LONGEST, Step, Stored};
use crate::evidence::CaptureInterface;
use crate::seen::Moment;
use pcap_parser::{PcapHeader, parse_pcap_header};

/// Octets of the file's header and of each frame's. **Source**: draft-ietf-opsawg-pcap sections 4 and 5 (from memory).
const FILE_HEADER: usize = 24;
const FRAME_HEADER: usize = 16;
/// The kind of header sits in the lower bits; the upper ones say how long check sequences are. **Source**: as before.
const LINK_TYPE_BITS: u32 = 0x0fff_ffff;

/// A file of the older format.
#[derive(Default)]
pub struct Pcap {
    /// Its only interface.
    pub interface: Option<CaptureInterface>,
    is_big_endian: bool,
    is_nanosecond: bool,
    frames: u64,
}

impl Pcap {
    /// The next frame.
    pub fn step<'a>(&mut self, octets: &'a [u8]) -> Step<'a> {
        let Some(interface) = &self.interface else { return self.header(octets) };
        let link_type = interface.link_type;
        let Some(header) = octets.first_chunk::<FRAME_HEADER>() else { return Step::More };
        let [seconds, fraction, stored, length] = self.numbers(header);
        let size = usize::try_from(stored).unwrap_or(usize::MAX);
        if size > LONGEST {
            return Step::Broken(format!("a frame of {stored} octets cannot be: the file is damaged from here on"));
        }
        let Some(frame) = octets.get(FRAME_HEADER..FRAME_HEADER + size) else { return Step::More };
        self.frames = self.frames.saturating_add(1);
        let fraction = u64::from(fraction).saturating_mul(if self.is_nanosecond { 1 } else { 1_000 });
        let time = Moment(u64::from(seconds).saturating_mul(1_000_000_000).saturating_add(fraction));
        let stored = Stored { number: self.frames, time: Some(time), interface: 0, link_type, octets: frame, length: length.max(stored) };
        Step::Frame(stored, FRAME_HEADER + size)
    }

    /// Seconds, fraction, stored length and length on the wire. **Source**: draft-ietf-opsawg-pcap section 5 (from memory).
    fn numbers(&self, header: &[u8; FRAME_HEADER]) -> [u32; 4] {
        let (words, _) = header.as_chunks::<4>();
        let mut numbers = [0; 4];
        for (number, word) in numbers.iter_mut().zip(words) {
            *number = if self.is_big_endian { u32::from_be_bytes(*word) } else { u32::from_le_bytes(*word) };
        }
        numbers
    }

    fn header<'a>(&mut self, octets: &'a [u8]) -> Step<'a> {
        if octets.len() < FILE_HEADER {
            return Step::More;
        }
        match parse_pcap_header(octets) {
            Ok((_, header)) => {
                self.begin(&header);
                Step::Passed(FILE_HEADER)
            }
            Err(_) => Step::Broken("the capture's header makes no sense".to_owned()),
        }
    }

    fn begin(&mut self, header: &PcapHeader) {
        self.is_big_endian = header.is_bigendian();
        self.is_nanosecond = header.is_nanosecond_precision();
        let link_type = u32::from_ne_bytes(header.network.0.to_ne_bytes()) & LINK_TYPE_BITS;
        self.interface = Some(CaptureInterface { name: None, link_type, longest_stored: header.snaplen });
    }
}
