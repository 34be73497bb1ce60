//! Pictures beside the log: `NAME.photos/`, each under a name of its own.

use super::file::sync_folder;
use super::hex;
use crate::store::reason;
use loomwright_crewlog::photo::{Kind, LARGEST};
use sha2::{Digest, Sha256};
use std::fs;
use std::io::{self, Write};
use std::path::PathBuf;

/// A picture that was kept.
pub struct Kept {
    /// Its file.
    pub file: String,
    /// Its SHA-256.
    pub sha256: String,
}

/// The folder of pictures.
#[derive(Debug, Clone)]
pub struct Photos {
    folder: PathBuf,
}

impl Photos {
    /// In `folder`, which is made with the first picture.
    pub const fn at(folder: PathBuf) -> Self {
        Self { folder }
    }

    /// Keeps a picture of `cable`; returns when it lies on the medium.
    ///
    /// **Errors**: a sentence: too large, no picture, or the disk refused.
    pub fn keep(&self, cable: &str, octets: &[u8]) -> Result<Kept, String> {
        if octets.len() > LARGEST {
            return Err(format!("Not kept: the picture is larger than {} MB. Take a smaller one.", LARGEST / 1024 / 1024));
        }
        let kind = Kind::of(octets).ok_or("Not kept: this is no JPEG, PNG or WebP picture. Set the phone's camera to JPEG.")?;
        let sha256 = hex(&Sha256::digest(octets));
        let file = format!("{cable}-{}.{}", &sha256[..12], kind.ending());
        self.write(&file, octets).map_err(|error| format!("Not kept: {}.", reason(&error)))?;
        Ok(Kept { file, sha256 })
    }

    fn write(&self, file: &str, octets: &[u8]) -> io::Result<()> {
        fs::create_dir_all(&self.folder)?;
        let path = self.folder.join(file);
        let mut beside = tempfile::Builder::new().prefix(".loomwright-").suffix(".tmp").tempfile_in(&self.folder)?;
        beside.write_all(octets)?;
        beside.as_file().sync_all()?;
        beside.persist(&path).map_err(|error| error.error)?;
        sync_folder(&path)?;
        sync_folder(&self.folder)
    }

    /// The picture `file` and what it is; `None` if there is none, or if it is none of ours.
    pub fn read(&self, file: &str) -> Option<(Kind, Vec<u8>)> {
        let is_plain = !file.starts_with('.') && !file.contains(['/', '\\', '\0']);
        let octets = is_plain.then(|| fs::read(self.folder.join(file)).ok())??;
        Some((Kind::of(&octets)?, octets))
    }
}
