//! One file for each command.

mod check;
mod compare;
mod completions;
mod design;
mod diff;
mod explain;
mod import;
mod listen;
mod load;
mod man;
mod new;
mod open;
mod options;
mod proved;
mod rehearse;
mod sheets;
mod suspect;
mod whatif;

use crate::arguments::{Arguments, Command, Open};
use crate::outcome::{Failure, Outcome};

/// Where the pages listen unless told otherwise. Own choice: outside the registered services that a show laptop runs.
pub const PORT: u16 = 8750;

/// Does what was asked.
pub fn run(arguments: Arguments) -> Result<Outcome, Failure> {
    match arguments.command {
        None => open::run(&Open { plan: None, port: PORT, no_browser: false, crew: None }),
        Some(Command::Open(arguments)) => open::run(&arguments),
        Some(Command::New(arguments)) => new::run(&arguments),
        Some(Command::Import(arguments)) => import::run(&arguments),
        Some(Command::Design(arguments)) => design::run(&arguments),
        Some(Command::Options(arguments)) => options::run(&arguments),
        Some(Command::Check(arguments)) => check::run(&arguments),
        Some(Command::Whatif(arguments)) => whatif::run(&arguments),
        Some(Command::Compare(arguments)) => compare::run(&arguments),
        Some(Command::Listen(arguments)) => listen::run(&arguments),
        Some(Command::Suspect(arguments)) => suspect::run(&arguments),
        Some(Command::Rehearse(arguments)) => rehearse::run(&arguments),
        Some(Command::Sheets(arguments)) => sheets::run(&arguments),
        Some(Command::Diff(arguments)) => diff::run(&arguments),
        Some(Command::Explain(arguments)) => explain::run(&arguments),
        Some(Command::Completions(arguments)) => completions::run(&arguments),
        Some(Command::Man(arguments)) => man::run(&arguments),
    }
}
