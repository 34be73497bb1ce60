//! The two files as trees of values with spans.

use crate::log::{File, Log};
use crate::readable::{NAME_HELP, Value, kind_of};
use loomwright_model::Id;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// One step from a table or list to what it holds.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Step<'a> {
    /// The value of a key, or the name in a header.
    Key(&'a str),
    /// The n-th item of a list, from 0.
    Nth(usize),
}

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
    pub(crate) fn span(&self, file: File, path: &[Step<'_>]) -> Range<usize> {
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

/// The span of the thing at the end of a path. A table's span is that of the name that opens it.
pub(crate) fn span_of(root: &DeTable<'_>, path: &[Step<'_>]) -> Range<usize> {
    let (mut table, mut list, mut span) = (Some(root), None, 0..0);
    for step in path {
        let found = match (step, table, list) {
            (Step::Key(key), Some(inside), _) => inside.get_key_value(*key).map(|(key, value)| (key.span(), value)),
            (Step::Nth(n), _, Some(items)) => nth(items, *n),
            _ => None,
        };
        let Some((name, value)) = found else { break };
        (table, list) = (value.get_ref().as_table(), value.get_ref().as_array());
        span = if table.is_some() { name } else { value.span() };
    }
    span
}

fn nth<'a, 'i>(items: &'a toml::de::DeArray<'i>, n: usize) -> Option<(Range<usize>, &'a Value<'i>)> {
    items.get(n).map(|item| (item.span(), item))
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
        log.add("plan/wrong-type", value.span(), message, format!("write one `[{section}.NAME]` for each, without double brackets"));
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
            log.add("plan/bad-name", head, error.to_string(), NAME_HELP);
            None
        }
    }
}
