//! `loomwright man DIR`: one manual page for each command.

use crate::arguments::{self, Arguments};
use crate::outcome::{Failure, Outcome};
use clap::CommandFactory;

/// Writes them.
pub fn run(arguments: &arguments::Man) -> Result<Outcome, Failure> {
    let write = std::fs::create_dir_all(&arguments.folder).and_then(|()| clap_mangen::generate_to(Arguments::command(), &arguments.folder));
    write.map_err(|error| Failure::of_file("write manual pages into", &arguments.folder, &error))?;
    Ok(Outcome::Ready)
}
