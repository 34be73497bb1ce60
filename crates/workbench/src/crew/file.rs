//! The log's file: adding a line so that a power cut or a kill loses nothing that was acknowledged.

use crate::store::reason;
use loomwright_crewlog::{Book, Entry, Unreadable, line, read, written};
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file and what was read from it.
#[derive(Debug)]
pub struct LogFile {
    path: PathBuf,
    plan_file: String,
    /// How much of the file is in `book`. **Unit**: octet.
    known: u64,
    is_torn: bool,
    /// What stands in it.
    pub book: Arc<Book>,
    /// Lines that could not be read.
    pub unreadable: Arc<[Unreadable]>,
    /// Why it cannot be read or written.
    pub trouble: Option<String>,
}

impl LogFile {
    /// The log beside `plan`.
    pub fn at(plan: &Path) -> Self {
        let plan_file = plan.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let path = plan.with_extension("crewlog");
        Self { path, plan_file, known: 0, is_torn: false, book: Arc::default(), unreadable: Arc::from([]), trouble: None }
    }

    /// Its own name.
    pub fn name(&self) -> String {
        self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// Reads the file if its length changed; true if so.
    pub fn refresh(&mut self) -> bool {
        let length = fs::metadata(&self.path).map_or(0, |seen| seen.len());
        if length == self.known && self.trouble.is_none() {
            return false;
        }
        let before = (self.known, self.trouble.clone());
        match fs::read(&self.path) {
            Ok(octets) => self.take(&octets),
            Err(error) if error.kind() == ErrorKind::NotFound => self.take(&[]),
            Err(error) => self.trouble = Some(reason(&error)),
        }
        before != (self.known, self.trouble.clone())
    }

    fn take(&mut self, octets: &[u8]) {
        let log = read(octets);
        self.book = Arc::new(Book::of(&log));
        self.unreadable = log.unreadable.into();
        self.is_torn = log.is_torn;
        self.known = octets.len() as u64;
        self.trouble = None;
    }

    /// Adds one entry and returns when it lies on the medium; one that is there already is not added again.
    ///
    /// **Errors**: a sentence; the entry may then stand in the file in part, which the next reader and writer know how to treat.
    pub fn append(&mut self, entry: Entry) -> Result<(), String> {
        let add = self.add(entry);
        add.map_err(|error| {
            format!("Not kept: {}. Try again when that is put right; nothing that was kept before is lost.", reason(&error))
        })
    }

    fn add(&mut self, entry: Entry) -> io::Result<()> {
        let mut file = OpenOptions::new().create(true).append(true).open(&self.path)?;
        // Another workbench may write to the same log. Where locks are not known, one is alone.
        match file.lock() {
            Err(error) if error.kind() != ErrorKind::Unsupported => return Err(error),
            _ => {}
        }
        self.refresh();
        if let Some(words) = &self.trouble {
            return Err(io::Error::other(words.clone()));
        }
        if self.book.has(&entry.id) {
            // It may have been read from a write that was never flushed.
            return file.sync_data();
        }
        let mut text = String::new();
        if self.known == 0 {
            text.push_str(&line::head(&self.plan_file));
        }
        if self.is_torn {
            text.push('\n');
        }
        text.push_str(&written(&entry));
        file.write_all(text.as_bytes())?;
        file.sync_data()?;
        if self.known == 0 {
            sync_folder(&self.path)?;
        }
        self.known += text.len() as u64;
        if self.is_torn {
            // What was torn may now be a line that cannot be read: look.
            self.known = 0;
            self.refresh();
        } else {
            Arc::make_mut(&mut self.book).add(entry);
        }
        Ok(())
    }
}

/// Makes a new name in a folder last.
pub fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}
