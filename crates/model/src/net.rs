//! Addresses and the small bounded numbers of Ethernet and IP.

use std::fmt;
use std::net::Ipv4Addr;
use std::str::FromStr;

/// A number or address outside what its field can hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetError {
    /// What stood there.
    pub found: String,
    /// What is expected, with the limits.
    pub expected: &'static str,
}

impl fmt::Display for NetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: expected {}", self.found, self.expected)
    }
}

impl std::error::Error for NetError {}

/// A VLAN number. **Range**: 1..=4094. **Source**: IEEE 802.1Q (0 and 4095 reserved; from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct VlanId(u16);

impl VlanId {
    /// Checks the range.
    ///
    /// **Errors**: anything outside 1..=4094.
    pub fn new(value: i64) -> Result<Self, NetError> {
        match u16::try_from(value) {
            Ok(id @ 1..=4094) => Ok(Self(id)),
            _ => Err(NetError { found: value.to_string(), expected: "a VLAN number from 1 to 4094" }),
        }
    }

    /// As a number.
    pub const fn get(self) -> u16 {
        self.0
    }
}

impl fmt::Display for VlanId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// A differentiated-services code point. **Range**: 0..=63. **Source**: RFC 2474.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct Dscp(u8);

impl Dscp {
    /// Assured forwarding 41: media in AES67. **Source**: RFC 2597 section 6; AES67 (read second-hand).
    pub const AF41: Self = Self(34);
    /// Expedited forwarding: clock in AES67. **Source**: RFC 3246 section 2.7; AES67 (read second-hand).
    pub const EF: Self = Self(46);

    /// Checks the range.
    ///
    /// **Errors**: anything outside 0..=63.
    pub fn new(value: i64) -> Result<Self, NetError> {
        match u8::try_from(value) {
            Ok(code @ 0..=63) => Ok(Self(code)),
            _ => Err(NetError { found: value.to_string(), expected: "a DSCP from 0 to 63" }),
        }
    }

    /// From the name of a per-hop behaviour: `EF`, `CS0` to `CS7`, `AF11` to `AF43`.
    /// **Source**: RFC 3246 section 2.7, RFC 2474 section 4.2.2.1, RFC 2597 section 6.
    pub fn from_name(name: &str) -> Option<Self> {
        match *name.as_bytes() {
            [b'E', b'F'] => Some(Self::EF),
            [b'C', b'S', class @ b'0'..=b'7'] => Some(Self(8 * (class - b'0'))),
            [b'A', b'F', class @ b'1'..=b'4', drop @ b'1'..=b'3'] => Some(Self(8 * (class - b'0') + 2 * (drop - b'0'))),
            _ => None,
        }
    }

    /// As a number.
    pub const fn get(self) -> u8 {
        self.0
    }

    /// The octet that carries it in the IPv4 header. **Source**: RFC 2474.
    pub const fn tos_octet(self) -> u8 {
        self.0 << 2
    }

    /// The 802.1p priority most switches derive from it: its top three bits. **Source**: RFC 8325 section 2.3.
    pub const fn default_priority(self) -> u8 {
        self.0 >> 3
    }
}

impl fmt::Display for Dscp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// An IPv4 network, written `10.10.0.0/22`. **Invariant**: prefix 1..=30, no host bits set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Subnet {
    base: Ipv4Addr,
    prefix: u8,
}

impl Subnet {
    /// The subnet that `address` with `prefix` lies in.
    ///
    /// **Errors**: a prefix outside 1..=30 leaves no room for two hosts.
    pub fn containing(address: Ipv4Addr, prefix: u8) -> Result<Self, NetError> {
        if !(1..=30).contains(&prefix) {
            return Err(NetError { found: format!("{address}/{prefix}"), expected: "a prefix length from /1 to /30" });
        }
        Ok(Self { base: Ipv4Addr::from(u32::from(address) & mask(prefix)), prefix })
    }

    /// Its lowest address.
    pub const fn base(self) -> Ipv4Addr {
        self.base
    }

    /// How many leading bits are common.
    pub const fn prefix(self) -> u8 {
        self.prefix
    }

    /// Its mask in dotted form.
    pub fn mask(self) -> Ipv4Addr {
        Ipv4Addr::from(mask(self.prefix))
    }

    /// Its highest address, which reaches everybody.
    pub fn broadcast(self) -> Ipv4Addr {
        Ipv4Addr::from(u32::from(self.base) | !mask(self.prefix))
    }

    /// How many interfaces it can number.
    pub const fn hosts(self) -> u32 {
        (1 << (32 - self.prefix)) - 2
    }

    /// Whether `address` lies in it.
    pub fn contains(self, address: Ipv4Addr) -> bool {
        u32::from(address) & mask(self.prefix) == u32::from(self.base)
    }

    /// The `n`-th address (0 is the base); `None` past the last host.
    pub fn host(self, n: u32) -> Option<Ipv4Addr> {
        (1..=self.hosts()).contains(&n).then(|| Ipv4Addr::from(u32::from(self.base) + n))
    }

    /// Whether the two share an address.
    pub fn overlaps(self, other: Self) -> bool {
        self.contains(other.base) || other.contains(self.base)
    }
}

/// How many link-local addresses a device may choose from. **Source**: RFC 3927 section 2.1.
pub const USABLE_LINK_LOCAL: u32 = 254 * 256;

/// Whether a device may choose `address` as its link-local one: 169.254.1.0 to 169.254.254.255.
/// **Source**: RFC 3927 section 2.1.
pub const fn is_usable_link_local(address: Ipv4Addr) -> bool {
    matches!(address.octets(), [169, 254, 1..=254, _])
}

fn mask(prefix: u8) -> u32 {
    u32::MAX.checked_shl(32 - u32::from(prefix)).unwrap_or(0)
}

fn address_and_prefix(text: &str) -> Option<(Ipv4Addr, u8)> {
    let (address, prefix) = text.trim().split_once('/')?;
    Some((address.parse().ok()?, prefix.parse().ok()?))
}

impl FromStr for Subnet {
    type Err = NetError;
    fn from_str(text: &str) -> Result<Self, NetError> {
        let fail = |expected| NetError { found: text.to_owned(), expected };
        let (address, prefix) = address_and_prefix(text).ok_or_else(|| fail("a subnet such as \"10.10.0.0/22\""))?;
        let subnet = Self::containing(address, prefix)?;
        if subnet.base == address { Ok(subnet) } else { Err(fail("the first address of the subnet, with no host bits set")) }
    }
}

impl fmt::Display for Subnet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.base, self.prefix)
    }
}

/// An interface's address and the mask it is set to, written `10.10.1.11/22`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct InterfaceAddress {
    /// The address.
    pub address: Ipv4Addr,
    /// The subnet as this interface believes it to be.
    pub subnet: Subnet,
}

impl FromStr for InterfaceAddress {
    type Err = NetError;
    fn from_str(text: &str) -> Result<Self, NetError> {
        let (address, prefix) = address_and_prefix(text)
            .ok_or_else(|| NetError { found: text.to_owned(), expected: "an address with its prefix length, such as \"10.10.1.11/22\"" })?;
        Ok(Self { address, subnet: Subnet::containing(address, prefix)? })
    }
}

impl fmt::Display for InterfaceAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.address, self.subnet.prefix)
    }
}

impl serde::Serialize for Subnet {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl serde::Serialize for InterfaceAddress {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn subnets_know_their_edges() {
        let subnet: Subnet = "10.1.2.128/26".parse().expect("a subnet");
        assert_eq!((subnet.broadcast(), subnet.hosts()), (Ipv4Addr::new(10, 1, 2, 191), 62));
        assert_eq!(subnet.host(62), Some(Ipv4Addr::new(10, 1, 2, 190)));
        assert_eq!(subnet.host(63), None);
        assert!("10.1.2.130/26".parse::<Subnet>().is_err() && "10.0.0.0/31".parse::<Subnet>().is_err());
    }

    #[test]
    fn bounded_numbers_say_their_limits() {
        assert!(VlanId::new(4095).is_err_and(|e| e.to_string().contains("1 to 4094")));
        assert!(Dscp::new(64).is_err_and(|e| e.to_string().contains("0 to 63")));
    }
}
