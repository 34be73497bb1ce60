//! Chores of the project: `cargo xtask ci` is the one test command, the same at the desk and on a server.

#![allow(clippy::disallowed_methods, reason = "chores read files, arguments and the environment")]

mod chores;
mod tidy;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask CHORE

  ci      set up, then format, lint, tidy and test everything
  setup   install the Debian packages that some tests use, where that is allowed
  tidy    measure the source and hold it to the house rules
  schema  write docs/report.schema.json from the types
  dist    build the release binary, manual pages and completions into target/dist
  outside compare with general-purpose programs that must be installed: one folder of benchsuite/ (never part of ci)
";

/// The folder of the workspace.
fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map(Path::to_path_buf).unwrap_or_default()
}

fn main() -> ExitCode {
    let root = root();
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let done = match arguments.first().map(String::as_str) {
        Some("ci") => chores::ci::run(&root),
        Some("setup") => chores::setup::run(),
        Some("tidy") => tidy::run(&root),
        Some("schema") => chores::schema::run(&root),
        Some("dist") => chores::dist::run(&root),
        Some("outside") => chores::outside::run(&root, &arguments[1..]),
        _ => {
            eprint!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(trouble) => {
            eprintln!("xtask: {trouble}");
            ExitCode::FAILURE
        }
    }
}
