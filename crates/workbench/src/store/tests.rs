use super::*;
use std::fs;
use std::path::PathBuf;
use tempfile::TempDir;

/// A folder with one plan, opened.
struct Bench {
    folder: TempDir,
    store: Store,
}

impl Bench {
    fn with(text: &str) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("show.toml");
        fs::write(&path, text).expect("written");
        let store = Store::open(&path).expect("opened");
        Self { folder, store }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("show.toml")
    }

    fn on_disk(&self) -> String {
        fs::read_to_string(self.path()).expect("readable")
    }

    fn shown(&self) -> String {
        self.store.view().now.texts.plan.clone()
    }

    fn put(&mut self, text: &str) {
        let text = text.to_owned();
        let edit = move |now: &Proved| Ok(Texts { plan: text, ..now.texts.clone() }.into());
        self.store.edit("an edit", edit).expect("made");
    }
}

#[test]
fn an_edit_reaches_the_disk_and_can_be_undone_and_redone() {
    let mut bench = Bench::with("one");
    let changes = bench.store.changes();
    bench.put("two");
    assert_eq!((bench.on_disk().as_str(), bench.shown().as_str()), ("two", "two"));
    assert!(bench.store.changes() > changes);
    let now = bench.store.view().now.digest.clone();
    assert!(bench.store.undo("older").is_err(), "a page that shows another state must not undo");
    bench.store.undo(&now).expect("undone");
    assert_eq!(bench.on_disk(), "one");
    let now = bench.store.view().now.digest.clone();
    bench.store.redo(&now).expect("redone");
    assert_eq!(bench.on_disk(), "two");
}

#[test]
fn a_refused_edit_changes_nothing() {
    let mut bench = Bench::with("one");
    let refusal = bench.store.edit("bad", |_| Err(Refusal::Wrong("no".into())));
    assert_eq!(refusal, Err(Refusal::Wrong("no".into())));
    assert_eq!((bench.on_disk().as_str(), bench.store.view().undo), ("one", None));
}

#[test]
fn an_outside_edit_is_adopted_and_can_be_undone() {
    let mut bench = Bench::with("one");
    fs::write(bench.path(), "from an editor").expect("written");
    bench.store.refresh();
    assert_eq!(bench.shown(), "from an editor");
    let view = bench.store.view();
    assert_eq!(view.undo.as_deref(), Some("an edit outside these pages"));
    bench.store.undo(&view.now.digest.clone()).expect("undone");
    assert_eq!(bench.on_disk(), "one");
}

#[test]
fn an_outside_edit_between_look_and_save_is_not_overwritten() {
    let mut bench = Bench::with("one");
    let path = bench.path();
    let edit = move |now: &Proved| {
        fs::write(&path, "theirs").expect("written");
        Ok(Texts { plan: "mine".into(), ..now.texts.clone() }.into())
    };
    bench.store.edit("an edit", edit).expect("kept");
    assert_eq!((bench.on_disk().as_str(), bench.shown().as_str()), ("theirs", "mine"));
    assert!(matches!(bench.store.view().trouble, Some(Trouble::Diverged(theirs)) if theirs.plan == "theirs"));
    bench.store.take_disk();
    assert_eq!((bench.shown().as_str(), bench.store.view().trouble), ("theirs", None));
    let now = bench.store.view().now.digest.clone();
    bench.store.undo(&now).expect("undone");
    assert_eq!(bench.on_disk(), "mine", "the version that was not chosen is one undo away");
}

#[test]
fn keeping_mine_keeps_theirs_within_reach() {
    let mut bench = Bench::with("one");
    let path = bench.path();
    let edit = move |now: &Proved| {
        fs::write(&path, "theirs").expect("written");
        Ok(Texts { plan: "mine".into(), ..now.texts.clone() }.into())
    };
    bench.store.edit("an edit", edit).expect("kept");
    bench.store.write_anyway();
    assert_eq!((bench.on_disk().as_str(), bench.store.view().trouble), ("mine", None));
    let now = bench.store.view().now.digest.clone();
    bench.store.undo(&now).expect("undone");
    assert_eq!(bench.on_disk(), "theirs");
}

#[test]
fn a_removed_file_is_not_written_until_asked() {
    let mut bench = Bench::with("one");
    fs::remove_file(bench.path()).expect("removed");
    bench.store.refresh();
    assert_eq!(bench.store.view().trouble, Some(Trouble::Gone));
    bench.put("two");
    assert!(!bench.path().exists());
    assert_eq!((bench.shown().as_str(), bench.store.view().trouble), ("two", Some(Trouble::Gone)));
    bench.store.write_anyway();
    assert_eq!((bench.on_disk().as_str(), bench.store.view().trouble), ("two", None));
}

#[test]
fn a_file_that_comes_back_as_it_was_is_no_trouble() {
    let mut bench = Bench::with("one");
    fs::rename(bench.path(), bench.folder.path().join("elsewhere")).expect("renamed");
    bench.store.refresh();
    fs::rename(bench.folder.path().join("elsewhere"), bench.path()).expect("renamed");
    bench.store.refresh();
    assert_eq!(bench.store.view().trouble, None);
}

#[test]
fn a_file_that_comes_back_changed_meets_unsaved_edits() {
    let mut bench = Bench::with("one");
    fs::remove_file(bench.path()).expect("removed");
    bench.store.refresh();
    bench.put("mine");
    fs::write(bench.path(), "theirs").expect("written");
    bench.store.refresh();
    assert!(matches!(bench.store.view().trouble, Some(Trouble::Diverged(_))));
    assert_eq!((bench.on_disk().as_str(), bench.shown().as_str()), ("theirs", "mine"));
}

#[test]
fn a_read_only_file_keeps_the_edit_in_memory() {
    let mut bench = Bench::with("one");
    let rights = |readonly| {
        let mut rights = fs::metadata(bench.folder.path().join("show.toml")).expect("there").permissions();
        rights.set_readonly(readonly);
        fs::set_permissions(bench.folder.path().join("show.toml"), rights).expect("set");
    };
    rights(true);
    let edit = |now: &Proved| Ok(Texts { plan: "two".into(), ..now.texts.clone() }.into());
    bench.store.edit("an edit", edit).expect("kept");
    assert_eq!(bench.store.view().trouble, Some(Trouble::Unsaved("the file is marked read-only".into())));
    assert_eq!((bench.on_disk().as_str(), bench.shown().as_str()), ("one", "two"));
    rights(false);
    bench.store.write_anyway();
    assert_eq!((bench.on_disk().as_str(), bench.store.view().trouble), ("two", None));
}

#[test]
fn a_file_that_is_no_text_is_said_to_be_so() {
    let mut bench = Bench::with("one");
    fs::write(bench.path(), [0xff, 0xfe, 0x00]).expect("written");
    bench.store.refresh();
    assert_eq!(bench.store.view().trouble, Some(Trouble::Unreadable("the file is not plain text (UTF-8)".into())));
    assert_eq!(bench.shown(), "one");
}

#[test]
fn opening_what_is_not_there_is_an_error() {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(Store::open(&folder.path().join("none.toml")).is_err());
}
