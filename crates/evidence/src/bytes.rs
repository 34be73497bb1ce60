//! Reads numbers from octets without ever stepping outside them.

use crate::mac::Mac;

/// Octets read from front to back; every read past the end is `None`.
#[derive(Debug, Clone, Copy)]
pub struct Octets<'a>(pub &'a [u8]);

impl<'a> Octets<'a> {
    /// The next `count` octets.
    #[inline]
    pub fn take(&mut self, count: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    /// The next octet.
    #[inline]
    pub fn u8(&mut self) -> Option<u8> {
        self.take(1)?.first().copied()
    }

    /// The next 16-bit number, most significant octet first.
    #[inline]
    pub fn u16(&mut self) -> Option<u16> {
        Some(u16::from_be_bytes(self.take(2)?.try_into().ok()?))
    }

    /// The next 32-bit number.
    #[inline]
    pub fn u32(&mut self) -> Option<u32> {
        Some(u32::from_be_bytes(self.take(4)?.try_into().ok()?))
    }

    /// The next hardware address.
    #[inline]
    pub fn mac(&mut self) -> Option<Mac> {
        Mac::from_octets(self.take(6)?)
    }

    /// The next IPv4 address.
    #[inline]
    pub fn ipv4(&mut self) -> Option<std::net::Ipv4Addr> {
        self.u32().map(std::net::Ipv4Addr::from)
    }

    /// Whether nothing is left.
    #[inline]
    pub const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// Octets as text: what is no text is marked, control characters and padding at the end go.
pub fn text(octets: &[u8]) -> String {
    let text = String::from_utf8_lossy(octets);
    let text = text.trim_end_matches('\0').trim();
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}
