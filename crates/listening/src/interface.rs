//! Network interfaces of this computer.

use crate::Tap;
use std::fmt;
use std::io;
use std::net::Ipv4Addr;

/// One network interface.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interface {
    /// Its name.
    pub name: String,
    /// Its number in this system.
    pub index: u32,
    /// Its hardware address; zero where it has none.
    pub mac: [u8; 6],
    /// Its IPv4 addresses.
    pub addresses: Vec<Ipv4Addr>,
    #[cfg(target_os = "linux")]
    pub(crate) link: nix::sys::socket::LinkAddr,
}

/// Why an interface cannot be listened to.
#[derive(Debug)]
pub enum CannotListen {
    /// No interface has this name; these are there.
    NoSuchInterface(Vec<String>),
    /// The right to take frames is missing.
    NotAllowed,
    /// It is switched off.
    IsDown,
    /// This system has no way that is built here.
    NotBuilt,
    /// Anything else.
    Other(io::Error),
}

impl fmt::Display for CannotListen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchInterface(known) => write!(f, "there is no such interface, only {}", known.join(", ")),
            Self::NotAllowed => f.write_str("this program may not take frames from the wire"),
            Self::IsDown => f.write_str("the interface is switched off"),
            Self::NotBuilt => f.write_str("listening is only built for Linux"),
            Self::Other(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for CannotListen {}

impl From<io::Error> for CannotListen {
    fn from(error: io::Error) -> Self {
        Self::Other(error)
    }
}

#[cfg(target_os = "linux")]
impl Interface {
    /// The interface called `name`.
    ///
    /// **Errors**: there is none, or the system does not tell.
    pub fn find(name: &str) -> Result<Self, CannotListen> {
        let mut found: Option<Self> = None;
        let mut known = Vec::new();
        let mut addresses = Vec::new();
        for row in nix::ifaddrs::getifaddrs().map_err(io::Error::from)? {
            let Some(address) = row.address else { continue };
            let link = address.as_link_addr().copied();
            if link.is_some() {
                known.push(row.interface_name.clone());
            }
            if row.interface_name != name {
                continue;
            }
            addresses.extend(address.as_sockaddr_in().map(nix::sys::socket::SockaddrIn::ip));
            if let Some(link) = link {
                let index = u32::try_from(link.ifindex()).unwrap_or_default();
                let mac = link.addr().unwrap_or_default();
                found = Some(Self { name: name.to_owned(), index, mac, addresses: Vec::new(), link });
            }
        }
        let found = found.ok_or(CannotListen::NoSuchInterface(known))?;
        Ok(Self { addresses, ..found })
    }
}

/// Begins to hear an interface, frames for others too.
///
/// **Errors**: the right is missing (on Linux `cap_net_raw`), or the interface is down.
#[cfg(target_os = "linux")]
pub fn open(interface: &Interface) -> Result<Box<dyn Tap>, CannotListen> {
    Ok(Box::new(crate::PacketTap::open(interface)?))
}

/// Not built for this system.
///
/// **Errors**: always.
#[cfg(not(target_os = "linux"))]
pub fn open(_interface: &Interface) -> Result<Box<dyn Tap>, CannotListen> {
    Err(CannotListen::NotBuilt)
}

#[cfg(not(target_os = "linux"))]
impl Interface {
    /// Not built for this system.
    ///
    /// **Errors**: always.
    pub fn find(_name: &str) -> Result<Self, CannotListen> {
        Err(CannotListen::NotBuilt)
    }
}
