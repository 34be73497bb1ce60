//! Collects problems and references while a file is walked.

use loomwright_model::{Id, PortRef};
use std::ops::Range;

/// Which of the two files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum File {
    /// `NAME.toml`: what is there and what is wanted.
    Plan,
    /// `NAME.wiring.toml`: what was decided.
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
    /// A device, a switch, a gear type or a place.
    Packable,
}

/// A name that has to lead somewhere.
#[derive(Debug, Clone)]
pub(crate) struct Reference {
    pub(crate) file: File,
    pub(crate) span: Range<usize>,
    pub(crate) wants: Wants,
    pub(crate) name: Id,
}

/// One end of a cable as written, whether or not the rest of the cable could be read.
#[derive(Debug, Clone)]
pub(crate) struct CableEnd {
    pub(crate) cable: Id,
    pub(crate) port: PortRef,
    pub(crate) span: Range<usize>,
}

/// What was met so far.
#[derive(Debug)]
pub(crate) struct Log {
    pub(crate) file: File,
    pub(crate) problems: Vec<Raw>,
    pub(crate) references: Vec<Reference>,
    pub(crate) ends: Vec<CableEnd>,
    /// Gear types that could not be read in full: nothing is concluded from them.
    pub(crate) doubtful_gear: Vec<Id>,
}

impl Log {
    pub(crate) fn new(file: File) -> Self {
        Self { file, problems: Vec::new(), references: Vec::new(), ends: Vec::new(), doubtful_gear: Vec::new() }
    }

    /// Goes on with what was met in another file, after what was met so far.
    pub(crate) fn append(&mut self, other: Self) {
        self.file = other.file;
        self.problems.extend(other.problems);
        self.references.extend(other.references);
        self.ends.extend(other.ends);
        self.doubtful_gear.extend(other.doubtful_gear);
    }

    /// A stretch of the current file, to note a problem with.
    pub(crate) fn at(&mut self, span: Range<usize>) -> Stretch<'_> {
        Stretch { log: self, span }
    }

    /// Notes that `name` has to be there.
    pub(crate) fn refer(&mut self, wants: Wants, name: &Id, span: Range<usize>) {
        self.references.push(Reference { file: self.file, span, wants, name: name.clone() });
    }
}

/// A stretch of a file that has a problem.
pub(crate) struct Stretch<'a> {
    log: &'a mut Log,
    span: Range<usize>,
}

impl Stretch<'_> {
    /// Notes what is wrong with it and what to do.
    pub(crate) fn add(self, code: &'static str, message: impl Into<String>, help: impl Into<String>) {
        self.log.problems.push(Raw { file: self.log.file, span: self.span, code, message: message.into(), help: help.into() });
    }
}
