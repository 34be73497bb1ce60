//! Who asks about groups and who wants them. **Source**: RFC 1112, RFC 2236, RFC 3376.

use crate::mac::Mac;
use crate::seen::Seen;
use std::net::Ipv4Addr;

/// A box that asks who wants which group.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Querier {
    /// When and where.
    pub seen: Seen,
    /// Its address; 0.0.0.0 is a switch that asks on behalf of another and never wins (RFC 4541 section 2.1.1).
    pub address: Ipv4Addr,
    /// Its hardware address.
    pub mac: Option<Mac>,
    /// The VLAN tag.
    pub vlan: Option<u16>,
    /// Version, 1 to 3.
    pub version: u8,
    /// General queries. The rest of `seen.times` asked about one group.
    pub general: u64,
    /// How long members may take to answer. **Unit**: tenth of a second.
    pub response_time: u32,
    /// The interval that it states (version 3). **Unit**: second.
    pub stated_interval: Option<u32>,
    /// Shortest time between two general queries seen here. **Unit**: nanosecond.
    pub shortest_interval: Option<u64>,
    /// Longest time between two general queries seen here. **Unit**: nanosecond.
    pub longest_interval: Option<u64>,
}

/// One host's wish for one group.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Membership {
    /// When and where.
    pub seen: Seen,
    /// Who wants it.
    pub host: Ipv4Addr,
    /// Its hardware address.
    pub mac: Option<Mac>,
    /// The VLAN tag.
    pub vlan: Option<u16>,
    /// The group.
    pub group: Ipv4Addr,
    /// Highest version used, 1 to 3.
    pub version: u8,
    /// Reports that want it.
    pub reports: u64,
    /// Messages that leave it.
    pub leaves: u64,
    /// Whether its last word was that it wants it.
    pub is_member: bool,
    /// Senders that it names (version 3), in rising order (at most 64).
    pub senders: Vec<Ipv4Addr>,
}
