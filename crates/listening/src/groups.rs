//! Asks for multicast groups on an interface, so that switches send them here.

use crate::Interface;
use socket2::{Domain, InterfaceIndexOrAddress, Socket, Type};
use std::io;
use std::net::Ipv4Addr;

/// Groups that one socket may ask for. **Source**: Linux `igmp_max_memberships`, 20 unless it was changed.
const MOST: usize = 20;

/// Groups that are asked for as long as this lives; then they are given up again.
#[derive(Debug)]
pub struct Groups {
    /// A group is asked for by the kernel, as long as its socket is open.
    sockets: Vec<Socket>,
    count: usize,
}

impl Groups {
    /// Asks for all `groups` on an interface.
    ///
    /// **Errors**: the system refuses one of them.
    pub fn join(interface: &Interface, groups: &[Ipv4Addr]) -> io::Result<Self> {
        let mut sockets = Vec::new();
        for some in groups.chunks(MOST) {
            let socket = Socket::new(Domain::IPV4, Type::DGRAM, None)?;
            for group in some {
                socket.join_multicast_v4_n(group, &InterfaceIndexOrAddress::Index(interface.index))?;
            }
            sockets.push(socket);
        }
        Ok(Self { sockets, count: groups.len() })
    }

    /// How many groups are asked for.
    pub fn count(&self) -> usize {
        if self.sockets.is_empty() { 0 } else { self.count }
    }
}
