//! Saving so that nothing is lost: a file is written whole beside its place, then moved there.

use crate::outcome::Failure;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Replaces a file in one step: whoever reads it sees the old or the new one, never a part. Its folder is made where it is missing.
///
/// **Errors**: it cannot be written; then the old one is unchanged.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    make_folder_of(path)?;
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    if fs::metadata(&target).is_ok_and(|old| old.permissions().readonly()) {
        return Err(Failure::new(format!("cannot save {}: it is write-protected", path.display()), "Allow writing to it, or save a copy."));
    }
    replace_at(&target, bytes).map_err(|error| Failure::of_file("save", path, &error))
}

fn replace_at(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let beside = name_beside(path);
    let result = write_whole(&beside, bytes, path).and_then(|()| fs::rename(&beside, path)).and_then(|()| sync_folder_of(path));
    result.inspect_err(|_| {
        let _ = fs::remove_file(&beside);
    })
}

/// Writes a file that must not exist yet.
///
/// **Errors**: it exists, or cannot be written; then nothing of it is left.
pub fn create_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    make_folder_of(path)?;
    let mut file = OpenOptions::new().write(true).create_new(true).open(path).map_err(|error| Failure::of_file("write", path, &error))?;
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(|error| {
        let _ = fs::remove_file(path);
        Failure::of_file("write", path, &error)
    })
}

fn make_folder_of(path: &Path) -> Result<(), Failure> {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => {
            fs::create_dir_all(folder).map_err(|error| Failure::of_file("make the folder", folder, &error))
        }
        _ => Ok(()),
    }
}

fn name_beside(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{}.tmp", std::process::id()))
}

/// Writes and makes sure that it is on the disk; it gets the permissions of the file it replaces.
fn write_whole(beside: &Path, bytes: &[u8], replaces: &Path) -> io::Result<()> {
    let mut file = File::create(beside)?;
    file.write_all(bytes)?;
    if let Ok(old) = fs::metadata(replaces) {
        file.set_permissions(old.permissions())?;
    }
    file.sync_all()
}

/// Makes sure that the move is on the disk too.
fn sync_folder_of(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match File::open(folder) {
        Ok(folder) if cfg!(unix) => folder.sync_all(),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_whole_and_leaves_nothing_beside() {
        let folder = tempfile::tempdir().expect("a folder for the test");
        let path = folder.path().join("deep/a.toml");
        for text in ["old", "new"] {
            replace(&path, text.as_bytes()).expect("the folder can be written");
            assert_eq!(fs::read_to_string(&path).ok().as_deref(), Some(text));
        }
        assert_eq!(fs::read_dir(folder.path().join("deep")).map(Iterator::count).ok(), Some(1));
    }

    #[test]
    fn never_overwrites_what_must_be_new() {
        let folder = tempfile::tempdir().expect("a folder for the test");
        let path = folder.path().join("a.toml");
        create_new(&path, b"first").expect("the folder can be written");
        assert!(create_new(&path, b"second").is_err_and(|failure| failure.says.contains("exists already")));
        assert_eq!(fs::read_to_string(&path).ok().as_deref(), Some("first"));
    }
}
