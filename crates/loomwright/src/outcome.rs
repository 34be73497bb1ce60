//! How a command ends: its exit code, or why it could not be done.

use loomwright_planfile::Problem;
use std::io;
use std::path::Path;
use std::process::ExitCode;

/// A command that did its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Ready, or done.
    Ready,
    /// Something stops the show, or part of the input was refused.
    Stops,
}

impl Outcome {
    /// `Ready` if so.
    pub fn ready_if(ready: bool) -> Self {
        if ready { Self::Ready } else { Self::Stops }
    }
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Ready => Self::SUCCESS,
            Outcome::Stops => Self::from(1),
        }
    }
}

/// Why a command could not read or do it. The exit code is 2.
#[derive(Debug)]
pub struct Failure {
    /// What could not be done and why; no full stop.
    pub says: String,
    /// What to do, as an order; empty if that is plain.
    pub remedy: String,
    /// What is wrong inside a file, for programs.
    pub problems: Vec<Problem>,
    /// The same for people: the lines concerned, with a mark below the place.
    pub snippet: String,
}

impl Failure {
    /// A failure and what to do about it.
    pub fn new(says: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { says: says.into(), remedy: remedy.into(), problems: Vec::new(), snippet: String::new() }
    }

    /// A file or folder that could not be used: `doing` completes "cannot ..".
    pub fn of_file(doing: &str, path: &Path, error: &io::Error) -> Self {
        let (why, remedy) = plain_words(error);
        Self::new(format!("cannot {doing} {}: {why}", path.display()), remedy)
    }
}

/// An error of the system in words that do not need a programmer, and what to do.
pub fn plain_words(error: &io::Error) -> (String, &'static str) {
    use io::ErrorKind as Kind;
    let (why, remedy) = match error.kind() {
        Kind::NotFound => ("it is not there", "Check the path."),
        Kind::PermissionDenied => ("you are not allowed to", "Change its permissions, or ask its owner."),
        Kind::IsADirectory => ("it is a folder", "Name a file in it."),
        Kind::NotADirectory => ("a part of its path is a file", "Check the path."),
        Kind::StorageFull | Kind::QuotaExceeded => {
            ("the disk is full", "Free some space and try again; what was there before is unchanged.")
        }
        Kind::ReadOnlyFilesystem => ("the disk can only be read", "Work on a copy on another disk."),
        Kind::AlreadyExists => ("it exists already", "Choose another name; nothing was overwritten."),
        _ => return (error.to_string(), ""),
    };
    (why.to_owned(), remedy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_happened_in_plain_words() {
        for (kind, says) in [
            (io::ErrorKind::NotFound, "cannot read a.toml: it is not there"),
            (io::ErrorKind::StorageFull, "cannot read a.toml: the disk is full"),
        ] {
            assert_eq!(Failure::of_file("read", Path::new("a.toml"), &kind.into()).says, says);
        }
    }
}
