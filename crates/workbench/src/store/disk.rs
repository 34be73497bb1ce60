//! The two files on disk: reading, noticing changes, replacing a file in one step.

use super::text::Texts;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Where the plan and its wiring lie.
#[derive(Debug, Clone)]
pub struct Disk {
    /// `NAME.toml`.
    pub plan: PathBuf,
    /// `NAME.wiring.toml` beside it.
    pub wiring: PathBuf,
}

/// What a look at one file without reading it tells; `None` if it is not there.
type Mark = Option<(SystemTime, u64, u64)>;

/// What a look at both files tells. Two equal stamps mean: nobody wrote in between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    plan: Mark,
    wiring: Mark,
}

impl Stamp {
    /// Whether the plan file was missing.
    pub fn plan_is_gone(self) -> bool {
        self.plan.is_none()
    }
}

impl Disk {
    /// The files of the plan at `path`. A link is followed once, so that saving replaces what it points to.
    pub fn at(path: &Path) -> Self {
        let plan = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let wiring = plan.with_extension("wiring.toml");
        Self { plan, wiring }
    }

    /// Looks at both files.
    pub fn stamp(&self) -> Stamp {
        Stamp { plan: mark(&self.plan), wiring: mark(&self.wiring) }
    }

    /// Reads both files; a wiring that is not there is not an error.
    pub fn read(&self) -> io::Result<Texts> {
        let plan = fs::read_to_string(&self.plan)?;
        let wiring = match fs::read_to_string(&self.wiring) {
            Ok(text) => Some(text),
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            Err(error) => return Err(error),
        };
        Ok(Texts { plan, wiring })
    }

    /// Writes what differs between `old`, which lies on disk, and `new`.
    pub fn save(&self, old: Option<&Texts>, new: &Texts) -> io::Result<()> {
        if old.is_none_or(|old| old.plan != new.plan) {
            replace(&self.plan, &new.plan)?;
        }
        let before = old.and_then(|old| old.wiring.as_ref());
        match &new.wiring {
            Some(text) if before != Some(text) => replace(&self.wiring, text),
            None if before.is_some() => fs::remove_file(&self.wiring),
            _ => Ok(()),
        }
    }

    /// The plan file's own name, for titles and messages.
    pub fn name(&self) -> String {
        file_name(&self.plan)
    }

    /// The wiring file's own name.
    pub fn wiring_name(&self) -> String {
        file_name(&self.wiring)
    }
}

fn file_name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

fn mark(path: &Path) -> Mark {
    let seen = fs::metadata(path).ok()?;
    Some((seen.modified().ok()?, seen.len(), number(&seen)))
}

/// The file's number in its file system: another one after a rename over it.
#[cfg(unix)]
fn number(seen: &fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(seen)
}

#[cfg(not(unix))]
fn number(_: &fs::Metadata) -> u64 {
    0
}

/// Puts `text` in the place of the file at `path`: written beside it, flushed to the medium, then renamed
/// over it, so that a reader sees the old file or the new one and a power cut leaves one of the two.
fn replace(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let old = fs::metadata(path).ok().map(|seen| seen.permissions());
    if old.as_ref().is_some_and(fs::Permissions::readonly) {
        return Err(io::Error::new(ErrorKind::PermissionDenied, "the file is marked read-only"));
    }
    let mut beside = tempfile::Builder::new().prefix(".loomwright-").suffix(".tmp").tempfile_in(folder)?;
    beside.write_all(text.as_bytes())?;
    match old {
        Some(permissions) => beside.as_file().set_permissions(permissions)?,
        None => allow_others_to_read(beside.as_file())?,
    }
    beside.as_file().sync_all()?;
    beside.persist(path).map_err(|error| error.error)?;
    File::open(folder)?.sync_all()
}

/// A new file gets the usual rights instead of those of a temporary one.
#[cfg(unix)]
pub fn allow_others_to_read(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

/// A new file gets the usual rights; nothing to do here.
#[cfg(not(unix))]
pub fn allow_others_to_read(_: &File) -> io::Result<()> {
    Ok(())
}

/// Why the disk refused, in words for a page.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => "the disk is full".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read".to_owned(),
        ErrorKind::PermissionDenied if error.raw_os_error().is_none() => error.to_string(),
        ErrorKind::PermissionDenied => "this user may not write there".to_owned(),
        ErrorKind::NotFound => "the folder is gone".to_owned(),
        ErrorKind::InvalidData => "the file is not plain text (UTF-8)".to_owned(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(plan: &str, wiring: Option<&str>) -> Texts {
        Texts { plan: plan.into(), wiring: wiring.map(str::to_owned) }
    }

    #[test]
    fn what_is_saved_is_read_back_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("show.toml");
        fs::write(&path, "a").expect("written");
        let disk = Disk::at(&path);
        let before = disk.read().expect("readable");
        disk.save(Some(&before), &texts("b", Some("w"))).expect("saved");
        assert_eq!(disk.read().expect("readable"), texts("b", Some("w")));
        disk.save(Some(&texts("b", Some("w"))), &texts("b", None)).expect("saved");
        assert_eq!(disk.read().expect("readable"), texts("b", None));
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1);
    }

    #[test]
    fn a_write_shows_in_the_stamp() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("show.toml");
        fs::write(&path, "a").expect("written");
        let disk = Disk::at(&path);
        let before = disk.stamp();
        assert_eq!(before, disk.stamp());
        fs::write(&path, "longer").expect("written");
        assert_ne!(before, disk.stamp());
    }

    #[cfg(unix)]
    #[test]
    fn rights_stay_and_read_only_is_respected() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("show.toml");
        fs::write(&path, "a").expect("written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("set");
        replace(&path, "b").expect("replaced");
        assert_eq!(fs::metadata(&path).expect("there").permissions().mode() & 0o777, 0o640);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o440)).expect("set");
        let refusal = replace(&path, "c").expect_err("refused");
        assert_eq!(reason(&refusal), "the file is marked read-only");
        assert_eq!(fs::read_to_string(&path).expect("there"), "b");
    }
}
