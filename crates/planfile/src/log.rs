//! Collects problems and references while a file is walked.

use loomwright_model::Id;
use std::ops::Range;

/// Which of the two files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum File {
    Plan,
    Wiring,
}

/// A problem before its line is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Raw {
    pub(crate) file: File,
    pub(crate) span: Range<usize>,
    pub(crate) code: &'static str,
    pub(crate) message: String,
    pub(crate) help: String,
}

/// What a reference has to name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wants {
    Gear,
    Place,
    Device,
    Route,
    Network,
    Stream,
    Switch,
    DeviceOrSwitch,
}

/// A name that has to lead somewhere.
#[derive(Debug, Clone)]
pub(crate) struct Reference {
    pub(crate) file: File,
    pub(crate) span: Range<usize>,
    pub(crate) wants: Wants,
    pub(crate) name: Id,
}

/// What was met so far.
#[derive(Debug)]
pub(crate) struct Log {
    pub(crate) file: File,
    pub(crate) problems: Vec<Raw>,
    pub(crate) references: Vec<Reference>,
}

impl Log {
    pub(crate) fn new(file: File) -> Self {
        Self { file, problems: Vec::new(), references: Vec::new() }
    }

    /// Notes a problem in the current file.
    pub(crate) fn add(&mut self, code: &'static str, span: Range<usize>, message: impl Into<String>, help: impl Into<String>) {
        self.problems.push(Raw { file: self.file, span, code, message: message.into(), help: help.into() });
    }

    /// Notes that `name` has to be there.
    pub(crate) fn refer(&mut self, wants: Wants, name: &Id, span: Range<usize>) {
        self.references.push(Reference { file: self.file, span, wants, name: name.clone() });
    }
}
