//! Who has which address. **Source**: RFC 826, RFC 5227.

use crate::bytes::Octets;
use crate::mac::Mac;
use std::net::Ipv4Addr;

/// One question or answer about an IPv4 address on Ethernet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arp {
    /// Whether it is an answer.
    pub is_answer: bool,
    /// Who speaks.
    pub mac: Mac,
    /// The speaker's address; 0.0.0.0 when it only asks whether the target is taken.
    pub address: Ipv4Addr,
    /// The address asked about or answered to.
    pub target: Ipv4Addr,
}

impl Arp {
    /// Whether the speaker wants the target for itself and asks whether anybody has it. **Source**: RFC 5227 section 1.1.
    pub fn is_probe(&self) -> bool {
        !self.is_answer && self.address.is_unspecified()
    }
}

/// Reads a message; `None` if it is about other kinds of address, or too short.
pub fn read(payload: &[u8]) -> Option<Arp> {
    let mut octets = Octets(payload);
    // Ethernet, IPv4, six and four octets.
    if octets.take(6)? != [0, 1, 8, 0, 6, 4] {
        return None;
    }
    let operation = octets.u16()?;
    let (mac, address) = (octets.mac()?, octets.ipv4()?);
    octets.mac()?;
    let target = octets.ipv4()?;
    matches!(operation, 1 | 2).then_some(Arp { is_answer: operation == 2, mac, address, target })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn asks_and_probes() {
        let message = |operation: u8, own: [u8; 4]| {
            let mut octets = vec![0, 1, 8, 0, 6, 4, 0, operation, 2, 0, 0, 0, 0, 1];
            octets.extend(own);
            octets.extend([0, 0, 0, 0, 0, 0, 10, 0, 0, 9]);
            octets
        };
        for (operation, own, expected) in [
            (1, [10, 0, 0, 1], Some((false, false))),
            (2, [10, 0, 0, 1], Some((true, false))),
            (1, [0; 4], Some((false, true))),
            (9, [0; 4], None),
        ] {
            let found = read(&message(operation, own)).map(|arp| (arp.is_answer, arp.is_probe()));
            assert_eq!(found, expected, "{operation} {own:?}");
        }
        assert_eq!(read(&message(1, [0; 4])[..27]), None);
    }
}
