//! Spanning-tree messages: 802.1D, rapid, multiple, and the kind that speaks for one VLAN.
//!
//! **Source**: IEEE 802.1D-2004 clause 9, IEEE 802.1Q-2005 clause 14 (field order from memory, checked in tests against the
//! project's own recordings of a Linux bridge only); the per-VLAN kind is common practice, no standard.

use crate::bytes::{Octets, text};
use crate::facts::{BridgeMessage, MstInstance, PortDuty, TreeKind};
use crate::mac::Mac;

/// Logical-link header of a spanning-tree message. **Source**: IEEE 802.1D clause 7.12.3.
pub const LINK: [u8; 3] = [0x42, 0x42, 0x03];
/// Organisation and type of the per-VLAN kind. **Source**: common practice.
pub const PER_VLAN: ([u8; 3], u16) = ([0x00, 0x00, 0x0c], 0x010b);
/// Kinds of message. **Source**: IEEE 802.1D clause 9.3.
const CONFIGURATION: u8 = 0x00;
const RAPID: u8 = 0x02;
const CHANGE: u8 = 0x80;
/// Most further trees. **Source**: IEEE 802.1Q clause 13: 64 instances.
const MOST_INSTANCES: usize = 64;

/// A message taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bpdu {
    /// Which protocol.
    pub kind: TreeKind,
    /// What it says; `None` if it only tells that the tree changed.
    pub says: Option<BridgeMessage>,
    /// The VLAN it speaks for, in the per-VLAN kind.
    pub vlan: Option<u16>,
}

/// Reads what follows the link header.
pub fn read(payload: &[u8], is_per_vlan: bool) -> Option<Bpdu> {
    let mut octets = Octets(payload);
    if octets.u16()? != 0 {
        return None;
    }
    let version = octets.u8()?;
    let kind = match version {
        _ if is_per_vlan => TreeKind::PerVlan,
        0 | 1 => TreeKind::Stp,
        2 => TreeKind::Rstp,
        _ => TreeKind::Mstp,
    };
    match octets.u8()? {
        CHANGE => return Some(Bpdu { kind, says: None, vlan: None }),
        CONFIGURATION | RAPID => {}
        _ => return None,
    }
    let mut says = message(&mut octets, version)?;
    if kind == TreeKind::Mstp {
        multiple(&mut octets, &mut says);
    }
    let vlan = is_per_vlan.then(|| own_vlan(payload)).flatten();
    Some(Bpdu { kind, says: Some(says), vlan })
}

fn bridge(octets: &mut Octets<'_>) -> Option<(u16, Mac)> {
    Some((octets.u16()?, octets.mac()?))
}

fn message(octets: &mut Octets<'_>, version: u8) -> Option<BridgeMessage> {
    let flags = octets.u8()?;
    let is_rapid = version >= 2;
    let duty = match flags >> 2 & 3 {
        1 => PortDuty::Reserve,
        2 => PortDuty::Root,
        3 => PortDuty::Designated,
        _ => PortDuty::Unknown,
    };
    Some(BridgeMessage {
        root: bridge(octets)?,
        root_cost: octets.u32()?,
        bridge: bridge(octets)?,
        port: octets.u16()?,
        is_changing: flags & 1 != 0,
        duty: is_rapid.then_some(duty),
        forwards: is_rapid.then_some(flags & 0x20 != 0),
        timers: [octets.u16()?, octets.u16()?, octets.u16()?, octets.u16()?],
        region: None,
        instances: Vec::new(),
    })
}

/// Version 1 length, version 3 length, format, name, revision, digest, inner cost, bridge, hops left, then 16 octets for each tree.
fn multiple(octets: &mut Octets<'_>, says: &mut BridgeMessage) -> Option<()> {
    octets.u8()?;
    let length = usize::from(octets.u16()?);
    octets.0 = octets.0.get(..length).unwrap_or(octets.0);
    octets.u8()?;
    let name = text(octets.take(32)?);
    says.region = Some((name, octets.u16()?));
    octets.take(16)?;
    octets.u32()?;
    says.bridge = bridge(octets)?;
    octets.u8()?;
    while says.instances.len() < MOST_INSTANCES {
        octets.u8()?;
        let root = bridge(octets)?;
        let cost = octets.u32()?;
        octets.take(3)?;
        says.instances.push(MstInstance { instance: root.0 & 0x0fff, root, cost });
    }
    Some(())
}

/// The VLAN stands behind the message, after at most two octets of padding: type 0, length 2.
fn own_vlan(payload: &[u8]) -> Option<u16> {
    (35..=37).find_map(|at| match payload.get(at..at + 6)? {
        &[0, 0, 0, 2, high, low] => Some(u16::from_be_bytes([high, low]) & 0x0fff),
        _ => None,
    })
}
