//! Multicast groups: the hardware address they map to, and whose block they lie in.

use std::fmt;
use std::net::Ipv4Addr;

/// The hardware address of a group: 01:00:5e and the group's low 23 bits, so 32 groups share each.
/// **Source**: RFC 1112 section 6.4.
///
/// ```
/// use loomwright_model::multicast::{hardware_address, hardware_text};
/// let group = "239.69.1.1".parse().expect("a group");
/// assert_eq!(hardware_text(hardware_address(group)), "01:00:5e:45:01:01");
/// ```
pub fn hardware_address(group: Ipv4Addr) -> [u8; 6] {
    let [_, second, third, fourth] = group.octets();
    [0x01, 0x00, 0x5e, second & 0x7f, third, fourth]
}

/// A hardware address as people write it: `01:00:5e:45:01:01`.
pub fn hardware_text(address: [u8; 6]) -> String {
    address.map(|octet| format!("{octet:02x}")).join(":")
}

/// Which block a group lies in. **Source**: RFC 2365 section 6, RFC 5771 sections 4 to 10.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Scope {
    /// 224.0.0.0/24: never routed, always flooded.
    LocalControl,
    /// 224.0.1.0/24: the precision-time groups live here.
    InternetworkControl,
    /// 232.0.0.0/8: source-specific.
    SourceSpecific,
    /// 239.255.0.0/16: local.
    Local,
    /// 239.192.0.0/14: an organisation's own plans.
    Organization,
    /// The rest of 239.0.0.0/8.
    UnassignedAdministrative,
    /// Any other group.
    Global,
    /// No group at all.
    NotMulticast,
}

impl Scope {
    /// The block of `group`.
    pub fn of(group: Ipv4Addr) -> Self {
        match group.octets() {
            [224, 0, 0, _] => Self::LocalControl,
            [224, 0, 1, _] => Self::InternetworkControl,
            [232, ..] => Self::SourceSpecific,
            [239, 255, ..] => Self::Local,
            [239, 192..=195, ..] => Self::Organization,
            [239, ..] => Self::UnassignedAdministrative,
            _ if group.is_multicast() => Self::Global,
            _ => Self::NotMulticast,
        }
    }

    /// One word for tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::LocalControl => "local-control",
            Self::InternetworkControl => "internetwork-control",
            Self::SourceSpecific => "source-specific",
            Self::Local => "local",
            Self::Organization => "organization",
            Self::UnassignedAdministrative => "unassigned-239",
            Self::Global => "global",
            Self::NotMulticast => "none",
        }
    }
}

impl fmt::Display for Scope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_have_sharp_edges() {
        for (group, scope) in [
            ("224.0.0.255", Scope::LocalControl),
            ("224.0.1.129", Scope::InternetworkControl),
            ("239.191.255.255", Scope::UnassignedAdministrative),
            ("239.192.0.0", Scope::Organization),
            ("239.195.255.255", Scope::Organization),
            ("239.196.0.0", Scope::UnassignedAdministrative),
            ("239.255.0.0", Scope::Local),
            ("238.1.1.1", Scope::Global),
            ("223.255.255.255", Scope::NotMulticast),
            ("240.0.0.0", Scope::NotMulticast),
        ] {
            assert_eq!(Scope::of(group.parse().expect("an address")), scope, "{group}");
        }
    }
}
