//! Ethernet, its VLAN tags and its two ways to say what is inside; and the headers that Linux writes in its place.

use crate::bytes::Octets;
use crate::container::Stored;
use crate::mac::Mac;

/// EtherTypes of VLAN tags: customer, service, and an old way of stacking. **Source**: IEEE 802.1Q; the third is common practice.
const TAGS: [u16; 3] = [0x8100, 0x88a8, 0x9100];
/// Numbers below are lengths, not types. **Source**: IEEE 802.3 clause 3.2.6 (from memory).
const FIRST_TYPE: u16 = 0x0600;
/// Most tags that are read. **Source**: own choice.
const MOST_TAGS: usize = 8;
/// Link types. **Source**: the capture formats' common list (from memory).
const ETHERNET: u32 = 1;
const RAW: [u32; 2] = [101, 12];
const RAW_IPV4: u32 = 228;
const RAW_IPV6: u32 = 229;
const LINUX: u32 = 113;
const LINUX_2: u32 = 276;
/// What Linux writes in place of a type for frames that say a length. **Source**: Linux `if_ether.h` `ETH_P_802_2` (from memory).
const LINUX_LENGTH: u16 = 0x0004;

/// A frame, taken apart down to its type.
#[derive(Debug, Clone, Copy)]
pub struct Frame<'a> {
    /// As it was stored.
    pub stored: Stored<'a>,
    /// Destination; `None` where the capture does not keep it.
    pub to: Option<Mac>,
    /// Sender.
    pub from: Option<Mac>,
    /// The outermost VLAN tag's number; `None` if untagged. 0 is a priority tag.
    pub vlan: Option<u16>,
    /// How many tags.
    pub tags: usize,
    /// What it says is inside.
    pub inside: Inside,
    /// What follows.
    pub payload: &'a [u8],
}

/// What a frame says is inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inside {
    /// An EtherType.
    Type(u16),
    /// A length, then logical link control (IEEE 802.2).
    Length(u16),
    /// A type of an organisation of its own (SNAP).
    Organisation([u8; 3], u16),
}

impl Inside {
    /// The number in the header.
    pub const fn number(self) -> u16 {
        match self {
            Self::Type(number) | Self::Length(number) | Self::Organisation(_, number) => number,
        }
    }
}

/// Takes a stored frame apart; `None` if it is too short or of an unknown kind.
pub fn link<'a>(stored: &Stored<'a>) -> Option<Frame<'a>> {
    let mut octets = Octets(stored.octets);
    let (to, from, number) = match stored.link_type {
        ETHERNET => (Some(octets.mac()?), Some(octets.mac()?), octets.u16()?),
        LINUX => linux(&mut octets)?,
        LINUX_2 => linux_2(&mut octets)?,
        RAW_IPV4 => (None, None, 0x0800),
        RAW_IPV6 => (None, None, 0x86dd),
        kind if RAW.contains(&kind) => (None, None, if octets.0.first()? >> 4 == 6 { 0x86dd } else { 0x0800 }),
        _ => return None,
    };
    let mut frame = Frame { stored: *stored, to, from, vlan: None, tags: 0, inside: Inside::Type(number), payload: &[] };
    let mut number = number;
    while TAGS.contains(&number) && frame.tags < MOST_TAGS {
        let tag = octets.u16()?;
        frame.vlan = frame.vlan.or(Some(tag & 0x0fff));
        frame.tags += 1;
        number = octets.u16()?;
    }
    frame.inside = inside(number, &mut octets);
    frame.payload = octets.0;
    Some(frame)
}

fn inside(number: u16, octets: &mut Octets<'_>) -> Inside {
    if number >= FIRST_TYPE {
        return Inside::Type(number);
    }
    let length = usize::from(number);
    if number != LINUX_LENGTH && length < octets.0.len() {
        *octets = Octets(octets.0.get(..length).unwrap_or_default());
    }
    match octets.0 {
        // SNAP: an organisation and its type. All zero means an EtherType. **Source**: IEEE 802 (from memory).
        &[0xaa, 0xaa, 0x03, a, b, c, high, low, ref rest @ ..] => {
            octets.0 = rest;
            let number = u16::from_be_bytes([high, low]);
            if [a, b, c] == [0; 3] { Inside::Type(number) } else { Inside::Organisation([a, b, c], number) }
        }
        _ => Inside::Length(number),
    }
}

type Addresses = (Option<Mac>, Option<Mac>, u16);

/// Kind of packet, kind of device, length of address, address, type. **Source**: tcpdump.org link type 113 (from memory).
fn linux(octets: &mut Octets<'_>) -> Option<Addresses> {
    octets.take(4)?;
    let length = octets.u16()?;
    let address = octets.take(8)?;
    let from = (length == 6).then(|| address.first_chunk::<6>()).flatten().map(|address| Mac(*address));
    Some((None, from, octets.u16()?))
}

/// Type, reserved, interface, kind of device, kind of packet, length of address, address.
/// **Source**: tcpdump.org link type 276 (from memory).
fn linux_2(octets: &mut Octets<'_>) -> Option<Addresses> {
    let number = octets.u16()?;
    octets.take(9)?;
    let length = octets.u8()?;
    let address = octets.take(8)?;
    let from = (length == 6).then(|| address.first_chunk::<6>()).flatten().map(|address| Mac(*address));
    Some((None, from, number))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(link_type: u32, octets: &[u8], expected: Option<(Inside, Option<u16>, usize, usize)>) {
        let stored = Stored { number: 1, time: None, interface: 0, link_type, octets, length: 64 };
        let found = link(&stored).map(|frame| (frame.inside, frame.vlan, frame.tags, frame.payload.len()));
        assert_eq!(found, expected, "{octets:02x?}");
    }

    #[test]
    fn tags_stack_and_short_frames_stop() {
        let addresses = [2_u8; 12];
        let with = |rest: &[u8]| [&addresses[..], rest].concat();
        check(1, &with(&[0x08, 0x00, 1, 2]), Some((Inside::Type(0x0800), None, 0, 2)));
        check(1, &with(&[0x81, 0, 0x60, 10, 0x08, 0x06, 1]), Some((Inside::Type(0x0806), Some(10), 1, 1)));
        check(1, &with(&[0x88, 0xa8, 0, 7, 0x81, 0, 0, 10, 0x88, 0xcc]), Some((Inside::Type(0x88cc), Some(7), 2, 0)));
        check(1, &with(&[0, 3, 0x42, 0x42, 3, 0, 0]), Some((Inside::Length(3), None, 0, 3)));
        check(1, &with(&[0, 9, 0xaa, 0xaa, 3, 0, 0, 0x0c, 1, 0x0b, 5]), Some((Inside::Organisation([0, 0, 0x0c], 0x010b), None, 0, 1)));
        check(1, &with(&[0x81, 0, 0x60]), None);
        check(1, &[1, 2, 3], None);
        check(7, &with(&[8, 0]), None);
    }

    #[test]
    fn linux_headers_stand_for_ethernet() {
        let first = [0, 4, 0, 1, 0, 6, 2, 0, 0, 0, 0, 1, 0, 0, 8, 6, 9];
        check(113, &first, Some((Inside::Type(0x0806), None, 0, 1)));
        let second = [0x88, 0xcc, 0, 0, 0, 0, 0, 2, 0, 1, 4, 6, 2, 0, 0, 0, 0, 1, 0, 0, 9, 9];
        check(276, &second, Some((Inside::Type(0x88cc), None, 0, 2)));
    }
}
