//! Neighbour messages. **Source**: IEEE 802.1AB clause 8 and annexes; numbers from memory, checked in tests against messages of
//! the neighbour daemon on the project's own recordings only.

use super::mau;
use crate::bytes::{Octets, text};
use crate::facts::{Advertisement, Capabilities, Identifier, IdentifierKind, LinkPower};
use crate::mac::Mac;
use loomwright_model::Power;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};

/// Kinds of part. **Source**: IEEE 802.1AB table 8-1.
const END: u16 = 0;
const CHASSIS: u16 = 1;
const PORT: u16 = 2;
const TIME_TO_LIVE: u16 = 3;
const PORT_DESCRIPTION: u16 = 4;
const NAME: u16 = 5;
const DESCRIPTION: u16 = 6;
const CAPABILITIES: u16 = 7;
const MANAGEMENT: u16 = 8;
const ORGANISATION: u16 = 127;
/// Organisations. **Source**: IEEE 802.1Q annex D, IEEE 802.3 clause 79.
const BRIDGING: [u8; 3] = [0x00, 0x80, 0xc2];
const ETHERNET: [u8; 3] = [0x00, 0x12, 0x0f];
/// Kinds of address: IPv4, IPv6, hardware. **Source**: IANA address family numbers.
const IPV4: u8 = 1;
const IPV6: u8 = 2;
const HARDWARE: u8 = 6;
/// Most parts, names and addresses that are read. **Source**: own choice; a frame of 1,500 octets holds 750 empty parts.
const MOST: usize = 1_024;

/// What a message says, and what in it could not be read. `None` if it has not even a chassis.
pub fn read(payload: &[u8]) -> Option<(Advertisement, Vec<&'static str>)> {
    let mut says = Advertisement::default();
    let mut complaints = Vec::new();
    let mut octets = Octets(payload);
    for _ in 0..MOST {
        if octets.is_empty() {
            break;
        }
        let Some(header) = octets.u16() else {
            complaints.push("ends within a part");
            break;
        };
        let (kind, length) = (header >> 9, usize::from(header & 0x01ff));
        if kind == END {
            break;
        }
        let Some(value) = octets.take(length) else {
            complaints.push("ends within a part");
            break;
        };
        if part(kind, value, &mut says).is_none() {
            complaints.push("has a part that makes no sense");
        }
    }
    complaints.dedup();
    (says.chassis.is_some() || says.port.is_some() || says.name.is_some()).then_some((says, complaints))
}

fn part(kind: u16, value: &[u8], says: &mut Advertisement) -> Option<()> {
    let mut octets = Octets(value);
    match kind {
        CHASSIS => says.chassis = Some(identifier(chassis_kind(octets.u8()?.into()), octets.0)),
        PORT => says.port = Some(identifier(port_kind(octets.u8()?.into()), octets.0)),
        TIME_TO_LIVE => says.time_to_live = Some(octets.u16()?),
        PORT_DESCRIPTION => says.port_description = Some(text(value)),
        NAME => says.name = Some(text(value)),
        DESCRIPTION => says.description = Some(text(value)),
        CAPABILITIES => {
            says.capable = Capabilities(octets.u16()?);
            says.enabled = Capabilities(octets.u16()?);
        }
        MANAGEMENT => management(&mut octets, says)?,
        ORGANISATION => {
            let organisation = *octets.take(3)?.first_chunk::<3>()?;
            let kind = octets.u8()?;
            organised(organisation, kind, octets.0, says)?;
        }
        _ => {}
    }
    Some(())
}

/// What kind of name a chassis identifier is, by its number. **Source**: IEEE 802.1AB table 8-2.
pub const fn chassis_kind(number: u32) -> IdentifierKind {
    match number {
        1 => IdentifierKind::Component,
        2 => IdentifierKind::Alias,
        3 => IdentifierKind::PortComponent,
        4 => IdentifierKind::Mac,
        5 => IdentifierKind::Network,
        6 => IdentifierKind::InterfaceName,
        7 => IdentifierKind::Local,
        _ => IdentifierKind::Other,
    }
}

/// What kind of name a port identifier is, by its number. **Source**: IEEE 802.1AB table 8-3.
pub const fn port_kind(number: u32) -> IdentifierKind {
    match number {
        1 => IdentifierKind::Alias,
        2 => IdentifierKind::PortComponent,
        3 => IdentifierKind::Mac,
        4 => IdentifierKind::Network,
        5 => IdentifierKind::InterfaceName,
        6 => IdentifierKind::Circuit,
        7 => IdentifierKind::Local,
        _ => IdentifierKind::Other,
    }
}

/// An identifier from its octets.
pub fn identifier(kind: IdentifierKind, octets: &[u8]) -> Identifier {
    let address = match kind {
        IdentifierKind::Network => octets.split_first().and_then(|(&family, rest)| network_address(family, rest)),
        _ => None,
    };
    match (kind, Mac::from_octets(octets), address) {
        (IdentifierKind::Mac, Some(mac), _) => Identifier { kind, text: mac.to_string(), mac: Some(mac) },
        (IdentifierKind::Network, _, Some(address)) => Identifier { kind, text: address.to_string(), mac: None },
        _ => written(kind, text(octets)),
    }
}

/// An identifier from its text.
pub fn written(kind: IdentifierKind, text: String) -> Identifier {
    let mac = text.parse::<Mac>().ok();
    let text = if kind == IdentifierKind::Mac { mac.map_or(text, |mac| mac.to_string()) } else { text };
    Identifier { kind, text, mac }
}

/// A network address by the number of its family. **Source**: IANA address family numbers.
pub fn network_address(family: u8, octets: &[u8]) -> Option<IpAddr> {
    match family {
        IPV4 => Some(Ipv4Addr::from(<[u8; 4]>::try_from(octets).ok()?).into()),
        IPV6 => Some(Ipv6Addr::from(<[u8; 16]>::try_from(octets).ok()?).into()),
        _ => None,
    }
}

fn management(octets: &mut Octets<'_>, says: &mut Advertisement) -> Option<()> {
    let length = usize::from(octets.u8()?);
    let mut address = Octets(octets.take(length)?);
    let family = address.u8()?;
    if family == HARDWARE {
        says.management_macs.push(address.mac()?);
    } else if let Some(address) = network_address(family, address.0) {
        says.management.push(address);
    }
    Some(())
}

fn organised(organisation: [u8; 3], kind: u8, value: &[u8], says: &mut Advertisement) -> Option<()> {
    let mut octets = Octets(value);
    match (organisation, kind) {
        (BRIDGING, 1) => says.untagged_vlan = Some(octets.u16()?).filter(|&vlan| vlan != 0),
        (BRIDGING, 3) => {
            let vlan = octets.u16()?;
            let length = usize::from(octets.u8()?);
            says.vlan_names.push((vlan, text(octets.take(length)?)));
        }
        (BRIDGING, 7) | (ETHERNET, 3) => says.aggregated = Some(octets.u8()? & 0b10 != 0),
        (ETHERNET, 1) => {
            says.negotiates = Some(octets.u8()? & 0b10 != 0);
            octets.u16()?;
            let number = octets.u16()?;
            says.mau = Some(number);
            says.speed = mau::speed(number);
            says.full_duplex = mau::full_duplex(number);
        }
        (ETHERNET, 2) => says.power = Some(power(&mut octets)?),
        (ETHERNET, 4) => says.longest_frame = Some(octets.u16()?),
        // Known, and of no use here: protocols of VLANs, protocol identities, congestion and priority settings, energy saving.
        (BRIDGING, 2 | 4..=6 | 8..=15) | (ETHERNET, 5..=8) => {}
        _ => says.unknown.push((organisation, kind)),
    }
    Some(())
}

/// Support, pairs, class plus one; then kind, watts asked for and granted in tenths (2009); then figures for each pair set (2018).
/// **Source**: IEEE 802.3 clause 79.3.2.
fn power(octets: &mut Octets<'_>) -> Option<LinkPower> {
    let support = octets.u8()?;
    octets.u8()?;
    let class = octets.u8()?.checked_sub(1).filter(|class| *class <= 4);
    let mut power = LinkPower {
        feeds: support & 1 != 0,
        supported: support & 2 != 0,
        enabled: support & 4 != 0,
        class,
        requested: None,
        allocated: None,
    };
    if octets.u8().is_some() {
        let watts = |tenths: u16| Power::from_milliwatts(u64::from(tenths) * 100);
        power.requested = octets.u16().map(watts);
        power.allocated = octets.u16().map(watts);
    }
    if octets.take(8).is_some()
        && let Some(status) = octets.u16()
        // 1 to 8 are the classes of one load; 15 stands for two loads on one cable.
        && let Ok(extended @ 1..=8) = u8::try_from(status & 0x0f)
    {
        power.class = Some(extended);
    }
    Some(power)
}
