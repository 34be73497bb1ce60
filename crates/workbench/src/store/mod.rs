//! The plan while it is open: what lies on disk, what the pages show, and every way the two can part.
//!
//! The disk is the truth. Each look at the store first looks at the files; what somebody else wrote is
//! adopted. What cannot be saved stays in memory, is shown as unsaved and offered for download. Nothing
//! is ever dropped: a text that leaves the screen goes onto the undo stack.

mod disk;
mod history;
mod text;

pub use disk::{allow_others_to_read, reason};
pub use text::Texts;

use crate::crew::Crew;
use crate::engine::Proved;
use crate::seen::Seen;
use disk::{Disk, Stamp};
use history::History;
use std::io::{self, ErrorKind};
use std::path::Path;
use std::sync::Arc;

/// Why memory and disk differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// The plan file is no longer there.
    Gone,
    /// The file is there but cannot be read.
    Unreadable(String),
    /// The last edits could not be written.
    Unsaved(String),
    /// Somebody else wrote while edits were waiting to be saved: both versions are kept.
    Diverged(Texts),
}

/// Why an edit was not made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// The edit itself is wrong; in words for the person who made it.
    Wrong(String),
    /// The disk does not take it now; the same may be sent again.
    Unkept(String),
    /// It was made from an older state, and what it changes has changed since.
    Conflict {
        /// What it would change, in words.
        what: String,
        /// As the editor had it.
        mine: String,
        /// As it is now.
        theirs: String,
    },
}

/// What an edit makes of the texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// The new texts.
    pub texts: Texts,
    /// What else was done, in words; empty if nothing was.
    pub also: String,
}

impl From<Texts> for Made {
    fn from(texts: Texts) -> Self {
        Self { texts, also: String::new() }
    }
}

/// What the pages show, at one moment. Cheap to clone.
#[derive(Debug, Clone)]
pub struct View {
    /// The state now.
    pub now: Arc<Proved>,
    /// The newest state that could be read; the same as `now` unless the file has errors.
    pub good: Arc<Proved>,
    /// The state when the plan was opened.
    pub opened: Arc<Proved>,
    /// Why memory and disk differ, if they do.
    pub trouble: Option<Trouble>,
    /// What undo would take back.
    pub undo: Option<String>,
    /// What redo would bring back.
    pub redo: Option<String>,
    /// The latest edits, newest first.
    pub edits: Vec<String>,
    /// The plan file's name.
    pub file: String,
    /// The wiring file's name.
    pub wiring_file: String,
    /// Counts what the pages would show differently.
    pub changes: u64,
    /// What the crew said.
    pub crew: Crew,
    /// What was seen on the network.
    pub seen: Seen,
    /// Counts what the line check would show differently.
    pub crew_changes: u64,
}

impl View {
    /// Names what is shown: two equal marks show the same.
    pub fn mark(&self) -> String {
        format!("{}-{}", self.now.digest, self.changes)
    }

    /// The same for pages that show the crew's log and the evidence.
    pub fn crew_mark(&self) -> String {
        format!("{}-{}", self.mark(), self.crew_changes)
    }
}

/// The plan while it is open.
#[derive(Debug)]
pub struct Store {
    disk: Disk,
    stamp: Stamp,
    on_disk: Option<Texts>,
    now: Arc<Proved>,
    good: Arc<Proved>,
    opened: Arc<Proved>,
    history: History,
    trouble: Option<Trouble>,
    changes: u64,
}

impl Store {
    /// Opens the plan at `path`.
    ///
    /// **Errors**: the file is not there or cannot be read. A plan with errors in it opens.
    pub fn open(path: &Path) -> io::Result<Self> {
        let disk = Disk::at(path);
        let stamp = disk.stamp();
        let texts = disk.read()?;
        let now = Arc::new(Proved::of(&texts, [&disk.name(), &disk.wiring_name()]));
        Ok(Self {
            stamp,
            on_disk: Some(texts),
            good: Arc::clone(&now),
            opened: Arc::clone(&now),
            now,
            history: History::default(),
            trouble: None,
            changes: 0,
            disk,
        })
    }

    /// Counts what the pages would show differently; never goes back.
    pub fn changes(&self) -> u64 {
        self.changes
    }

    /// What the pages show.
    pub fn view(&self) -> View {
        View {
            now: Arc::clone(&self.now),
            good: Arc::clone(&self.good),
            opened: Arc::clone(&self.opened),
            trouble: self.trouble.clone(),
            undo: self.history.undo_label().map(str::to_owned),
            redo: self.history.redo_label().map(str::to_owned),
            edits: self.history.labels().take(8).map(str::to_owned).collect(),
            file: self.disk.name(),
            wiring_file: self.disk.wiring_name(),
            changes: self.changes,
            crew: Crew::default(),
            seen: Seen::default(),
            crew_changes: 0,
        }
    }

    /// Looks at the files; adopts what somebody else wrote.
    pub fn refresh(&mut self) {
        let stamp = self.disk.stamp();
        if stamp == self.stamp {
            return;
        }
        match self.disk.read() {
            Ok(texts) => self.adopt(texts),
            Err(error) if error.kind() == ErrorKind::NotFound => self.set_trouble(Trouble::Gone),
            Err(error) => self.set_trouble(Trouble::Unreadable(reason(&error))),
        }
        self.stamp = stamp;
    }

    /// Makes an edit: `make` gives the new texts from the state now. The edit stays even if the disk refuses it.
    ///
    /// Gives what else was done, in words.
    ///
    /// **Errors**: whatever `make` refuses.
    pub fn edit(&mut self, label: &str, make: impl FnOnce(&Proved) -> Result<Made, Refusal>) -> Result<String, Refusal> {
        self.refresh();
        let Made { texts, also } = make(&self.now)?;
        if texts != self.now.texts {
            let label = if also.is_empty() { label.to_owned() } else { format!("{label}; {also}") };
            self.history.note(label, self.now.texts.clone());
            self.show(&texts);
            self.save();
        }
        Ok(also)
    }

    /// Takes the last edit back.
    ///
    /// **Errors**: the page that asked showed another state than the one now.
    pub fn undo(&mut self, based: &str) -> Result<(), Refusal> {
        self.refresh();
        self.must_be(based)?;
        if let Some(texts) = self.history.undo(self.now.texts.clone()) {
            self.show(&texts);
            self.save();
        }
        Ok(())
    }

    /// Brings back what was taken back last.
    ///
    /// **Errors**: as for [`Self::undo`].
    pub fn redo(&mut self, based: &str) -> Result<(), Refusal> {
        self.refresh();
        self.must_be(based)?;
        if let Some(texts) = self.history.redo(self.now.texts.clone()) {
            self.show(&texts);
            self.save();
        }
        Ok(())
    }

    /// Writes what is in memory though the file is gone, was refused before, or differs.
    pub fn write_anyway(&mut self) {
        self.refresh();
        self.changes += 1;
        if let Some(Trouble::Diverged(theirs)) = self.trouble.take() {
            self.history.note("the version that somebody else wrote", theirs.clone());
            self.on_disk = Some(theirs);
        }
        self.save();
    }

    /// Shows what lies on disk; what was in memory goes onto the undo stack.
    pub fn take_disk(&mut self) {
        self.refresh();
        if let Some(Trouble::Diverged(theirs)) = self.trouble.take() {
            self.history.note("your unsaved version", self.now.texts.clone());
            self.on_disk = Some(theirs.clone());
            self.show(&theirs);
        }
    }

    fn must_be(&self, based: &str) -> Result<(), Refusal> {
        if based == self.now.digest {
            return Ok(());
        }
        Err(Refusal::Wrong("The plan changed after this page was drawn. Look at it as it is now, then undo or redo.".to_owned()))
    }

    fn adopt(&mut self, texts: Texts) {
        if texts == self.now.texts {
            self.on_disk = Some(texts);
            self.clear_trouble();
        } else if self.on_disk.as_ref() != Some(&self.now.texts) {
            self.set_trouble(Trouble::Diverged(texts));
        } else {
            self.history.note("an edit outside these pages", self.now.texts.clone());
            self.on_disk = Some(texts.clone());
            self.show(&texts);
            self.trouble = None;
        }
    }

    fn show(&mut self, texts: &Texts) {
        self.now = Arc::new(Proved::of(texts, [&self.disk.name(), &self.disk.wiring_name()]));
        if self.now.plan.is_some() {
            self.good = Arc::clone(&self.now);
        }
        self.changes += 1;
    }

    fn save(&mut self) {
        self.refresh();
        if matches!(self.trouble, Some(Trouble::Diverged(_) | Trouble::Gone | Trouble::Unreadable(_))) {
            return;
        }
        let gone = self.disk.stamp().plan_is_gone();
        let before = self.on_disk.as_ref().filter(|_| !gone);
        match self.disk.save(before, &self.now.texts) {
            Ok(()) => {
                self.on_disk = Some(self.now.texts.clone());
                self.clear_trouble();
            }
            Err(error) => self.set_trouble(Trouble::Unsaved(reason(&error))),
        }
        self.stamp = self.disk.stamp();
    }

    fn set_trouble(&mut self, trouble: Trouble) {
        if self.trouble.as_ref() != Some(&trouble) {
            self.trouble = Some(trouble);
            self.changes += 1;
        }
    }

    fn clear_trouble(&mut self) {
        if self.trouble.take().is_some() {
            self.changes += 1;
        }
    }
}

#[cfg(test)]
mod tests;
