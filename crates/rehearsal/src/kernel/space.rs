//! Network namespaces without names.

use super::netlink::Netlink;
use nix::sched::{CloneFlags, setns, unshare};
use std::fs::File;
use std::io::{self, Write};
use std::thread;
use std::time::Duration;

/// Where a thread finds its own network namespace.
const OWN: &str = "/proc/thread-self/ns/net";
/// Switches of a fresh namespace, and what they are set to: no IPv6 chatter on what will be made in it, no packet dropped for its source
/// address, and no interface that answers for another one's address (a device's inner bridge would, and draw unicast streams to itself).
const SWITCHES: [(&str, &str); 4] = [
    ("/proc/sys/net/ipv4/conf/all/arp_ignore", "1"),
    ("/proc/sys/net/ipv6/conf/default/disable_ipv6", "1"),
    ("/proc/sys/net/ipv4/conf/default/rp_filter", "0"),
    ("/proc/sys/net/ipv4/conf/all/rp_filter", "0"),
];

/// How long to leave the kernel alone that asks to be asked again. Own choice.
const BUSY: Duration = Duration::from_micros(200);

/// Sets one switch. While the kernel clears away other namespaces it has no time for this and says "again": it was asked a million
/// times in 15 builds before it was left alone for a moment in between.
fn set(switch: &str, value: &str) -> io::Result<()> {
    let mut file = File::options().write(true).open(switch)?;
    loop {
        match file.write(value.as_bytes()) {
            Err(error) if error.kind() == io::ErrorKind::Interrupted => thread::sleep(BUSY),
            other => return other.map(|_| ()),
        }
    }
}

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
            let _ = set(switch, value);
        }
        Ok(Self { handle: File::open(OWN)?, netlink: Netlink::open()? })
    }

    /// Moves the calling thread into it.
    pub(super) fn enter(&self) -> io::Result<()> {
        Ok(setns(&self.handle, CloneFlags::CLONE_NEWNET)?)
    }
}
