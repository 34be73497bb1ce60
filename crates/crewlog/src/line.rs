//! The log as text: one entry a line.
//!
//! **Shape**: UTF-8; each line one JSON object, ended by a line feed; the first line may be a head, `{"crewlog":1,"plan":".."}`.
//! A line is only ever added at the end. A writer that was cut off leaves a last line without its end: it was never
//! acknowledged, so a reader passes over it, and the next writer ends it before it adds its own.

use crate::entry::Entry;
use serde_json::Value;

/// A line that could not be read. It stays in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// Its number, from 1.
    pub line: usize,
    /// Why, in words.
    pub says: String,
}

/// What stands in a log.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Log {
    /// Every entry, in the order of the file.
    pub entries: Vec<Entry>,
    /// Lines that could not be read.
    pub unreadable: Vec<Unreadable>,
    /// Whether the last line has no end: the next writer must first end it.
    pub is_torn: bool,
}

/// The first line of a new log.
pub fn head(plan_file: &str) -> String {
    format!("{}\n", serde_json::json!({ "crewlog": 1, "plan": plan_file }))
}

/// An entry as its line.
///
/// ```
/// use loomwright_crewlog::{Deed, Entry, read, written};
/// let deed = Deed::Plug { cable: "A-001".into(), port: "box/1".into(), is: true };
/// let entry = Entry { id: "7f3a".into(), time: "2026-05-02T14:03:22Z".into(), made: None, who: "Ana".into(), hand: "p1".into(), knew: 0, deed };
/// let line = written(&entry);
/// assert_eq!(read(line.as_bytes()).entries, [entry]);
/// ```
pub fn written(entry: &Entry) -> String {
    let line = serde_json::to_string(entry).expect("an entry has text, numbers and lists only");
    line + "\n"
}

/// Reads a whole log. Never fails: what cannot be read is named by its line.
pub fn read(octets: &[u8]) -> Log {
    let mut log = Log { is_torn: octets.last().is_some_and(|last| *last != b'\n'), ..Log::default() };
    let count = octets.split(|octet| *octet == b'\n').count();
    for (n, line) in octets.split(|octet| *octet == b'\n').enumerate() {
        let is_torn_end = log.is_torn && n + 1 == count;
        match entry(line) {
            Ok(Some(entry)) => log.entries.push(entry),
            Ok(None) => {}
            // Nobody was told that it was kept.
            Err(_) if is_torn_end => {}
            Err(says) => log.unreadable.push(Unreadable { line: n + 1, says }),
        }
    }
    log
}

fn entry(line: &[u8]) -> Result<Option<Entry>, String> {
    let text = std::str::from_utf8(line).map_err(|_| "is no text".to_owned())?.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let value: Value = serde_json::from_str(text).map_err(|_| "was cut off or damaged".to_owned())?;
    match value.get("crewlog").and_then(Value::as_u64) {
        Some(1) => Ok(None),
        Some(other) => Err(format!("names form {other} of the log, and only form 1 is known here")),
        None => serde_json::from_value(value).map(Some).map_err(|error| format!("is not understood: {error}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::Deed;
    use proptest::prelude::*;

    fn note(id: &str, text: &str) -> Entry {
        let deed = Deed::Note { cable: "A-001".into(), text: text.into() };
        Entry { id: id.into(), time: crate::utc(0), made: None, who: "Ana".into(), hand: String::new(), knew: 3, deed }
    }

    #[test]
    fn a_damaged_line_is_named_and_the_rest_is_read() {
        let text = format!("{}{}{{\"id\":\n{}", head("hall.toml"), written(&note("1", "a")), written(&note("2", "b")));
        let log = read(text.as_bytes());
        assert_eq!((log.entries.len(), log.is_torn), (2, false));
        assert_eq!(log.unreadable, [Unreadable { line: 3, says: "was cut off or damaged".to_owned() }]);
        let newer = read(b"{\"crewlog\":2}\n{\"id\":\"1\",\"time\":\"t\",\"does\":\"sing\"}\n");
        assert_eq!(newer.unreadable.len(), 2, "{newer:?}");
    }

    /// The line's form is a promise to whoever reads logs with other tools.
    #[test]
    fn the_form_of_a_line() {
        let deed = Deed::Plug { cable: "A-001".into(), port: "box/1".into(), is: true };
        let entry = Entry { made: Some("2026-05-02T14:00:00Z".into()), hand: "p1".into(), deed, ..note("7", "") };
        let form = "{\"id\":\"7\",\"time\":\"1970-01-01T00:00:00Z\",\"made\":\"2026-05-02T14:00:00Z\",\"who\":\"Ana\",\"hand\":\"p1\",\"knew\":3,\
                    \"does\":\"plug\",\"cable\":\"A-001\",\"port\":\"box/1\",\"is\":true}\n";
        assert_eq!(written(&entry), form);
        assert_eq!(read(form.as_bytes()).entries, [entry]);
    }

    proptest! {
        /// Cut anywhere, a log gives every line that was whole, and never a wrong one.
        #[test]
        fn a_log_cut_anywhere_gives_every_whole_line(texts in prop::collection::vec(".*", 1..6), cut in any::<prop::sample::Index>()) {
            let entries: Vec<Entry> = texts.iter().enumerate().map(|(n, text)| note(&n.to_string(), text)).collect();
            let mut whole = head("p.toml").into_bytes();
            let mut ends = Vec::new();
            for entry in &entries {
                whole.extend(written(entry).into_bytes());
                ends.push(whole.len());
            }
            let cut = cut.index(whole.len() + 1);
            let log = read(&whole[..cut]);
            let kept = ends.iter().filter(|end| **end <= cut).count();
            prop_assert!(log.entries.len() == kept || (log.entries.len() == kept + 1 && ends[kept] == cut + 1));
            prop_assert_eq!(&log.entries[..], &entries[..log.entries.len()]);
            prop_assert!(log.unreadable.is_empty());
        }

        /// Anything at all reads without panic, and a line that is added afterwards is read.
        #[test]
        fn rubbish_is_survived(mut octets in prop::collection::vec(any::<u8>(), 0..200)) {
            let before = read(&octets);
            if before.is_torn {
                octets.push(b'\n');
            }
            octets.extend(written(&note("z", "after")).into_bytes());
            let log = read(&octets);
            prop_assert_eq!(log.entries.last().map(|entry| entry.id.as_str()), Some("z"));
        }
    }
}
