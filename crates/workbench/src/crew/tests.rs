//! The log on a real disk.

use super::*;
use loomwright_crewlog::Deed;
use std::fs;

fn entry(id: &str) -> Entry {
    let deed = Deed::Plug { cable: "A-001".into(), port: "box/1".into(), is: true };
    Entry { id: id.into(), time: now(), made: None, who: "Ana".into(), hand: String::new(), knew: 0, deed }
}

fn opened() -> (tempfile::TempDir, CrewStore) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("hall.toml"), "").expect("written");
    let store = CrewStore::beside(&folder.path().join("hall.toml"));
    (folder, store)
}

#[test]
fn nothing_is_written_before_somebody_speaks_and_all_is_there_afterwards() {
    let (folder, mut store) = opened();
    assert!(!folder.path().join("hall.crewlog").exists());
    store.add(entry("1")).expect("kept");
    store.add(entry("2")).expect("kept");
    store.add(entry("1")).expect("known already");
    let again = CrewStore::beside(&folder.path().join("hall.toml"));
    assert_eq!(again.view().book.len(), 2);
    let text = fs::read_to_string(folder.path().join("hall.crewlog")).expect("readable");
    assert!(text.starts_with("{\"crewlog\":1,\"plan\":\"hall.toml\"}\n") && text.lines().count() == 3, "{text}");
}

#[test]
fn a_torn_end_is_passed_over_and_ended_before_the_next_line() {
    let (folder, mut store) = opened();
    store.add(entry("1")).expect("kept");
    let path = folder.path().join("hall.crewlog");
    let whole = fs::read_to_string(&path).expect("readable");
    fs::write(&path, format!("{whole}{{\"id\":\"2\",\"ti")).expect("written");
    let mut after = CrewStore::beside(&folder.path().join("hall.toml"));
    assert_eq!((after.view().book.len(), after.view().unreadable.len()), (1, 0));
    after.add(entry("3")).expect("kept");
    assert_eq!((after.view().book.len(), after.view().unreadable.len()), (2, 1), "the torn line stays and is named");
    let text = fs::read_to_string(&path).expect("readable");
    assert!(text.contains("\"ti\n{\"id\":\"3\""), "{text}");
}

#[test]
fn two_workbenches_write_to_one_log() {
    let (folder, mut first) = opened();
    let mut second = CrewStore::beside(&folder.path().join("hall.toml"));
    for n in 0..4 {
        first.add(entry(&format!("f{n}"))).expect("kept");
        second.add(entry(&format!("s{n}"))).expect("kept");
    }
    assert!(first.refresh());
    assert_eq!((first.view().book.len(), second.view().book.len()), (8, 8));
}

#[test]
fn a_log_that_cannot_be_written_acknowledges_nothing() {
    let (folder, mut store) = opened();
    fs::create_dir(folder.path().join("hall.crewlog")).expect("a folder in the way");
    let words = store.add(entry("1")).expect_err("refused");
    assert!(words.starts_with("Not kept"), "{words}");
    assert_eq!(store.view().book.len(), 0);
}

#[test]
fn pictures_are_kept_by_what_they_are() {
    let (folder, store) = opened();
    let picture = [b"\xff\xd8\xff\xe0".as_slice(), &[7; 100]].concat();
    let kept = store.photos.keep("A-001", &picture).expect("kept");
    assert!(kept.file.starts_with("A-001-") && kept.file.ends_with(".jpg"));
    assert_eq!(store.photos.read(&kept.file).map(|(_, octets)| octets), Some(picture));
    assert!(store.photos.keep("A-001", b"<svg onload=alert(1)>").is_err());
    assert!(store.photos.keep("A-001", &vec![0xff; loomwright_crewlog::photo::LARGEST + 1]).is_err());
    fs::write(folder.path().join("hall.photos/trick.jpg"), "<html>").expect("written");
    for name in ["trick.jpg", "../hall.toml", ".hidden", "none.jpg", "a/b.jpg"] {
        assert!(store.photos.read(name).is_none(), "{name}");
    }
}
