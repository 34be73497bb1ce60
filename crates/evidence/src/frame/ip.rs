//! IPv4, IPv6 and UDP headers. **Source**: RFC 791, RFC 8200, RFC 768.

use crate::bytes::Octets;
use std::net::{IpAddr, Ipv6Addr};

/// Extension headers of IPv6 that stand before what is carried: hop-by-hop, routing, destination options, authentication.
/// **Source**: RFC 8200 section 4, RFC 4302.
const EXTENSIONS: [u8; 3] = [0, 43, 60];
const AUTHENTICATION: u8 = 51;
const FRAGMENT: u8 = 44;
/// Most extension headers that are read. **Source**: own choice.
const MOST_EXTENSIONS: usize = 8;

/// An IP packet.
#[derive(Debug, Clone, Copy)]
pub struct Packet<'a> {
    /// Sender.
    pub from: IpAddr,
    /// Destination.
    pub to: IpAddr,
    /// Differentiated-services code point.
    pub code_point: u8,
    /// Hops left.
    pub hops: u8,
    /// What it carries, by the number of the common list.
    pub protocol: u8,
    /// Whether it is one piece of several.
    pub is_piece: bool,
    /// Whether it is a piece other than the first: no header of what it carries stands in it.
    pub is_later_piece: bool,
    /// What it carries, as far as stored.
    pub payload: &'a [u8],
    /// Octets that it carries, whether stored or not.
    pub carried: usize,
}

/// An IPv4 packet; `None` if it is damaged or too short.
pub fn ipv4(payload: &[u8]) -> Option<Packet<'_>> {
    let mut octets = Octets(payload);
    let first = octets.u8()?;
    let service = octets.u8()?;
    let total = usize::from(octets.u16()?);
    octets.u16()?;
    let piece = octets.u16()?;
    let hops = octets.u8()?;
    let protocol = octets.u8()?;
    octets.u16()?;
    let from = octets.ipv4()?;
    let to = octets.ipv4()?;
    let header = usize::from(first & 0x0f) * 4;
    if first >> 4 != 4 || header < 20 {
        return None;
    }
    octets.take(header - 20)?;
    // A total length of 0 is what some network cards leave where they cut packets themselves.
    let carried = if total == 0 { octets.0.len() } else { total.checked_sub(header)? };
    Some(Packet {
        from: from.into(),
        to: to.into(),
        code_point: service >> 2,
        hops,
        protocol,
        is_piece: piece & 0x3fff != 0,
        is_later_piece: piece & 0x1fff != 0,
        payload: octets.0.get(..carried).unwrap_or(octets.0),
        carried,
    })
}

/// An IPv6 packet, with its extension headers passed over; `None` if it is damaged or too short.
pub fn ipv6(payload: &[u8]) -> Option<Packet<'_>> {
    let mut octets = Octets(payload);
    let first = octets.u32()?;
    let total = usize::from(octets.u16()?);
    let mut protocol = octets.u8()?;
    let hops = octets.u8()?;
    let from = Ipv6Addr::from(<[u8; 16]>::try_from(octets.take(16)?).ok()?);
    let to = Ipv6Addr::from(<[u8; 16]>::try_from(octets.take(16)?).ok()?);
    if first >> 28 != 6 {
        return None;
    }
    let stored = octets.0.len();
    octets.0 = octets.0.get(..total).unwrap_or(octets.0);
    let missing = total.saturating_sub(stored);
    let (mut is_piece, mut is_later_piece) = (false, false);
    for _ in 0..MOST_EXTENSIONS {
        let size = match protocol {
            FRAGMENT => {
                let place = u16::from_be_bytes([*octets.0.get(2)?, *octets.0.get(3)?]);
                (is_piece, is_later_piece) = (true, place & 0xfff8 != 0);
                8
            }
            AUTHENTICATION => (usize::from(*octets.0.get(1)?) + 2) * 4,
            header if EXTENSIONS.contains(&header) => (usize::from(*octets.0.get(1)?) + 1) * 8,
            _ => break,
        };
        protocol = *octets.take(size)?.first()?;
    }
    let code_point = u8::try_from(first >> 22 & 0x3f).unwrap_or_default();
    let carried = octets.0.len() + missing;
    Some(Packet { from: from.into(), to: to.into(), code_point, hops, protocol, is_piece, is_later_piece, payload: octets.0, carried })
}

/// A UDP datagram.
#[derive(Debug, Clone, Copy)]
pub struct Udp<'a> {
    /// From which port.
    pub from: u16,
    /// To which port.
    pub to: u16,
    /// What it carries, as far as stored.
    pub payload: &'a [u8],
    /// Octets that it carries, whether stored or not.
    pub carried: usize,
}

/// The datagram in a packet; `None` if it is too short or damaged.
pub fn udp<'a>(packet: &Packet<'a>) -> Option<Udp<'a>> {
    let mut octets = Octets(packet.payload);
    let from = octets.u16()?;
    let to = octets.u16()?;
    let length = usize::from(octets.u16()?);
    octets.u16()?;
    // A length of 0 means "the rest" (RFC 2675).
    let carried = if length == 0 { packet.carried.saturating_sub(8) } else { length.checked_sub(8)? };
    Some(Udp { from, to, payload: octets.0.get(..carried).unwrap_or(octets.0), carried })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_is_there() {
        let mut octets = vec![0x45, 0xb8, 0, 31, 0, 1, 0x20, 0, 1, 17, 0, 0, 10, 0, 0, 1, 239, 69, 0, 1];
        octets.extend([0x13, 0x8c, 0x13, 0x8c, 0, 11, 0, 0, 1, 2, 3, 0, 0, 0, 0]);
        let packet = ipv4(&octets).expect("a packet");
        assert_eq!((packet.code_point, packet.hops, packet.is_piece, packet.is_later_piece), (46, 1, true, false));
        let datagram = udp(&packet).expect("a datagram");
        assert_eq!((datagram.from, datagram.payload, datagram.carried), (5004, &[1, 2, 3][..], 3));
        let short = ipv4(&octets[..29]).expect("a shortened packet");
        assert_eq!(udp(&short).map(|datagram| (datagram.payload.len(), datagram.carried)), Some((1, 3)));
        for length in 0..20 {
            assert!(ipv4(&octets[..length]).is_none(), "{length}");
        }
    }

    #[test]
    fn passes_over_extension_headers() {
        let mut octets = vec![0x6b, 0x80, 0, 0, 0, 24, 0, 255];
        octets.extend([0; 32]);
        octets.extend([44, 0, 0, 0, 0, 0, 0, 0, 17, 0, 0, 0, 0, 0, 0, 9, 1, 2, 3, 4, 0, 8, 0, 0]);
        let packet = ipv6(&octets).expect("a packet");
        assert_eq!((packet.protocol, packet.code_point, packet.is_piece, packet.is_later_piece), (17, 46, true, false));
        assert_eq!(udp(&packet).map(|datagram| datagram.from), Some(0x0102));
    }
}
