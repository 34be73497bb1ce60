//! What a rehearsal leaves in a folder: for the whole network and for each failure a result and captures.

use super::Trouble;
use crate::report::StepLine;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

/// Most that all captures together may take. Own choice: a large plan would fill a laptop's disk otherwise. **Unit**: octet.
const MOST: u64 = 1_000_000_000;

/// The folder. Copies write into it side by side, each into folders of its own.
///
/// **Shape**: `results/whole.json` and `results/without-cable-A-001.json`; captures in `whole/` and `without-cable-A-001/`,
/// so that each of these folders can be compared with the plan as it stands.
pub(super) struct Keep {
    folder: PathBuf,
    room: AtomicU64,
    captures: AtomicUsize,
    /// Failures whose captures found no room.
    left_out: AtomicUsize,
}

/// A name for files: of the whole network, or of what was taken away.
pub(super) fn name_of(line: &StepLine) -> String {
    if line.without.is_empty() {
        return "whole".to_owned();
    }
    let item = line.without.replace([':', '/'], "-");
    format!("without-{item}{}", if line.frozen { "-frozen" } else { "" })
}

impl Keep {
    /// Makes the folder.
    ///
    /// **Errors**: the system refuses, or it holds another rehearsal's results.
    pub(super) fn new(folder: &Path) -> Result<Self, Trouble> {
        let results = folder.join("results");
        if results.exists() {
            let says = format!("{} holds the results of another rehearsal", folder.display());
            return Err(Trouble::new(says, "Name a new folder: `--keep FOLDER`."));
        }
        fs::create_dir_all(&results).map_err(|error| Trouble::of(&format!("make the folder {}", folder.display()), error))?;
        let (room, none) = (AtomicU64::new(MOST), || AtomicUsize::new(0));
        Ok(Self { folder: folder.to_owned(), room, captures: none(), left_out: none() })
    }

    /// Writes what came of one step, as `rehearse --json` would print it.
    pub(super) fn result(&self, line: &StepLine) -> Result<(), Trouble> {
        let path = self.folder.join("results").join(format!("{}.json", name_of(line)));
        let text = serde_json::to_vec_pretty(line).map_err(|error| Trouble::of("write a result", std::io::Error::from(error)))?;
        fs::write(&path, text).map_err(|error| Trouble::of(&format!("write {}", path.display()), error))
    }

    /// Writes captures under the name of a step; all of them or, where there is no more room, none.
    pub(super) fn captures(&self, step: &str, files: &[(String, Vec<u8>)]) -> Result<(), Trouble> {
        let size = files.iter().map(|(_, octets)| octets.len() as u64).sum();
        let takes = |room: u64| room.checked_sub(size);
        if self.room.fetch_update(Ordering::Relaxed, Ordering::Relaxed, takes).is_err() {
            self.left_out.fetch_add(1, Ordering::Relaxed);
            return Ok(());
        }
        let folder = self.folder.join(step);
        fs::create_dir_all(&folder).map_err(|error| Trouble::of(&format!("make the folder {}", folder.display()), error))?;
        for (name, octets) in files {
            fs::write(folder.join(name), octets).map_err(|error| Trouble::of(&format!("write {name}"), error))?;
        }
        self.captures.fetch_add(files.len(), Ordering::Relaxed);
        Ok(())
    }

    /// What was kept, in sentences.
    pub(super) fn says(&self) -> Vec<String> {
        let (captures, left_out) = (self.captures.load(Ordering::Relaxed), self.left_out.load(Ordering::Relaxed));
        let folder = self.folder.display();
        let kept = format!(
            "Kept in {folder}: the result of every step in results/, and {captures} captures of cables between boxes, 3 s of the whole \
             network and 1 s of each failure once the network had found itself again."
        );
        let left = format!("The captures of {left_out} steps were left out: together they may take {} MB.", MOST / 1_000_000);
        [Some(kept), (left_out > 0).then_some(left)].into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(without: &str, frozen: bool) -> StepLine {
        StepLine { without: without.to_owned(), frozen, ..StepLine::default() }
    }

    #[test]
    fn every_step_has_a_name_of_its_own() {
        let names = [("", false), ("cable:A-001", false), ("switch:sw-a", false), ("switch:sw-a", true)].map(|(w, f)| name_of(&line(w, f)));
        assert_eq!(names, ["whole", "without-cable-A-001", "without-switch-sw-a", "without-switch-sw-a-frozen"]);
    }

    #[test]
    fn what_finds_no_room_is_told() {
        let folder = tempfile::tempdir().expect("a folder");
        let keep = Keep::new(&folder.path().join("kept")).expect("it can be made");
        keep.room.store(10, Ordering::Relaxed);
        for (step, size) in [("whole", 6), ("without-x", 6), ("without-y", 4)] {
            keep.captures(step, &[("a.pcap".to_owned(), vec![0; size])]).expect("it is written");
        }
        let there = ["whole", "without-x", "without-y"].map(|step| folder.path().join("kept").join(step).join("a.pcap").exists());
        assert_eq!(there, [true, false, true]);
        assert!(keep.says()[1].contains("of 1 steps"), "{:?}", keep.says());
        assert!(Keep::new(&folder.path().join("kept")).is_err(), "a folder with results is not used again");
    }
}
