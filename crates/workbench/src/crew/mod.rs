//! The crew's log while the plan is open: `NAME.crewlog` beside the plan, only ever added to.
//!
//! The file is the truth, as with the plan. An entry is acknowledged when it lies on the medium, not before.

mod file;
mod photos;
mod who;

pub use file::sync_folder;
pub use photos::Photos;
pub use who::{NAME_COOKIE, Who, cookie, tidy_name};

use file::LogFile;
use loomwright_crewlog::{Book, Entry, Unreadable};
use sha2::{Digest, Sha256};
use std::path::Path;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// What the pages show of the crew's log, at one moment. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Crew {
    /// All entries and what they say together.
    pub book: Arc<Book>,
    /// Lines that could not be read.
    pub unreadable: Arc<[Unreadable]>,
    /// The log's own file name.
    pub file: String,
    /// Tells this log from those of other plans.
    pub key: String,
    /// Why the log cannot be read, if it cannot.
    pub trouble: Option<String>,
}

/// The log while the plan is open.
#[derive(Debug)]
pub struct CrewStore {
    file: LogFile,
    key: String,
    /// Pictures beside the log.
    pub photos: Photos,
}

impl CrewStore {
    /// The log of the plan at `plan`. Nothing is written before somebody says something.
    pub fn beside(plan: &Path) -> Self {
        let plan = plan.canonicalize().unwrap_or_else(|_| plan.to_owned());
        let mut file = LogFile::at(&plan);
        file.refresh();
        let photos = Photos::at(plan.with_extension("photos"));
        Self { file, key: hex(&Sha256::digest(plan.to_string_lossy().as_bytes()))[..8].to_owned(), photos }
    }

    /// What the pages show.
    pub fn view(&self) -> Crew {
        Crew {
            book: Arc::clone(&self.file.book),
            unreadable: Arc::clone(&self.file.unreadable),
            file: self.file.name(),
            key: self.key.clone(),
            trouble: self.file.trouble.clone(),
        }
    }

    /// Looks at the file; true if somebody else wrote.
    pub fn refresh(&mut self) -> bool {
        self.file.refresh()
    }

    /// Adds `entry` unless it is there already, and returns when it lies on the medium.
    ///
    /// **Errors**: a sentence; then nothing was acknowledged.
    pub fn add(&mut self, entry: Entry) -> Result<(), String> {
        self.file.append(entry)
    }
}

/// The moment as the log writes it.
pub fn now() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).map(|passed| passed.as_secs());
    loomwright_crewlog::utc(since.unwrap_or(0))
}

/// A name for an entry that its sender did not name: 64 random bits.
pub fn fresh_id() -> String {
    let mut octets = [0; 8];
    match getrandom::fill(&mut octets) {
        Ok(()) => hex(&octets),
        // Without a source of chance the moment tells entries apart; it guards nothing.
        Err(_) => SystemTime::now().duration_since(UNIX_EPOCH).map_or_else(|_| hex(&octets), |passed| format!("{:x}", passed.as_nanos())),
    }
}

/// Octets as hexadecimal digits.
pub fn hex(octets: &[u8]) -> String {
    octets.iter().map(|octet| format!("{octet:02x}")).collect()
}

#[cfg(test)]
mod tests;
