//! Runs the program and keeps what it said.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// What a run left behind.
pub struct Run {
    /// Exit code; -1 if it was killed.
    pub code: i32,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
}

impl From<Output> for Run {
    fn from(output: Output) -> Self {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        Self { code: output.status.code().unwrap_or(-1), out: text(&output.stdout), err: text(&output.stderr) }
    }
}

/// The program with arguments, in a folder, without colour and without a home of its own.
pub fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loomwright"));
    command.current_dir(folder).args(arguments).env("NO_COLOR", "1").env("XDG_DATA_HOME", folder.join("data"));
    command
}

/// Runs it to its end.
pub fn run(folder: &Path, arguments: &[&str]) -> Run {
    program(folder, arguments).output().expect("the program was built with this test").into()
}

/// The folder of the project.
pub fn project() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).expect("crates lie two folders deep").to_path_buf()
}

/// A scratch folder that holds a good plan `hall.toml`, as `new` writes it.
pub fn with_starter() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a scratch folder");
    let made = run(folder.path(), &["new", "hall.toml"]);
    assert_eq!(made.code, 0, "{}", made.err);
    folder
}
