//! Installs the Debian packages that the browser and document tests use, where that is allowed.

use super::succeed;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A program that tests call, and the Debian package that holds it.
const WANTED: &[(&str, &str)] = &[("chromium", "chromium"), ("chromedriver", "chromium-driver"), ("pdftotext", "poppler-utils")];

/// Installs what is missing; says what it left out and why. Never fails the run: tests say themselves what they could not do.
pub fn run() -> Result<(), String> {
    let missing: Vec<&str> = WANTED.iter().filter(|(program, _)| found(program).is_none()).map(|(_, package)| *package).collect();
    if missing.is_empty() {
        return Ok(());
    }
    match install(&missing) {
        Ok(()) => println!("setup: installed {}", missing.join(" ")),
        Err(why) => println!("setup: skipped {}: {why}", missing.join(" ")),
    }
    Ok(())
}

fn found(program: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(program)).find(|file| file.is_file())
}

fn install(packages: &[&str]) -> Result<(), String> {
    let apt = found("apt-get").ok_or("there is no apt-get on this machine; install them by hand")?;
    if !is_administrator() {
        return Err("only the administrator may install packages; install them by hand".to_owned());
    }
    let quiet = |arguments: &[&str]| succeed(Command::new(&apt).env("DEBIAN_FRONTEND", "noninteractive").args(arguments));
    quiet(&["-qq", "update"])?;
    quiet(&[&["-qq", "-y", "--no-install-recommends", "install"], packages].concat())
}

/// Whether this process may write where packages go.
fn is_administrator() -> bool {
    let status = std::fs::read_to_string(Path::new("/proc/self/status")).unwrap_or_default();
    let user = status.lines().find_map(|line| line.strip_prefix("Uid:"));
    user.and_then(|ids| ids.split_whitespace().nth(1)) == Some("0")
}
