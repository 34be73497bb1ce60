//! `loomwright open [PLAN]`: the pages.

use crate::arguments;
use crate::files::{self, PlanPaths};
use crate::outcome::{Failure, Outcome};
use crate::output;
use loomwright_demo::PLAYHOUSE;
use loomwright_workbench::{Invitation, Options, serve};
use std::env;
use std::error::Error;
use std::net::{IpAddr, UdpSocket};
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// Serves the plan, or a fresh copy of the demo, until Ctrl-C.
pub fn run(arguments: &arguments::Open) -> Result<Outcome, Failure> {
    let plan = match &arguments.plan {
        Some(given) => PlanPaths::find(given)?.plan,
        None => demo_copy()?,
    };
    let starts_browser = !arguments.no_browser && has_screen();
    let on_open = move |address: &str| {
        output::talk(&format!("Open {address} in a browser; stop with Ctrl-C."));
        if starts_browser {
            start_browser(address);
        }
    };
    let crew = arguments.crew.map(crew_address).transpose()?;
    let options = Options { port: arguments.port, on_open: Box::new(on_open), crew, on_crew: Box::new(invite), ..Options::for_plan(plan) };
    serve(options).map_err(|failure| told(&failure))?;
    Ok(Outcome::Ready)
}

/// Says what to hand out.
fn invite(given: &Invitation) {
    output::talk(&format!(
        "Phones of the crew: {} with the PIN {}. The page Line check shows it as a code to scan.\n\
         For looking only: {}. Nothing that is sent there is encrypted: use the show's own network.",
        given.tick, given.pin, given.look
    ));
}

/// The address for phones: the given one, else the one by which this machine reaches others. Never one that the whole world reaches.
fn crew_address(given: Option<IpAddr>) -> Result<IpAddr, Failure> {
    let address = given.or_else(own_address).ok_or_else(|| {
        Failure::new(
            "cannot tell which address phones should use",
            "Name one of this machine's addresses on the show's network: `--crew=192.168.1.20`.",
        )
    })?;
    match is_local(address) {
        true => Ok(address),
        false => Err(Failure::new(
            format!("will not let the crew in at {address}: it is not an address of a local network"),
            "Name one address of this machine on the show's own network: `--crew=192.168.1.20`.",
        )),
    }
}

/// The source address towards elsewhere. Nothing is sent: a datagram socket only looks at the routes.
/// **Source**: the far address is one for documentation, RFC 5737.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind(("0.0.0.0", 0)).ok()?;
    socket.connect(("192.0.2.1", 9)).ok()?;
    Some(socket.local_addr().ok()?.ip())
}

/// Whether an address is for one machine or one local network. **Source**: RFC 1918, RFC 3927, RFC 4193, RFC 4291.
fn is_local(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(address) => address.is_private() || address.is_link_local() || address.is_loopback(),
        IpAddr::V6(address) => address.is_unique_local() || address.is_unicast_link_local() || address.is_loopback(),
    }
}

/// Why the pages cannot be served, with what to do.
pub fn told(failure: &loomwright_workbench::Failure) -> Failure {
    let cause = failure.source().map_or(String::new(), |cause| format!(": {cause}"));
    match failure {
        loomwright_workbench::Failure::Listen(at, _) => Failure::new(
            format!("cannot listen on port {} of {}{cause}", at.port(), at.ip()),
            "Choose another port with `--port`, for example `--port 0` for any free one, or close what uses this one.",
        ),
        _ => Failure::new(format!("{failure}{cause}"), ""),
    }
}

/// Copies the demo into a folder of its own, so that nothing done to an earlier copy is lost.
fn demo_copy() -> Result<PathBuf, Failure> {
    let home = data_folder().join("loomwright");
    let folder = (1..).map(|n| home.join(numbered(PLAYHOUSE.name, n))).find(|folder| !folder.exists());
    let folder = folder.unwrap_or_else(|| home.join(PLAYHOUSE.name));
    let plan = folder.join(format!("{}.toml", PLAYHOUSE.name));
    files::create_new(&plan, PLAYHOUSE.plan.as_bytes())?;
    files::create_new(&folder.join(format!("{}.wiring.toml", PLAYHOUSE.name)), PLAYHOUSE.wiring.as_bytes())?;
    output::talk(&format!("This is the demo, {}. Your copy lies in {}.", PLAYHOUSE.about, folder.display()));
    Ok(plan)
}

fn numbered(name: &str, n: u32) -> String {
    if n == 1 { name.to_owned() } else { format!("{name}-{n}") }
}

/// Where this system keeps the data of programs; a temporary folder where it does not say.
fn data_folder() -> PathBuf {
    let folder = |name: &str| env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    folder("XDG_DATA_HOME")
        .or_else(|| folder("HOME").map(|home| home.join(".local/share")))
        .or_else(|| folder("LOCALAPPDATA"))
        .unwrap_or_else(env::temp_dir)
}

/// Whether a browser would be seen: always on desktops that have no display server to name.
fn has_screen() -> bool {
    cfg!(any(windows, target_os = "macos")) || ["DISPLAY", "WAYLAND_DISPLAY"].iter().any(|name| env::var_os(name).is_some())
}

/// Asks the desktop to show the address. That it cannot is no trouble: the address was said.
fn start_browser(address: &str) {
    let program = if cfg!(windows) {
        "explorer"
    } else if cfg!(target_os = "macos") {
        "open"
    } else {
        "xdg-open"
    };
    let _ = Command::new(program).arg(address).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null()).spawn();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phones_come_in_at_local_addresses_only() {
        for (text, is_fine) in [
            ("192.168.1.20", true),
            ("10.0.0.5", true),
            ("172.31.4.4", true),
            ("169.254.7.7", true),
            ("127.0.0.1", true),
            ("fd00::5", true),
            ("0.0.0.0", false),
            ("::", false),
            ("8.8.4.4", false),
            ("172.32.0.1", false),
            ("2001:db8::1", false),
        ] {
            assert_eq!(crew_address(Some(text.parse().expect("an address"))).is_ok(), is_fine, "{text}");
        }
    }
}
