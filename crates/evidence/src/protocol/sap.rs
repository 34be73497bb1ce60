//! Announcements of streams. **Source**: RFC 2974 section 3.

use crate::bytes::Octets;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// The UDP port. **Source**: RFC 2974 section 3.
pub const PORT: u16 = 9875;
/// The group of the administratively scoped range. **Source**: RFC 2974 section 3: the highest address of 239.255/16.
pub const GROUP: Ipv4Addr = Ipv4Addr::new(239, 255, 255, 255);

/// An announcement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sap<'a> {
    /// Whether the session is over.
    pub is_deletion: bool,
    /// Same text, same hash.
    pub hash: u16,
    /// Who announces.
    pub origin: IpAddr,
    /// The description; `None` if it is encrypted or compressed.
    pub text: Option<&'a [u8]>,
}

/// Reads an announcement.
pub fn read(payload: &[u8]) -> Option<Sap<'_>> {
    let mut octets = Octets(payload);
    let flags = octets.u8()?;
    let authentication = usize::from(octets.u8()?) * 4;
    let hash = octets.u16()?;
    let origin = match flags & 0x10 {
        0 => octets.ipv4()?.into(),
        _ => Ipv6Addr::from(<[u8; 16]>::try_from(octets.take(16)?).ok()?).into(),
    };
    octets.take(authentication)?;
    if flags >> 5 != 1 {
        return None;
    }
    // The kind of description may be left out; then the text begins at once.
    if !octets.0.starts_with(b"v=0") && !octets.0.starts_with(b"o=") {
        let end = octets.0.iter().position(|&octet| octet == 0)?;
        octets.take(end + 1)?;
    }
    let text = (flags & 0b11 == 0).then_some(octets.0);
    Some(Sap { is_deletion: flags & 0x04 != 0, hash, origin, text })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn with_and_without_the_kind_of_description() {
        let head = [0x20, 1, 0x12, 0x34, 10, 0, 0, 1, 9, 9, 9, 9];
        let with = [&head[..], b"application/sdp\0v=0\r\n"].concat();
        let without = [&head[..], b"v=0\r\n"].concat();
        for octets in [with, without] {
            let sap = read(&octets).expect("an announcement");
            assert_eq!((sap.hash, sap.text, sap.is_deletion), (0x1234, Some(&b"v=0\r\n"[..]), false));
        }
        assert_eq!(read(&[0x20, 9, 0, 0, 10, 0, 0, 1]), None);
        assert_eq!(read(&[0x25, 0, 0, 0, 10, 0, 0, 1, b'x', 0, 7]).map(|sap| (sap.is_deletion, sap.text)), Some((true, None)));
    }
}
