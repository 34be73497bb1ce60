//! Network namespaces without names.

use super::netlink::Netlink;
use nix::sched::{CloneFlags, setns, unshare};
use std::fs::{self, File};
use std::io;

/// Where a thread finds its own network namespace.
const OWN: &str = "/proc/thread-self/ns/net";
/// Switches of a fresh namespace, and what they are set to: no IPv6 chatter, no packet dropped for its source address, and no
/// interface that answers for another one's address (a device's inner bridge would, and draw unicast streams to itself).
const SWITCHES: [(&str, &str); 5] = [
    ("/proc/sys/net/ipv4/conf/all/arp_ignore", "1"),
    ("/proc/sys/net/ipv6/conf/default/disable_ipv6", "1"),
    ("/proc/sys/net/ipv6/conf/all/disable_ipv6", "1"),
    ("/proc/sys/net/ipv4/conf/default/rp_filter", "0"),
    ("/proc/sys/net/ipv4/conf/all/rp_filter", "0"),
];

/// A namespace, and a socket to its kernel.
pub(super) struct Space {
    /// It lives as long as this is open.
    pub(super) handle: File,
    pub(super) netlink: Netlink,
}

impl Space {
    /// A fresh one; the calling thread is in it afterwards.
    pub(super) fn new() -> io::Result<Self> {
        unshare(CloneFlags::CLONE_NEWNET)?;
        for (switch, value) in SWITCHES {
            // Where /proc/sys can only be read, the defaults have to do.
            let _ = fs::write(switch, value);
        }
        Ok(Self { handle: File::open(OWN)?, netlink: Netlink::open()? })
    }

    /// Moves the calling thread into it.
    pub(super) fn enter(&self) -> io::Result<()> {
        Ok(setns(&self.handle, CloneFlags::CLONE_NEWNET)?)
    }
}
