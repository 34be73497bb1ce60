//! The folder of evidence on disk.

use super::Source;
use crate::crew::{hex, sync_folder};
use crate::store::{allow_others_to_read, reason};
use loomwright_evidence::{Evidence, Reader};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;
use tempfile::NamedTempFile;

/// Largest file that a page takes. **Unit**: octet. Own choice: half a minute of a full 100 Mb/s port fits; larger captures are put
/// into the folder by hand.
pub const LARGEST: u64 = 384 * 1024 * 1024;
/// How much of a file is read at a time. Own choice. **Unit**: octet.
const PIECE: usize = 256 * 1024;
/// Longest file name that is kept. **Unit**: octet. **Source**: most file systems allow 255 (from memory).
const LONGEST_NAME: usize = 160;
/// Below the folder: what no longer counts.
const ASIDE: &str = "set-aside";

/// What a look at a file tells without reading it.
type Stamp = (Option<SystemTime>, u64);

/// The files and what was read from them.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    files: BTreeMap<String, (Stamp, Source)>,
    aside: Vec<String>,
    trouble: Option<String>,
}

impl Folder {
    /// At `path`; it is made with the first file.
    pub const fn at(path: PathBuf) -> Self {
        Self { path, files: BTreeMap::new(), aside: Vec::new(), trouble: None }
    }

    /// Its own name.
    pub fn name(&self) -> String {
        self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// What was read, by file name.
    pub fn sources(&self) -> impl Iterator<Item = Source> {
        self.files.values().map(|(_, source)| source.clone())
    }

    /// Names of files that were set aside.
    pub fn aside(&self) -> Vec<String> {
        self.aside.clone()
    }

    /// Why the folder cannot be read.
    pub fn trouble(&self) -> Option<String> {
        self.trouble.clone()
    }

    /// Reads what is new or changed, forgets what is gone; true if anything differs from before.
    pub fn refresh(&mut self) -> bool {
        let (now, trouble) = match stamps(&self.path) {
            Ok(stamps) => (stamps, None),
            Err(error) => (BTreeMap::new(), Some(reason(&error))),
        };
        let aside: Vec<String> = stamps(&self.path.join(ASIDE)).unwrap_or_default().into_keys().collect();
        let mut changed = aside != self.aside || trouble != self.trouble;
        (self.aside, self.trouble) = (aside, trouble);
        let before = self.files.len();
        self.files.retain(|name, (stamp, _)| now.get(name) == Some(stamp));
        changed |= self.files.len() != before;
        for (name, stamp) in now {
            if !self.files.contains_key(&name) {
                let source = source(&self.path, &name, stamp);
                self.files.insert(name, (stamp, source));
                changed = true;
            }
        }
        changed
    }

    /// Where a file called `name` is collected.
    pub fn incoming(&self, name: &str) -> Result<Incoming, String> {
        let make = || {
            if !self.path.is_dir() {
                fs::create_dir_all(&self.path)?;
                sync_folder(&self.path)?;
            }
            tempfile::Builder::new().prefix(".loomwright-").suffix(".tmp").tempfile_in(&self.path)
        };
        let beside = make().map_err(|error| format!("{name}: not kept, {}.", reason(&error)))?;
        Ok(Incoming { folder: self.path.clone(), name: safe_name(name), beside, octets: 0, hash: Sha256::new() })
    }

    /// Moves a file to where it does not count.
    pub fn set_aside(&mut self, name: &str) -> Result<(), String> {
        let there = self.path.join(ASIDE);
        fs::create_dir_all(&there).map_err(|error| format!("{name} stays: {}.", reason(&error)))?;
        relocate(name, &self.path, &there)
    }

    /// Moves it back.
    pub fn take_back(&mut self, name: &str) -> Result<(), String> {
        relocate(name, &self.path.join(ASIDE), &self.path)
    }
}

/// Moves a file to another folder under a name that is free there.
fn relocate(name: &str, from: &Path, to: &Path) -> Result<(), String> {
    if name != safe_name(name) || !from.join(name).is_file() {
        return Err(format!("There is no file {name} any more."));
    }
    let target = (1..).map(|n| numbered(name, n)).find(|name| !to.join(name).exists()).unwrap_or_default();
    let moved = fs::rename(from.join(name), to.join(&target))
        .and_then(|()| sync_folder(&to.join(&target)))
        .and_then(|()| sync_folder(&from.join(name)));
    moved.map_err(|error| format!("{name} stays: {}.", reason(&error)))
}

/// Files of a folder, without hidden ones; none where there is no folder.
fn stamps(folder: &Path) -> io::Result<BTreeMap<String, Stamp>> {
    let entries = match fs::read_dir(folder) {
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(BTreeMap::new()),
        other => other?,
    };
    let mut found = BTreeMap::new();
    for entry in entries {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let Ok(seen) = fs::metadata(entry.path()) else { continue };
        if seen.is_file() && !name.starts_with('.') {
            found.insert(name, (seen.modified().ok(), seen.len()));
        }
    }
    Ok(found)
}

/// Reads one file piece by piece; what cannot be read becomes a complaint.
fn source(folder: &Path, name: &str, (_, octets): Stamp) -> Source {
    let mut hash = Sha256::new();
    let evidence = evidence(&folder.join(name), name, &mut hash).unwrap_or_else(|error| {
        let mut nothing = Reader::new(name).finish();
        for complaint in &mut nothing.complaints {
            complaint.says = reason(&error);
        }
        nothing
    });
    Source {
        name: name.to_owned(),
        octets,
        sha256: hex(&hash.finalize()),
        evidence: Arc::new(evidence),
        networks: Vec::new(),
        is_live: false,
    }
}

fn evidence(path: &Path, name: &str, hash: &mut Sha256) -> io::Result<Evidence> {
    let mut file = File::open(path)?;
    let mut reader = Reader::new(name);
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece)? {
            0 => return Ok(reader.finish()),
            read => {
                hash.update(&piece[..read]);
                reader.feed(&piece[..read]);
            }
        }
    }
}

/// A file that is coming in; dropped without [`Incoming::keep`], nothing of it stays.
#[derive(Debug)]
pub struct Incoming {
    folder: PathBuf,
    name: String,
    beside: NamedTempFile,
    octets: u64,
    hash: Sha256,
}

impl Incoming {
    /// The next piece.
    ///
    /// **Errors**: a sentence: too large, or the disk refuses.
    pub fn take(&mut self, piece: &[u8]) -> Result<(), String> {
        self.octets = self.octets.saturating_add(piece.len() as u64);
        if self.octets > LARGEST {
            return Err(format!(
                "{}: not kept, larger than {} MB. Cut it, or put it into the folder {} by hand.",
                self.name,
                LARGEST / 1024 / 1024,
                self.folder.file_name().unwrap_or_default().to_string_lossy()
            ));
        }
        self.hash.update(piece);
        self.beside.write_all(piece).map_err(|error| format!("{}: not kept, {}.", self.name, reason(&error)))
    }

    /// Keeps it under a free name; returns when it lies on the medium. `None` if the same octets are there under that name already.
    ///
    /// **Errors**: a sentence when the disk refuses.
    pub fn keep(self) -> Result<Option<loomwright_crewlog::SeenFile>, String> {
        let (name, sha256) = (self.name.clone(), hex(&self.hash.clone().finalize()));
        let octets = self.octets;
        let kept = self.persist(&sha256).map_err(|error| format!("{name}: not kept, {}.", reason(&error)))?;
        Ok(kept.map(|file| loomwright_crewlog::SeenFile { file, octets, sha256 }))
    }

    fn persist(self, sha256: &str) -> io::Result<Option<String>> {
        self.beside.as_file().sync_all()?;
        allow_others_to_read(self.beside.as_file())?;
        let mut beside = self.beside;
        for n in 1_u32.. {
            let name = numbered(&self.name, n);
            let path = self.folder.join(&name);
            if path.exists() && hash_of(&path).is_ok_and(|there| there == sha256) {
                return Ok(None);
            }
            match beside.persist_noclobber(&path) {
                Ok(_) => {
                    File::open(&self.folder)?.sync_all()?;
                    return Ok(Some(name));
                }
                Err(error) if error.error.kind() == ErrorKind::AlreadyExists => beside = error.file,
                Err(error) => return Err(error.error),
            }
        }
        Err(io::Error::other("too many files of that name"))
    }
}

fn hash_of(path: &Path) -> io::Result<String> {
    let mut hash = Sha256::new();
    let mut file = File::open(path)?;
    let mut piece = vec![0; PIECE];
    loop {
        match file.read(&mut piece)? {
            0 => return Ok(hex(&hash.finalize())),
            read => hash.update(&piece[..read]),
        }
    }
}

/// The file's own name without folders and signs that file systems refuse; it stays a hint to which box it comes from.
fn safe_name(given: &str) -> String {
    let name = given.rsplit(['/', '\\']).next().unwrap_or_default();
    let kept: String = name.chars().map(|sign| if sign.is_control() || "<>:\"|?*".contains(sign) { '_' } else { sign }).collect();
    let mut kept = kept.trim_start_matches('.').trim().to_owned();
    while kept.len() > LONGEST_NAME {
        kept.remove(0);
    }
    if kept.is_empty() { "unnamed".to_owned() } else { kept }
}

/// The `n`th name of files that are called the same: the number is a word of its own, so that the box's name stays one.
fn numbered(name: &str, n: u32) -> String {
    if n == 1 {
        return name.to_owned();
    }
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem}_{n}.{ending}"),
        None => format!("{name}_{n}"),
    }
}
