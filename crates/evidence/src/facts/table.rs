//! Tables that a switch keeps about others: where an address is, who is a member, which VLANs there are.

use crate::mac::Mac;
use crate::seen::Seen;
use std::net::Ipv4Addr;

/// A row of a forwarding table: this address is behind this port.
/// **Source**: BRIDGE-MIB `dot1dTpFdbTable` (RFC 4188), Q-BRIDGE-MIB `dot1qTpFdbTable` (RFC 4363).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Learned {
    /// When and where.
    pub seen: Seen,
    /// The box, by its own name.
    pub system: Option<String>,
    /// Its port, by name; `None` where the box says that it does not know.
    pub port: Option<String>,
    /// The address.
    pub mac: Mac,
    /// The VLAN, or the number of the forwarding database where the box keeps several.
    pub vlan: Option<u16>,
    /// How it came to be there.
    pub kind: LearnedKind,
}

/// How a row of a forwarding table came to be there. **Source**: RFC 4188 `dot1dTpFdbStatus`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LearnedKind {
    /// From a frame's sender: something is behind this port.
    Learned,
    /// The box's own address.
    Own,
    /// Set by hand.
    Static,
    /// Something else, or no longer valid.
    Other,
}

/// A group that goes out of a port. **Source**: Q-BRIDGE-MIB `dot1qTpGroupTable` (RFC 4363), or a bridge's own list.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Member {
    /// When and where.
    pub seen: Seen,
    /// The box, by its own name.
    pub system: Option<String>,
    /// Its port, by name.
    pub port: String,
    /// The group's hardware address.
    pub mac: Mac,
    /// The group, where the table says it: 32 groups share a hardware address.
    pub group: Option<Ipv4Addr>,
    /// The VLAN.
    pub vlan: Option<u16>,
    /// Whether it was set by hand and never ages.
    pub is_permanent: bool,
    /// Whether the port is there because a querier or router is behind it, not a member.
    pub is_router_port: bool,
}

/// A VLAN of a box. **Source**: Q-BRIDGE-MIB `dot1qVlanCurrentTable`, `dot1qVlanStaticTable` (RFC 4363).
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct VlanRow {
    /// When and where.
    pub seen: Seen,
    /// The box, by its own name.
    pub system: Option<String>,
    /// The VLAN.
    pub vlan: u16,
    /// What a person called it.
    pub name: Option<String>,
    /// Ports that send it with a tag, by name.
    pub tagged: Vec<String>,
    /// Ports that send it without.
    pub untagged: Vec<String>,
}
