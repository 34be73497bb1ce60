//! How addresses are given out. **Source**: RFC 2131 section 2, options of RFC 2132.

use crate::bytes::{Octets, text};
use crate::facts::DhcpMessage;
use crate::mac::Mac;
use std::net::Ipv4Addr;

/// UDP ports of server and client. **Source**: RFC 2131 section 4.1.
pub const PORTS: [u16; 2] = [67, 68];
/// What stands before the options. **Source**: RFC 2131 section 3.
const COOKIE: [u8; 4] = [99, 130, 83, 99];
/// Options. **Source**: RFC 2132.
const PAD: u8 = 0;
const END: u8 = 255;

/// A message taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dhcp {
    /// What kind.
    pub message: DhcpMessage,
    /// Whether a client sent it.
    pub is_from_client: bool,
    /// The server's identifier.
    pub server: Option<Ipv4Addr>,
    /// The client's hardware address.
    pub client: Option<Mac>,
    /// What the client calls itself.
    pub client_name: Option<String>,
    /// The address offered, given or asked for.
    pub address: Option<Ipv4Addr>,
    /// The mask.
    pub mask: Option<Ipv4Addr>,
    /// The first gateway.
    pub router: Option<Ipv4Addr>,
    /// For how long. **Unit**: second.
    pub lease: Option<u32>,
}

/// Reads a message; options that are cut off are left out.
pub fn read(payload: &[u8]) -> Option<Dhcp> {
    let mut octets = Octets(payload);
    let operation = octets.u8()?;
    let hardware = octets.u16()?;
    octets.take(9)?;
    let addresses = [octets.ipv4()?, octets.ipv4()?];
    octets.take(8)?;
    let client = octets.mac()?;
    octets.take(10 + 64 + 128)?;
    if !matches!(operation, 1 | 2) {
        return None;
    }
    let given = addresses.into_iter().rev().find(|address| !address.is_unspecified());
    let mut dhcp = Dhcp {
        message: DhcpMessage::Other(0),
        is_from_client: operation == 1,
        server: None,
        // Ethernet, six octets.
        client: (hardware == 0x0106 && client != Mac::ZERO).then_some(client),
        client_name: None,
        address: given,
        mask: None,
        router: None,
        lease: None,
    };
    if octets.take(4) == Some(&COOKIE) {
        options(octets, &mut dhcp);
    }
    Some(dhcp)
}

fn options(mut octets: Octets<'_>, dhcp: &mut Dhcp) -> Option<()> {
    loop {
        match octets.u8()? {
            PAD => {}
            END => return Some(()),
            code => {
                let length = usize::from(octets.u8()?);
                option(code, Octets(octets.take(length)?), dhcp);
            }
        }
    }
}

fn option(code: u8, mut value: Octets<'_>, dhcp: &mut Dhcp) -> Option<()> {
    match code {
        1 => dhcp.mask = Some(value.ipv4()?),
        3 => dhcp.router = Some(value.ipv4()?),
        12 => dhcp.client_name = Some(text(value.0)),
        50 => dhcp.address = dhcp.address.or(Some(value.ipv4()?)),
        51 => dhcp.lease = Some(value.u32()?),
        53 => dhcp.message = message(value.u8()?),
        54 => dhcp.server = Some(value.ipv4()?),
        _ => {}
    }
    Some(())
}

/// **Source**: RFC 2132 section 9.6.
const fn message(number: u8) -> DhcpMessage {
    match number {
        1 => DhcpMessage::Discover,
        2 => DhcpMessage::Offer,
        3 => DhcpMessage::Request,
        4 => DhcpMessage::Decline,
        5 => DhcpMessage::Ack,
        6 => DhcpMessage::Nak,
        7 => DhcpMessage::Release,
        8 => DhcpMessage::Inform,
        other => DhcpMessage::Other(other),
    }
}
