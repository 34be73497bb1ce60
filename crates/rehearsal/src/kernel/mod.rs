//! Everything that touches the kernel. Namespaces have no name and hang on file descriptors of this process alone: when it ends,
//! however it ends, the kernel takes them and all that is in them away.
#![allow(clippy::disallowed_methods, reason = "this module is the one that meets the kernel, the clock and threads")]

mod capture;
mod keep;
mod netlink;
mod probe;
mod rig;
mod run;
mod sockets;
mod space;

pub use probe::{Findings, prepare, probe};
pub use run::{Options, Progress, build_time, rehearse};

use std::fmt;
use std::io;

/// Why a rehearsal could not be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What could not be done and why; no full stop.
    pub says: String,
    /// What to do, as an order.
    pub remedy: String,
}

impl Trouble {
    /// A trouble and what to do about it.
    pub fn new(says: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { says: says.into(), remedy: remedy.into() }
    }

    /// The kernel refused something: `doing` completes "cannot ..".
    fn of(doing: &str, error: impl Into<io::Error>) -> Self {
        let error = error.into();
        let remedy = match error.raw_os_error() {
            Some(code) if code == nix::errno::Errno::EMFILE as i32 || code == nix::errno::Errno::ENFILE as i32 => {
                "Allow more open files (`ulimit -n`), or rehearse fewer copies at once (`--copies 1`)."
            }
            Some(code) if code == nix::errno::Errno::EPERM as i32 || code == nix::errno::Errno::EACCES as i32 => {
                "Run it as root, or allow unprivileged user namespaces."
            }
            _ => "",
        };
        Self::new(format!("cannot {doing}: {error}"), remedy)
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.says)
    }
}

impl std::error::Error for Trouble {}
