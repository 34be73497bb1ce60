//! Takes the keys of one table, one by one.

use crate::log::{Log, Wants};
use crate::near::{listed, nearest};
use crate::readable::{Readable, Value, kind_of};
use crate::tree::Entry;
use loomwright_model::Id;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// One table of a file whose keys are known.
pub(crate) struct Fields<'a, 'i> {
    table: &'a DeTable<'i>,
    what: Header<'a>,
}

/// What a table describes, for messages, and where its name stands.
#[derive(Debug, Clone)]
pub(crate) struct Header<'a> {
    /// The section, such as `device`.
    pub(crate) section: &'static str,
    /// The name; empty for a table that stands once.
    pub(crate) name: &'a str,
    /// Where to point when something is missing.
    pub(crate) span: Range<usize>,
}

impl<'a> Header<'a> {
    /// One of a keyed section.
    pub(crate) fn of(section: &'static str, entry: &Entry<'a, '_>) -> Self {
        Self { section, name: entry.name, span: entry.head.clone() }
    }

    /// A table that stands once.
    pub(crate) fn single(section: &'static str, span: Range<usize>) -> Self {
        Self { section, name: "", span }
    }
}

impl std::fmt::Display for Header<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.name.is_empty() { f.write_str(self.section) } else { write!(f, "{} `{}`", self.section, self.name) }
    }
}

impl<'a, 'i> Fields<'a, 'i> {
    /// Opens a table; keys that are not `known` are problems.
    pub(crate) fn open(value: &'a Value<'i>, what: Header<'a>, known: &'static [&'static str], log: &mut Log) -> Option<Self> {
        let DeValue::Table(table) = value.get_ref() else {
            let message = format!("{what} has to be a table of keys, not {}", kind_of(value.get_ref()));
            log.at(what.span.clone()).add("plan/wrong-type", message, table_help(&what, known));
            return None;
        };
        Some(Self::of(table, what, known, log))
    }

    /// The table itself; keys that are not `known` are problems.
    pub(crate) fn of(table: &'a DeTable<'i>, what: Header<'a>, known: &'static [&'static str], log: &mut Log) -> Self {
        for (key, value) in table.iter() {
            if !known.contains(&key.get_ref().as_ref()) {
                let help = unknown_key_help(&what, key.get_ref(), value, known);
                log.at(key.span()).add("plan/unknown-key", format!("`{}` is not a key of {what}", key.get_ref()), help);
            }
        }
        Self { table, what }
    }

    /// The value of a key as it stands.
    pub(crate) fn raw(&self, key: &str) -> Option<&'a Value<'i>> {
        self.table.get(key)
    }

    /// A key that may be there.
    pub(crate) fn maybe<T: Readable>(&self, key: &str, log: &mut Log) -> Option<T> {
        self.raw(key).and_then(|value| T::read(value, log))
    }

    /// A key that may be there, else its default.
    pub(crate) fn or<T: Readable>(&self, key: &str, default: T, log: &mut Log) -> T {
        self.maybe(key, log).unwrap_or(default)
    }

    /// A key that has to be there; `example` is what to write.
    pub(crate) fn need<T: Readable>(&self, key: &str, example: &str, log: &mut Log) -> Option<T> {
        self.require(key, example, log);
        self.maybe(key, log)
    }

    /// Reports a key that is missing.
    pub(crate) fn require(&self, key: &str, example: &str, log: &mut Log) {
        if self.raw(key).is_none() && !self.is_unquoted_dot() {
            let message = format!("{} has no `{key}`", self.what);
            log.at(self.what.span.clone()).add("plan/missing-key", message, format!("add `{key} = {example}`"));
        }
    }

    /// Whether the header was `[device.A.001]`, so that this table is not one that anybody wrote.
    fn is_unquoted_dot(&self) -> bool {
        !self.what.name.is_empty() && !self.table.is_empty() && self.table.values().all(|value| value.get_ref().is_table())
    }

    /// Reports a key that makes no sense for this kind of thing.
    pub(crate) fn forbid(&self, key: &str, why: &str, log: &mut Log) {
        if let Some((name, _)) = self.table.iter().find(|(name, _)| name.get_ref() == key) {
            log.at(name.span()).add("plan/key-not-for-kind", format!("`{key}` has no meaning for {}", self.what), why);
        }
    }

    /// A key that names something.
    pub(crate) fn refer(&self, key: &str, wants: Wants, log: &mut Log) -> Option<Id> {
        refer(self.raw(key)?, wants, log)
    }

    /// A key that lists names of something; absent means none.
    pub(crate) fn refer_list(&self, key: &str, wants: Wants, log: &mut Log) -> Vec<Id> {
        let Some(value) = self.raw(key) else { return Vec::new() };
        let ids = list_of(value, log, |item, log| refer(item, wants, log));
        distinct(value, &ids, log);
        ids
    }

    /// A list of free names, such as feeds or hazards; absent means none.
    pub(crate) fn names(&self, key: &str, log: &mut Log) -> Vec<Id> {
        let Some(value) = self.raw(key) else { return Vec::new() };
        let ids = list_of(value, log, Id::read);
        distinct(value, &ids, log);
        ids
    }
}

/// Reads one name that has to lead somewhere.
pub(crate) fn refer(value: &Value<'_>, wants: Wants, log: &mut Log) -> Option<Id> {
    let id = Id::read(value, log)?;
    log.refer(wants, &id, value.span());
    Some(id)
}

/// Reads every item of a list with `read`.
pub(crate) fn list_of<T>(value: &Value<'_>, log: &mut Log, mut read: impl FnMut(&Value<'_>, &mut Log) -> Option<T>) -> Vec<T> {
    let DeValue::Array(items) = value.get_ref() else {
        let help = match value.get_ref() {
            DeValue::String(text) => format!("write a list: `[\"{text}\"]`"),
            _ => "write a list: `[ .. ]`".to_owned(),
        };
        log.at(value.span()).add("plan/wrong-type", format!("a list is expected here, not {}", kind_of(value.get_ref())), help);
        return Vec::new();
    };
    items.iter().filter_map(|item| read(item, log)).collect()
}

/// Reports names that stand twice in one list.
fn distinct(value: &Value<'_>, ids: &[Id], log: &mut Log) {
    let DeValue::Array(items) = value.get_ref() else { return };
    if ids.len() != items.len() {
        return;
    }
    for (n, id) in ids.iter().enumerate() {
        if ids[..n].contains(id) {
            log.at(items[n].span()).add("plan/listed-twice", format!("`{id}` stands twice in this list"), "take one of the two out");
        }
    }
}

fn table_help(what: &Header<'_>, known: &[&str]) -> String {
    let section = what.section;
    if what.name.is_empty() {
        format!("keys here: {}", listed(known.iter().copied(), 40))
    } else {
        format!("write `[{section}.{}]` and its keys below", what.name)
    }
}

fn unknown_key_help(what: &Header<'_>, key: &str, value: &Value<'_>, known: &[&str]) -> String {
    if let Some(near) = nearest(key, known.iter().copied()) {
        return format!("did you mean `{near}`?");
    }
    if matches!(value.get_ref(), DeValue::Table(_)) && !what.name.is_empty() {
        return format!("if the dot belongs to the name, put the name in quotes: `[{}.\"{}.{key}\"]`", what.section, what.name);
    }
    format!("take it out; keys here: {}", listed(known.iter().copied(), 40))
}
