//! The newer capture format: blocks in sections; each section and interface has its own byte order, names and clock steps.

use super::{LONGEST, Step, Stored};
use crate::evidence::CaptureInterface;
use crate::seen::{Moment, Spot};
use pcap_parser::nom::Err;
use pcap_parser::pcapng::{Block, parse_block_be, parse_block_le, parse_sectionheaderblock};
use pcap_parser::traits::PcapNGPacketBlock;

/// Block type and length at both ends. **Source**: draft-ietf-opsawg-pcapng section 3.1 (from memory).
const SMALLEST: usize = 12;
/// Type of a section's header: reads the same in both byte orders. **Source**: as before, section 4.1.
const SECTION: [u8; 4] = [0x0a, 0x0d, 0x0d, 0x0a];
/// Byte-order mark as it stands in a big-endian section. **Source**: as before.
const BIG_ENDIAN: [u8; 4] = [0x1a, 0x2b, 0x3c, 0x4d];
/// Most interfaces that are kept. **Source**: own choice: a damaged file must not fill the memory.
const MOST_INTERFACES: usize = 4_096;

/// One interface as a section describes it.
struct Interface {
    described: CaptureInterface,
    /// Steps of its clock in a second.
    steps: u64,
    /// **Unit**: second.
    offset: i64,
    /// Its number in the whole file.
    number: u32,
}

/// A file of the newer format.
#[derive(Default)]
pub struct PcapNg {
    is_big_endian: bool,
    begun: bool,
    passed: u64,
    frames: u64,
    all: Vec<CaptureInterface>,
    /// Those of the section at hand.
    interfaces: Vec<Interface>,
    /// Blocks passed over.
    pub skipped: Option<(Spot, &'static str, u64)>,
}

impl PcapNg {
    /// The next block.
    pub fn step<'a>(&mut self, octets: &'a [u8]) -> Step<'a> {
        let size = match self.size(octets) {
            Ok(Some(size)) => size,
            Ok(None) => return Step::More,
            Err(why) => return Step::Broken(why),
        };
        let Some(block) = octets.get(..size) else { return Step::More };
        let at = self.passed;
        self.passed = self.passed.saturating_add(u64::try_from(size).unwrap_or(u64::MAX));
        let parsed = match (block.starts_with(&SECTION), self.is_big_endian) {
            (true, _) => parse_sectionheaderblock(block).map(|(rest, header)| (rest, Block::SectionHeader(header))),
            (false, true) => parse_block_be(block),
            (false, false) => parse_block_le(block),
        };
        match parsed {
            Ok((_, block)) => self.block(block, size, at),
            Err(Err::Incomplete(_) | Err::Error(_) | Err::Failure(_)) => {
                self.skip(at, "a block's insides make no sense; passed over");
                Step::Passed(size)
            }
        }
    }

    /// The size of the block at the front, once known.
    fn size(&mut self, octets: &[u8]) -> Result<Option<usize>, String> {
        let Some(&[a, b, c, d, e, f, g, h, i, j, k, l]) = octets.first_chunk::<SMALLEST>() else { return Ok(None) };
        if [a, b, c, d] == SECTION {
            self.is_big_endian = [i, j, k, l] == BIG_ENDIAN;
            self.begun = true;
        } else if !self.begun {
            return Err("the capture does not begin with a section".to_owned());
        }
        let told = [e, f, g, h];
        let size = if self.is_big_endian { u32::from_be_bytes(told) } else { u32::from_le_bytes(told) };
        match usize::try_from(size) {
            Ok(size) if (SMALLEST..=LONGEST).contains(&size) && size % 4 == 0 => Ok(Some(size)),
            _ => Err(format!("a block of {size} octets cannot be: the file is damaged from here on")),
        }
    }

    fn block<'a>(&mut self, block: Block<'a>, size: usize, at: u64) -> Step<'a> {
        match block {
            Block::SectionHeader(_) => self.interfaces.clear(),
            Block::InterfaceDescription(described) => self.interface(&described, at),
            Block::EnhancedPacket(packet) => {
                let ticks = u64::from(packet.ts_high) << 32 | u64::from(packet.ts_low);
                let stored = shortened(packet.data, packet.caplen);
                let length = packet.origlen.max(packet.caplen);
                return self.frame(Packet { interface: packet.if_id, ticks: Some(ticks), stored, length }, size, at);
            }
            Block::SimplePacket(packet) => {
                let longest = self.interfaces.first().map_or(0, |interface| interface.described.longest_stored);
                let most = if longest == 0 { packet.orig_len() } else { packet.orig_len().min(longest) };
                let stored = shortened(packet.data, most);
                return self.frame(Packet { interface: 0, ticks: None, stored, length: packet.orig_len() }, size, at);
            }
            _ => {}
        }
        Step::Passed(size)
    }

    fn interface(&mut self, described: &pcap_parser::pcapng::InterfaceDescriptionBlock<'_>, at: u64) {
        if self.all.len() >= MOST_INTERFACES {
            self.skip(at, "more interfaces than are kept");
            return;
        }
        let name = described.if_name().and_then(Result::ok).map(|name| crate::bytes::text(name.as_bytes()));
        let link_type = u32::try_from(described.linktype.0).unwrap_or(u32::MAX);
        let kept = CaptureInterface { name, link_type, longest_stored: described.snaplen };
        self.all.push(kept.clone());
        let number = u32::try_from(self.all.len().saturating_sub(1)).unwrap_or(u32::MAX);
        let steps = described.ts_resolution().filter(|&steps| steps > 0).unwrap_or(1_000_000);
        self.interfaces.push(Interface { described: kept, steps, offset: described.ts_offset(), number });
    }

    fn frame<'a>(&mut self, packet: Packet<'a>, size: usize, at: u64) -> Step<'a> {
        self.frames = self.frames.saturating_add(1);
        let interface = usize::try_from(packet.interface).ok().and_then(|n| self.interfaces.get(n));
        let Some(interface) = interface else {
            self.skip(at, "a frame of an interface that is not described; passed over");
            return Step::Passed(size);
        };
        let time = packet.ticks.map(|ticks| interface.moment(ticks));
        let stored = Stored {
            number: self.frames,
            time,
            interface: interface.number,
            link_type: interface.described.link_type,
            octets: packet.stored,
            length: packet.length,
        };
        Step::Frame(stored, size)
    }

    fn skip(&mut self, at: u64, why: &'static str) {
        let (spot, why, times) = self.skipped.unwrap_or((Spot::Offset(at), why, 0));
        self.skipped = Some((spot, why, times.saturating_add(1)));
    }

    /// Every interface of the file.
    pub fn described(&self) -> Vec<CaptureInterface> {
        self.all.clone()
    }
}

struct Packet<'a> {
    interface: u32,
    ticks: Option<u64>,
    stored: &'a [u8],
    length: u32,
}

fn shortened(octets: &[u8], stored: u32) -> &[u8] {
    usize::try_from(stored).ok().and_then(|stored| octets.get(..stored)).unwrap_or(octets)
}

impl Interface {
    fn moment(&self, ticks: u64) -> Moment {
        let nanoseconds = u128::from(ticks) * 1_000_000_000 / u128::from(self.steps.max(1));
        let offset = i128::from(self.offset) * 1_000_000_000;
        let moment = i128::try_from(nanoseconds).unwrap_or(i128::MAX).saturating_add(offset);
        Moment(u64::try_from(moment.max(0)).unwrap_or(u64::MAX))
    }
}
