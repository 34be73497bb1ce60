//! The two files as trees of values with spans.

use crate::log::{File, Log};
use crate::readable::{NAME_HELP, Value, kind_of};
use loomwright_model::Id;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Both files.
pub(crate) struct Trees<'a, 'i> {
    pub(crate) plan: &'a DeTable<'i>,
    pub(crate) wiring: Option<&'a DeTable<'i>>,
}

impl<'a, 'i> Trees<'a, 'i> {
    /// The root of a file.
    pub(crate) fn root(&self, file: File) -> Option<&'a DeTable<'i>> {
        match file {
            File::Plan => Some(self.plan),
            File::Wiring => self.wiring,
        }
    }

    /// Where the thing at the end of `path` was written; as deep as the path leads.
    pub(crate) fn span(&self, file: File, path: &[&str]) -> Range<usize> {
        self.root(file).map_or(0..0, |root| span_of(root, path))
    }

    /// Whether a section of a file has an entry of this name, readable or not.
    pub(crate) fn declares(&self, file: File, section: &str, name: &str) -> bool {
        let section = self.root(file).and_then(|root| root.get(section));
        section.and_then(|section| section.get_ref().as_table()).is_some_and(|table| table.contains_key(name))
    }

    /// The names in a section, in no particular order.
    pub(crate) fn names(&self, file: File, section: &str) -> impl Iterator<Item = &'a str> + use<'a, 'i> {
        let section = self.root(file).and_then(|root| root.get(section));
        let table = section.and_then(|section| section.get_ref().as_table());
        table.into_iter().flat_map(|table| table.keys().map(|key| key.get_ref().as_ref()))
    }
}

/// The span of the thing at the end of a path of keys. A table with a
/// header has the span of its name there.
fn span_of(root: &DeTable<'_>, path: &[&str]) -> Range<usize> {
    let (mut table, mut span) = (Some(root), 0..0);
    for key in path {
        let Some((name, value)) = table.and_then(|table| table.get_key_value(*key)) else { break };
        table = value.get_ref().as_table();
        // Only a header's span starts before the name in it.
        span = if value.span().start <= name.span().start { name.span() } else { value.span() };
    }
    span
}

/// One entry of a keyed section such as `[device.foh-desk]`.
pub(crate) struct Entry<'a, 'i> {
    pub(crate) id: Id,
    pub(crate) name: &'a str,
    pub(crate) head: Range<usize>,
    pub(crate) value: &'a Value<'i>,
}

/// The entries of a keyed section in the order of the file. Names that cannot be ids are problems.
pub(crate) fn entries<'a, 'i>(root: &'a DeTable<'i>, section: &str, log: &mut Log) -> Vec<Entry<'a, 'i>> {
    let Some(value) = root.get(section) else { return Vec::new() };
    let DeValue::Table(table) = value.get_ref() else {
        let message = format!("`{section}` has to be a table of names, not {}", kind_of(value.get_ref()));
        log.at(value.span()).add("plan/wrong-type", message, format!("write one `[{section}.NAME]` for each, without double brackets"));
        return Vec::new();
    };
    let mut found: Vec<_> = table.iter().collect();
    found.sort_by_key(|(key, _)| key.span().start);
    found.into_iter().filter_map(|(key, value)| entry(key.get_ref(), key.span(), value, log)).collect()
}

fn entry<'a, 'i>(name: &'a str, head: Range<usize>, value: &'a Value<'i>, log: &mut Log) -> Option<Entry<'a, 'i>> {
    match Id::new(name) {
        Ok(id) => Some(Entry { id, name, head, value }),
        Err(error) => {
            log.at(head).add("plan/bad-name", error.to_string(), NAME_HELP);
            None
        }
    }
}
