//! `loomwright open [PLAN]`: the pages.

use crate::arguments;
use crate::files::{self, PlanPaths};
use crate::outcome::{Failure, Outcome};
use crate::output;
use loomwright_demo::PLAYHOUSE;
use loomwright_workbench::{Options, serve};
use std::env;
use std::error::Error;
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
    let options = Options { port: arguments.port, on_open: Box::new(on_open), ..Options::for_plan(plan) };
    serve(options).map_err(|failure| told(&failure))?;
    Ok(Outcome::Ready)
}

fn told(failure: &loomwright_workbench::Failure) -> Failure {
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
