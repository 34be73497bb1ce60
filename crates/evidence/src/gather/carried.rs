//! Counts frames by what they carry.

use std::collections::BTreeMap;

/// What a frame carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carried {
    /// A VLAN tag.
    Vlan,
    /// A neighbour message.
    Lldp,
    /// A spanning-tree message.
    Stp,
    /// An address question or answer.
    Arp,
    /// A pause or another MAC control frame.
    MacControl,
    /// IPv4.
    Ipv4,
    /// A piece of an IPv4 packet.
    Fragment,
    /// IPv6.
    Ipv6,
    /// A group membership message.
    Igmp,
    /// UDP.
    Udp,
    /// A precision-time message.
    Ptp,
    /// An address being given out.
    Dhcp,
    /// A name or service.
    Mdns,
    /// A stream announcement.
    Sap,
}

/// Every kind with its word.
const WORDS: [(Carried, &str); 14] = [
    (Carried::Vlan, "vlan"),
    (Carried::Lldp, "lldp"),
    (Carried::Stp, "stp"),
    (Carried::Arp, "arp"),
    (Carried::MacControl, "mac-control"),
    (Carried::Ipv4, "ipv4"),
    (Carried::Fragment, "fragment"),
    (Carried::Ipv6, "ipv6"),
    (Carried::Igmp, "igmp"),
    (Carried::Udp, "udp"),
    (Carried::Ptp, "ptp"),
    (Carried::Dhcp, "dhcp"),
    (Carried::Mdns, "mdns"),
    (Carried::Sap, "sap"),
];

/// Frames by what they carry.
#[derive(Clone, Debug, Default)]
pub struct Counts([u64; WORDS.len()]);

impl Counts {
    /// One more.
    #[inline]
    pub fn add(&mut self, carried: Carried) {
        if let Some(count) = self.0.get_mut(carried as usize) {
            *count = count.saturating_add(1);
        }
    }

    /// Those that were seen at all.
    pub fn finish(self) -> BTreeMap<&'static str, u64> {
        let count = |carried: Carried| self.0.get(carried as usize).copied().unwrap_or_default();
        WORDS.iter().map(|&(carried, word)| (word, count(carried))).filter(|&(_, count)| count > 0).collect()
    }
}
