//! One file for each command.

mod check;
mod completions;
mod design;
mod diff;
mod explain;
mod load;
mod man;
mod new;
mod whatif;

use crate::arguments::{Arguments, Command};
use crate::outcome::{Failure, Outcome};

/// Does what was asked.
pub fn run(arguments: Arguments) -> Result<Outcome, Failure> {
    match arguments.command {
        Command::New(arguments) => new::run(&arguments),
        Command::Design(arguments) => design::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Whatif(arguments) => whatif::run(&arguments),
        Command::Diff(arguments) => diff::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
        Command::Completions(arguments) => completions::run(&arguments),
        Command::Man(arguments) => man::run(&arguments),
    }
}
