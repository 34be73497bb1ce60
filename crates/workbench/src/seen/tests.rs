//! Evidence on a real disk.

use super::*;
use std::fs;

const NOTES: &[u8] = b"device,port,neighbour,neighbour port\nbox-1,1,sw-1,5\n";

fn opened() -> (tempfile::TempDir, SeenStore) {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("hall.toml"), "").expect("written");
    let store = SeenStore::beside(&folder.path().join("hall.toml"));
    (folder, store)
}

fn put(store: &mut SeenStore, name: &str, octets: &[u8]) -> Option<loomwright_crewlog::SeenFile> {
    let mut incoming = store.incoming(name).expect("room");
    incoming.take(octets).expect("taken");
    let kept = incoming.keep().expect("kept");
    store.refresh();
    kept
}

#[test]
fn what_comes_in_is_kept_read_and_listed() {
    let (folder, mut store) = opened();
    assert!(!store.refresh() && store.view().sources.is_empty());
    let kept = put(&mut store, "C:\\logs\\notes.csv", NOTES).expect("new");
    assert_eq!((kept.file.as_str(), kept.octets), ("notes.csv", NOTES.len() as u64));
    assert_eq!(fs::read(folder.path().join("hall.evidence/notes.csv")).expect("there"), NOTES);
    let view = store.view();
    assert_eq!(view.sources[0].evidence.neighbours.len(), 1);
    assert_eq!(view.sources[0].sha256, kept.sha256);
    assert!(!store.refresh(), "nothing new");
}

#[test]
fn the_same_again_is_not_kept_twice_and_another_of_that_name_gets_a_number() {
    let (_folder, mut store) = opened();
    put(&mut store, "lldp_sw1.csv", NOTES);
    assert_eq!(put(&mut store, "lldp_sw1.csv", NOTES), None);
    let other = put(&mut store, "lldp_sw1.csv", b"device,port,neighbour,neighbour port\n").expect("kept");
    assert_eq!(other.file, "lldp_sw1_2.csv");
    assert_eq!(store.view().sources.len(), 2);
}

#[test]
fn nothing_is_deleted() {
    let (folder, mut store) = opened();
    put(&mut store, "notes.csv", NOTES);
    store.set_aside("notes.csv").expect("moved");
    assert!(store.refresh());
    assert!(store.view().sources.is_empty() && store.view().aside.as_ref() == ["notes.csv".to_owned()]);
    assert!(folder.path().join("hall.evidence/set-aside/notes.csv").is_file());
    store.take_back("notes.csv").expect("moved");
    store.refresh();
    assert_eq!(store.view().sources.len(), 1);
    for name in ["../hall.toml", "none.csv", ".hidden"] {
        assert!(store.set_aside(name).is_err(), "{name}");
    }
}

#[test]
fn what_is_broken_off_leaves_nothing_behind() {
    let (folder, mut store) = opened();
    let mut incoming = store.incoming("edge.pcap").expect("room");
    incoming.take(b"abc").expect("taken");
    drop(incoming);
    store.refresh();
    assert!(store.view().sources.is_empty());
    assert_eq!(fs::read_dir(folder.path().join("hall.evidence")).expect("there").count(), 0);
}

#[test]
fn what_listens_counts_with_the_files() {
    let (_folder, mut store) = opened();
    put(&mut store, "notes.csv", NOTES);
    store.hear("listening on eth0", &[], loomwright_evidence::read("x.csv", NOTES));
    store.hear("listening on eth0", &[], loomwright_evidence::read("x.csv", NOTES));
    let view = store.view();
    assert_eq!(view.sources.iter().map(|source| source.is_live).collect::<Vec<_>>(), [false, true]);
}

#[test]
fn a_file_that_cannot_be_read_says_why() {
    let (_folder, mut store) = opened();
    put(&mut store, "trace.pcap.gz", b"\x1f\x8b\x08\0\0\0\0\0\0\0");
    let view = store.view();
    assert!(view.sources[0].evidence.complaints[0].says.contains("unpack"), "{:?}", view.sources[0].evidence.complaints);
}
