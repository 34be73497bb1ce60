//! The header of media packets. **Source**: RFC 3550 section 5.1.

use crate::bytes::Octets;

/// Payload types that clash with control packets (200 to 204). **Source**: RFC 5761 section 4.
const CONTROL: std::ops::RangeInclusive<u8> = 72..=76;

/// A header.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    /// Payload type.
    pub payload_type: u8,
    /// Number of the packet.
    pub sequence: u16,
    /// Time of its first sample.
    pub timestamp: u32,
    /// The sender's number.
    pub ssrc: u32,
    /// Octets of this header with what it is extended by.
    pub octets: usize,
}

/// Reads what may be a header: nothing in it proves that it is one, the run of packets must.
pub fn read(payload: &[u8]) -> Option<Header> {
    let mut octets = Octets(payload);
    let first = octets.u8()?;
    let payload_type = octets.u8()? & 0x7f;
    if first >> 6 != 2 || CONTROL.contains(&payload_type) {
        return None;
    }
    let sequence = octets.u16()?;
    let timestamp = octets.u32()?;
    let ssrc = octets.u32()?;
    let contributors = usize::from(first & 0x0f) * 4;
    let mut length = 12 + contributors;
    if first & 0x10 != 0 {
        let extension = payload.get(length..).map(Octets).and_then(|mut rest| rest.u32());
        length += 4 + extension
            .map_or(0, |extension| usize::from(extension.to_be_bytes()[3]) * 4 + usize::from(extension.to_be_bytes()[2]) * 1024);
    }
    Some(Header { payload_type, sequence, timestamp, ssrc, octets: length })
}

/// Sample rate of the payload types that have a fixed one. **Unit**: hertz. **Source**: RFC 3551 table 4.
pub const fn fixed_rate(payload_type: u8) -> Option<u32> {
    match payload_type {
        0 | 3 | 4 | 5 | 7 | 8 | 9 | 12 | 15 | 18 => Some(8_000),
        6 => Some(16_000),
        10 | 11 => Some(44_100),
        14 | 25 | 26 | 28 | 31..=34 => Some(90_000),
        16 => Some(11_025),
        17 => Some(22_050),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extensions_count_and_control_packets_do_not() {
        let mut octets = vec![0x91, 98, 0, 7, 0, 0, 0, 48, 0, 0, 0x10, 1];
        assert_eq!(read(&octets).map(|header| (header.sequence, header.ssrc)), Some((7, 0x1001)));
        octets.extend([1, 1, 1, 1, 0xbe, 0xde, 0, 2, 0, 0, 0, 0, 0, 0, 0, 0]);
        assert_eq!(read(&octets).map(|header| header.octets), Some(28));
        assert_eq!(read(&[0x80, 200, 0, 7, 0, 0, 0, 48, 0, 0, 0x10, 1]), None);
        assert_eq!(read(&[0x40, 98, 0, 7, 0, 0, 0, 48, 0, 0, 0x10, 1]), None);
    }
}
