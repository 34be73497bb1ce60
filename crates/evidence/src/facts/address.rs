//! Addresses, the names they go by, and the services they offer.

use crate::mac::Mac;
use crate::seen::Seen;
use std::net::{IpAddr, Ipv4Addr};

/// An address and who has it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Binding {
    /// When and where.
    pub seen: Seen,
    /// How it is known.
    pub by: BindingSource,
    /// The address.
    pub address: IpAddr,
    /// The interface that has it.
    pub mac: Option<Mac>,
    /// What its owner is called.
    pub name: Option<String>,
    /// The box whose table says so, or on whose port it was seen.
    pub system: Option<String>,
    /// That box's port or interface.
    pub port: Option<String>,
    /// The VLAN, in a capture.
    pub vlan: Option<u16>,
}

/// How an address is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BindingSource {
    /// Its owner asked or answered for it (ARP, RFC 826).
    Arp,
    /// Its owner wants it and asks whether anybody has it (RFC 5227).
    ArpProbe,
    /// A row of an address table.
    Table,
    /// A DHCP server gave it out (RFC 2131).
    Lease,
    /// A multicast DNS answer (RFC 6762).
    Name,
    /// Its owner's own list of interfaces.
    Own,
    /// A note.
    Note,
}

/// What one party of a DHCP exchange said. **Source**: RFC 2131, options of RFC 2132.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct DhcpSaid {
    /// When and where.
    pub seen: Seen,
    /// What kind of message.
    pub message: DhcpMessage,
    /// The server that speaks or is spoken to: its identifier, else the sender's address.
    pub server: Option<Ipv4Addr>,
    /// The server's hardware address, if it spoke at the place of the capture.
    pub server_mac: Option<Mac>,
    /// The client's hardware address.
    pub client: Option<Mac>,
    /// What the client calls itself.
    pub client_name: Option<String>,
    /// The address offered, asked for or given.
    pub address: Option<Ipv4Addr>,
    /// The mask that goes with it.
    pub mask: Option<Ipv4Addr>,
    /// The first gateway.
    pub router: Option<Ipv4Addr>,
    /// For how long. **Unit**: second.
    pub lease: Option<u32>,
    /// The VLAN tag, in a capture.
    pub vlan: Option<u16>,
}

/// Kinds of DHCP message. **Source**: RFC 2132 section 9.6.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum DhcpMessage {
    /// Who can give me an address?
    Discover,
    /// You could have this one.
    Offer,
    /// I take it.
    Request,
    /// I will not have it: somebody else uses it.
    Decline,
    /// It is yours.
    Ack,
    /// You cannot have it.
    Nak,
    /// I give it back.
    Release,
    /// I have an address and ask for the rest.
    Inform,
    /// Another kind, by its number; 0 stands for the older protocol without kinds (RFC 951).
    Other(u8),
}

impl DhcpMessage {
    /// Whether a server says it.
    pub const fn is_from_server(self) -> bool {
        matches!(self, Self::Offer | Self::Ack | Self::Nak)
    }
}

/// A service that a device announces. **Source**: RFC 6763.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Service {
    /// When and where.
    pub seen: Seen,
    /// Who announced it.
    pub from: Option<IpAddr>,
    /// Its own name, as people read it.
    pub instance: String,
    /// Its kind, such as `_http._tcp`.
    pub kind: String,
    /// The device that offers it.
    pub host: Option<String>,
    /// Its UDP or TCP port.
    pub port: Option<u16>,
    /// Its further particulars, `key=value`.
    pub text: Vec<String>,
}
