//! `loomwright completions SHELL`: what a shell can complete.

use crate::arguments::{self, Arguments};
use crate::outcome::{Failure, Outcome};
use crate::output;
use clap::CommandFactory;

/// Prints them.
pub fn run(arguments: &arguments::Completions) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "loomwright", &mut script);
    output::data(&String::from_utf8_lossy(&script))?;
    Ok(Outcome::Ready)
}
