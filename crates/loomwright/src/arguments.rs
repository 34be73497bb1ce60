//! What can be written after `loomwright`.

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// Plans, proves, documents and commissions audio-over-IP networks.
///
/// A plan is a file NAME.toml, or a folder that holds one; its wiring NAME.wiring.toml lies beside it.
/// Data goes to standard output, talk to standard error.
#[derive(Debug, Parser)]
#[command(name = "loomwright", version, max_term_width = 100, after_help = EXIT_CODES)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

impl Arguments {
    /// Whether data is wanted as JSON; then a failure is told as JSON too.
    pub fn wants_json(&self) -> bool {
        match &self.command {
            Command::Design(design) => design.json,
            Command::Check(check) => check.json,
            Command::Whatif(whatif) => whatif.json,
            Command::Diff(diff) => diff.json,
            Command::Explain(explain) => explain.json,
            Command::New(_) | Command::Completions(_) | Command::Man(_) => false,
        }
    }
}

const EXIT_CODES: &str = "\
Exit code: 0 ready, or done; 1 something stops the show, or part of the input was refused; 2 could not read or do it.
It plans and checks, it does not certify: the responsible engineer signs.";

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Start a plan: a small commented one that reads without error
    New(New),
    /// Decide the wiring and write it beside the plan, keeping what is held
    Design(Design),
    /// Prove the wiring: load, delay, clock, power, lengths, loops, and every failure
    Check(Check),
    /// Take items away and see what falls silent
    Whatif(Whatif),
    /// Say what to re-patch between two revisions
    Diff(Diff),
    /// Explain a finding, with its reason and source; without a code, list them all
    Explain(Explain),
    /// Print the completions of a shell
    #[command(hide = true)]
    Completions(Completions),
    /// Write the manual pages into a folder
    #[command(hide = true)]
    Man(Man),
}

/// Arguments of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// The file to write; `.toml` is added where it is missing
    pub path: PathBuf,
    /// What the plan is for; else the name of the file
    #[arg(long)]
    pub name: Option<String>,
}

/// Arguments of `design`.
#[derive(Debug, Args)]
pub struct Design {
    /// The plan
    pub plan: PathBuf,
    /// Say what would be decided, and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct Check {
    /// The plan
    #[arg(required_unless_present = "schema")]
    pub plan: Option<PathBuf>,
    /// Print the whole proof as JSON
    #[arg(long)]
    pub json: bool,
    /// Show where each microsecond of one stream goes, hop by hop
    #[arg(long, value_name = "ID")]
    pub stream: Option<String>,
    /// Show what every single failure does
    #[arg(long, conflicts_with = "stream")]
    pub failures: bool,
    /// Print the JSON Schema of what `--json` prints
    #[arg(long, exclusive = true)]
    pub schema: bool,
}

/// Arguments of `whatif`.
#[derive(Debug, Args)]
pub struct Whatif {
    /// The plan
    pub plan: PathBuf,
    /// What to take away: `cable:A-001`, `switch:sw-a`, `device:box-sl`, `feed:ups-1`, `route:trench`, `hazard:loft`,
    /// or the bare name where only one thing has it
    #[arg(required = true, value_name = "ITEM")]
    pub items: Vec<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `diff`.
#[derive(Debug, Args)]
pub struct Diff {
    /// The plan as it was
    pub old: PathBuf,
    /// The plan as it is now
    pub new: PathBuf,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct Explain {
    /// The code of a finding, for example `wiring/loop`; without it, all codes are listed
    pub code: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    pub shell: clap_complete::Shell,
}

/// Arguments of `man`.
#[derive(Debug, Args)]
pub struct Man {
    /// The folder to write into
    pub folder: PathBuf,
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn arguments_are_consistent() {
        Arguments::command().debug_assert();
    }
}
