//! Who is at the other end of a cable, as neighbours say themselves. **Source**: IEEE 802.1AB.

use crate::mac::Mac;
use crate::seen::Seen;
use loomwright_model::{BitRate, Power};
use std::fmt;
use std::net::IpAddr;

/// One neighbour that a port heard: a cable end to check against the plan.
///
/// Some plain boxes pass these messages on, so a neighbour may be two hops away, and a port may have several.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Neighbour {
    /// When and where.
    pub seen: Seen,
    /// The box whose port heard it, by its own name; `None` if the source does not say (a capture, a neighbour table on its own).
    pub system: Option<String>,
    /// That box's port, by the name its management uses; `None` in a capture without interface names.
    pub local_port: Option<String>,
    /// That port's number in the LLDP tables of an SNMP walk. It is often no interface index.
    pub local_number: Option<u32>,
    /// The sender's hardware address, in a capture.
    pub sender: Option<Mac>,
    /// The VLAN tag that the message came with, in a capture.
    pub vlan: Option<u16>,
    /// What the neighbour says.
    pub says: Advertisement,
}

/// What a box says about itself and the port it sends from. **Source**: IEEE 802.1AB clause 8 (read second-hand).
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Advertisement {
    /// The box; `None` only in damaged messages and tables.
    pub chassis: Option<Identifier>,
    /// The port it sends from.
    pub port: Option<Identifier>,
    /// For how long the word is good. **Unit**: second; 0 means it says goodbye.
    pub time_to_live: Option<u16>,
    /// The port in words.
    pub port_description: Option<String>,
    /// The box's name.
    pub name: Option<String>,
    /// The box in words.
    pub description: Option<String>,
    /// What it can be.
    pub capable: Capabilities,
    /// What it is now.
    pub enabled: Capabilities,
    /// Where its management is reached, in the order given.
    pub management: Vec<IpAddr>,
    /// Hardware addresses given as management addresses.
    pub management_macs: Vec<Mac>,
    /// The VLAN of its untagged frames; `None` also where it says 0, which means none. **Source**: IEEE 802.1Q annex D.
    pub untagged_vlan: Option<u16>,
    /// VLANs that it names.
    pub vlan_names: Vec<(u16, String)>,
    /// Whether the speed is negotiated. **Source**: IEEE 802.3 clause 79 (read second-hand).
    pub negotiates: Option<bool>,
    /// Speed and medium in use, by the number of IANA-MAU-MIB.
    pub mau: Option<u16>,
    /// The speed in use, as far as `mau` or words tell.
    pub speed: Option<BitRate>,
    /// Whether both directions work at once, as far as `mau` or words tell.
    pub full_duplex: Option<bool>,
    /// Power over the cable.
    pub power: Option<LinkPower>,
    /// Whether the port is part of an aggregation now.
    pub aggregated: Option<bool>,
    /// Longest frame. **Unit**: octet.
    pub longest_frame: Option<u16>,
    /// Parts that only their maker can read: organisation and subtype.
    pub unknown: Vec<([u8; 3], u8)>,
}

impl Advertisement {
    /// The hardware address by which the chassis names itself.
    pub fn chassis_mac(&self) -> Option<Mac> {
        self.chassis.as_ref().and_then(|id| id.mac)
    }

    /// The best word for the box: its name, else its chassis identifier.
    pub fn called(&self) -> Option<&str> {
        self.name.as_deref().filter(|name| !name.is_empty()).or(self.chassis.as_ref().map(|id| id.text.as_str()))
    }
}

/// A chassis or port identifier with its kind.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct Identifier {
    /// What kind of name it says it is.
    pub kind: IdentifierKind,
    /// As text: hardware addresses as `02:00:5e:10:00:01`, everything else as it came.
    pub text: String,
    /// As a hardware address, if it is one, whatever the kind says.
    pub mac: Option<Mac>,
}

impl fmt::Display for Identifier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

/// What kind of name an identifier is. **Source**: IEEE 802.1AB tables 8-2 and 8-3 (numbers from memory, and as IEEE LLDP-MIB lists them).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum IdentifierKind {
    /// A chassis component by its inventory name.
    Component,
    /// An interface's alias, which a person sets.
    Alias,
    /// A port component by its inventory name.
    PortComponent,
    /// A hardware address.
    Mac,
    /// A network address.
    Network,
    /// An interface's name.
    InterfaceName,
    /// The number of a circuit.
    Circuit,
    /// A name of the box's own making.
    Local,
    /// None of these.
    Other,
}

/// What a box can be or is. **Source**: IEEE 802.1AB table 8-4, as IEEE LLDP-MIB `LldpSystemCapabilitiesMap` lists them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(transparent)]
pub struct Capabilities(pub u16);

impl Capabilities {
    /// Passes frames on: a switch or a chained device.
    pub const BRIDGE: u16 = 1 << 2;
    /// Radio access point.
    pub const ACCESS_POINT: u16 = 1 << 3;
    /// Router.
    pub const ROUTER: u16 = 1 << 4;
    /// Telephone.
    pub const TELEPHONE: u16 = 1 << 5;
    /// Endpoint only.
    pub const STATION: u16 = 1 << 7;

    /// Whether it has the ability.
    pub const fn has(self, ability: u16) -> bool {
        self.0 & ability != 0
    }
}

/// What a port says of power over its cable. **Source**: IEEE 802.3 clause 79.3.2 (read second-hand).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, serde::Serialize)]
pub struct LinkPower {
    /// Whether the port feeds power; else it takes power.
    pub feeds: bool,
    /// Whether it can at all.
    pub supported: bool,
    /// Whether it is switched on.
    pub enabled: bool,
    /// Class, 0 to 8.
    pub class: Option<u8>,
    /// What the powered device asks for.
    pub requested: Option<Power>,
    /// What the feeding port grants.
    pub allocated: Option<Power>,
}
