//! Questions to put on the wire, as whole Ethernet frames.

use std::net::Ipv4Addr;

/// EtherTypes. **Source**: IEEE registration authority's list (from memory).
const ADDRESS_RESOLUTION: [u8; 2] = [0x08, 0x06];
const IPV4: [u8; 2] = [0x08, 0x00];
/// To everybody. **Source**: RFC 826, RFC 2131 section 4.1.
const EVERYBODY: [u8; 6] = [0xff; 6];
/// UDP ports of a DHCP client and server. **Source**: RFC 2131 section 4.1.
const CLIENT: u16 = 68;
const SERVER: u16 = 67;
/// Shortest DHCP message that every server takes. **Unit**: octet. **Source**: RFC 1542 section 2.1.
const SHORTEST: usize = 300;

/// Asks who has `address`, without claiming one: an answer shows the owner, and more than one shows a duplicate.
///
/// **Source**: RFC 5227 section 1.1 (ARP probe), RFC 826.
pub fn who_has(own: [u8; 6], address: Ipv4Addr) -> Vec<u8> {
    let mut frame = [&EVERYBODY[..], &own, &ADDRESS_RESOLUTION].concat();
    // Ethernet, IPv4, lengths of their addresses, a question.
    frame.extend([0, 1, 8, 0, 6, 4, 0, 1]);
    frame.extend(own);
    frame.extend([0; 4]);
    frame.extend([0; 6]);
    frame.extend(address.octets());
    frame.resize(60, 0);
    frame
}

/// Asks for DHCP servers. An offer is never taken: no request follows.
///
/// Servers are asked to answer to everybody, so that all answers are heard here. **Source**: RFC 2131 sections 2 and 4.1,
/// options of RFC 2132.
pub fn for_servers(own: [u8; 6], number: u32) -> Vec<u8> {
    let mut message = vec![1, 1, 6, 0];
    message.extend(number.to_be_bytes());
    // No seconds yet; broadcast flag.
    message.extend([0, 0, 0x80, 0]);
    message.extend([0; 16]);
    message.extend(own);
    message.extend([0; 10 + 64 + 128]);
    message.extend([99, 130, 83, 99]);
    // A discover; mask, router and server are wanted; the end.
    message.extend([53, 1, 1, 55, 3, 1, 3, 54, 255]);
    message.resize(SHORTEST, 0);
    datagram(own, &message)
}

fn datagram(own: [u8; 6], payload: &[u8]) -> Vec<u8> {
    let length = |more: usize| u16::try_from(payload.len() + more).unwrap_or(u16::MAX).to_be_bytes();
    let mut header = vec![0x45, 0];
    header.extend(length(28));
    // Not cut, 64 hops, UDP.
    header.extend([0, 0, 0x40, 0, 64, 17, 0, 0]);
    header.extend(Ipv4Addr::UNSPECIFIED.octets());
    header.extend(Ipv4Addr::BROADCAST.octets());
    let check = checksum(&header).to_be_bytes();
    if let Some(place) = header.get_mut(10..12) {
        place.copy_from_slice(&check);
    }
    let mut frame = [&EVERYBODY[..], &own, &IPV4, &header].concat();
    frame.extend(CLIENT.to_be_bytes());
    frame.extend(SERVER.to_be_bytes());
    frame.extend(length(8));
    // No check sum. **Source**: RFC 768 allows zero.
    frame.extend([0, 0]);
    frame.extend(payload);
    frame
}

/// **Source**: RFC 1071.
fn checksum(header: &[u8]) -> u16 {
    let (words, _) = header.as_chunks::<2>();
    let mut sum: u32 = words.iter().map(|word| u32::from(u16::from_be_bytes(*word))).fold(0, u32::saturating_add);
    while sum > 0xffff {
        sum = (sum & 0xffff) + (sum >> 16);
    }
    !u16::try_from(sum).unwrap_or(u16::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use loomwright_evidence::facts::{BindingSource, DhcpMessage};
    use loomwright_evidence::{Evidence, Moment, Wire, WireFrame};

    const OWN: [u8; 6] = [2, 0, 0, 0, 0, 9];

    fn read(octets: &[u8]) -> Evidence {
        let mut wire = Wire::new("own", "eth0");
        let length = u32::try_from(octets.len()).expect("a short frame");
        wire.frame(&WireFrame { time: Moment(1), octets, length });
        wire.finish()
    }

    #[test]
    fn a_probe_claims_nothing() {
        let seen = read(&who_has(OWN, Ipv4Addr::new(10, 0, 0, 7)));
        let rows: Vec<_> = seen.bindings.iter().map(|row| (row.by, row.address.to_string())).collect();
        assert_eq!(rows, [(BindingSource::ArpProbe, "10.0.0.7".to_owned())]);
        assert_eq!(seen.complaints, []);
    }

    #[test]
    fn a_discover_reads_as_one() {
        let seen = read(&for_servers(OWN, 0x0102_0304));
        assert_eq!(seen.complaints, []);
        let rows: Vec<_> = seen.dhcp.iter().map(|row| (row.message, row.client.map(|mac| mac.0))).collect();
        assert_eq!(rows, [(DhcpMessage::Discover, Some(OWN))]);
    }

    /// **Source**: the worked example of a header check sum in many textbooks, from memory; the sum over header and check is all ones.
    #[test]
    fn header_check_sum_makes_all_ones() {
        let frame = for_servers(OWN, 1);
        assert_eq!(checksum(&frame[14..34]), 0);
        assert_eq!(checksum(&[0x45, 0, 0, 0x73, 0, 0, 0x40, 0, 0x40, 0x11, 0, 0, 0xc0, 0xa8, 0, 1, 0xc0, 0xa8, 0, 0xc7]), 0xb861);
    }
}
