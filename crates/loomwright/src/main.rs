//! The `loomwright` command: arguments, files, words and exit codes. No rule about audio networks lives here.

#![allow(clippy::disallowed_methods, reason = "this crate is the one that meets arguments, files and the environment")]

mod arguments;
mod commands;
mod files;
mod outcome;
mod output;
mod paint;
mod progress;
mod side_by_side;
mod table;
mod text;

use arguments::Arguments;
use clap::Parser;
use std::process::ExitCode;

/// Exit code of what could not be read or done.
const COULD_NOT: u8 = 2;

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let as_json = arguments.wants_json();
    match commands::run(arguments) {
        Ok(outcome) => outcome.into(),
        Err(failure) => {
            output::failure(&failure, as_json);
            ExitCode::from(COULD_NOT)
        }
    }
}
