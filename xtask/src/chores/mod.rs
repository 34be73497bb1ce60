//! Chores that run other programs.

pub mod ci;
pub mod dist;
pub mod outside;
pub mod schema;
pub mod setup;

use std::path::Path;
use std::process::Command;

/// Cargo as it was called, in the folder of the workspace.
fn cargo(root: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(root).args(arguments);
    command
}

/// Runs to the end and wants success.
fn succeed(command: &mut Command) -> Result<(), String> {
    let status = command.status().map_err(|error| format!("{command:?}: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("{command:?}: {status}")) }
}
