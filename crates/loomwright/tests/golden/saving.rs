//! Nothing is lost when a file cannot be written.

use crate::running::{Run, program, run, with_starter};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

/// A small disk, gone when the test is done with it.
struct SmallDisk(tempfile::TempDir);

impl SmallDisk {
    /// `None` where this user may not mount.
    fn mounted(kilobytes: u32) -> Option<Self> {
        let folder = tempfile::tempdir().expect("a scratch folder");
        let size = format!("size={kilobytes}k");
        let status = Command::new("mount").args(["-t", "tmpfs", "-o", &size, "tmpfs"]).arg(folder.path()).stderr(Stdio::null()).status();
        status.is_ok_and(|status| status.success()).then_some(Self(folder))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    /// Leaves no room at all.
    fn fill(&self) {
        let filler = fs::File::create(self.path().join("filler")).expect("the disk can be written");
        let block = [b'x'; 1024];
        while std::io::Write::write_all(&mut &filler, &block).is_ok() {}
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.path()).status();
    }
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).expect("it is there").flatten().map(|e| e.file_name().to_string_lossy().into()).collect();
    names.sort();
    names
}

#[test]
fn a_full_disk_costs_nothing_that_was_there() {
    let Some(disk) = SmallDisk::mounted(256) else {
        println!("skipped: this user may not mount a small disk, so a full one cannot be tried");
        return;
    };
    let starter = with_starter();
    fs::copy(starter.path().join("hall.toml"), disk.path().join("hall.toml")).expect("there is room for the plan");
    assert_eq!(run(disk.path(), &["design", "hall.toml"]).code, 0);
    let wiring = fs::read(disk.path().join("hall.wiring.toml")).expect("the design was written");
    disk.fill();
    let before = names_in(disk.path());
    let designed = run(disk.path(), &["design", "hall.toml"]);
    assert_full(&designed);
    assert_full(&run(disk.path(), &["new", "other.toml"]));
    assert_eq!(fs::read(disk.path().join("hall.wiring.toml")).ok(), Some(wiring));
    assert_eq!(names_in(disk.path()), before, "nothing half-written is left");
}

fn assert_full(run: &Run) {
    assert_eq!(run.code, 2, "{}", run.err);
    assert!(run.err.contains("the disk is full"), "{}", run.err);
}

#[test]
fn a_full_disk_behind_standard_output_is_told() {
    let Ok(full) = fs::OpenOptions::new().write(true).open("/dev/full") else {
        println!("skipped: this system has no /dev/full");
        return;
    };
    let folder = with_starter();
    let run: Run = program(folder.path(), &["check", "--schema"]).stdout(full).stderr(Stdio::piped()).output().expect("it runs").into();
    assert_full(&run);
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let folder = with_starter();
    let mut child = program(folder.path(), &["check", "--schema"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    drop(child.stdout.take());
    let run: Run = child.wait_with_output().expect("it ends").into();
    assert_eq!((run.code, run.err.as_str()), (0, ""));
}

#[test]
fn new_never_overwrites() {
    let folder = with_starter();
    let before = fs::read(folder.path().join("hall.toml")).expect("it was made");
    let again = run(folder.path(), &["new", "hall"]);
    assert_eq!(again.code, 2);
    assert!(again.err.contains("exists already"), "{}", again.err);
    assert_eq!(fs::read(folder.path().join("hall.toml")).ok(), Some(before));
}

#[test]
fn a_write_protected_wiring_stays_as_it_is() {
    let folder = with_starter();
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    let wiring = folder.path().join("hall.wiring.toml");
    let mut permissions = fs::metadata(&wiring).expect("it was written").permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&wiring, permissions).expect("its owner may");
    let designed = run(folder.path(), &["design", "hall.toml"]);
    assert_eq!(designed.code, 2);
    assert!(designed.err.contains("write-protected"), "{}", designed.err);
}
