//! What this kernel allows, found out by trying.

use super::Trouble;
use super::space::Space;
use nix::sched::{CloneFlags, unshare};
use nix::sys::resource::{Resource, getrlimit, setrlimit};
use nix::unistd::{getgid, getuid};
use std::fs;
use std::thread;
use std::time::Duration;

/// What was found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Findings {
    /// Whether this process had to become the root of a user namespace of its own.
    pub has_own_users: bool,
}

/// Makes sure that this process may make network namespaces: as it is, or as the root of a user namespace of its own.
///
/// Call it before any thread runs: a process with several threads cannot change its user namespace.
///
/// **Errors**: the kernel allows neither.
pub fn prepare() -> Result<Findings, Trouble> {
    if probe().is_ok() {
        return Ok(Findings { has_own_users: false });
    }
    let (user, group) = (getuid(), getgid());
    unshare(CloneFlags::CLONE_NEWUSER).map_err(|error| {
        let remedy = "Run it as root, or allow unprivileged user namespaces on this machine.";
        Trouble::new(format!("this kernel allows no network namespaces of one's own: {error}"), remedy)
    })?;
    let write = |file: &str, text: String| fs::write(format!("/proc/self/{file}"), text);
    let maps = [("setgroups", "deny".to_owned()), ("uid_map", format!("0 {user} 1")), ("gid_map", format!("0 {group} 1"))];
    for (file, text) in maps {
        write(file, text).map_err(|error| Trouble::of("become root of a user namespace", error))?;
    }
    probe()?;
    Ok(Findings { has_own_users: true })
}

/// Whether a network namespace can be made; tried in a thread of its own.
///
/// **Errors**: it cannot, and why.
pub fn probe() -> Result<(), Trouble> {
    let tried = thread::spawn(|| Space::new().map(|_| ()).map_err(|error| Trouble::of("make a network namespace", error)));
    let result = tried.join().unwrap_or_else(|_| Err(Trouble::new("trying a network namespace failed", "")));
    // A thread that has just ended may still be counted by the kernel.
    thread::sleep(Duration::from_millis(5));
    result
}

/// Allows as many open files as this process may ask for; says how many.
pub(super) fn raise_file_limit() -> u64 {
    let Ok((soft, hard)) = getrlimit(Resource::RLIMIT_NOFILE) else { return 1_024 };
    match setrlimit(Resource::RLIMIT_NOFILE, hard, hard) {
        Ok(()) => hard,
        Err(_) => soft,
    }
}

/// Name and release of the kernel.
pub(super) fn kernel() -> String {
    let release = fs::read_to_string("/proc/sys/kernel/osrelease").unwrap_or_default();
    format!("Linux {}", release.trim())
}
