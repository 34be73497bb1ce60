//! How a text is laid out: headers, bodies, lines.

use crate::readable::Value;
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A text and its tree.
pub(super) struct Layout<'a, 'i> {
    pub(super) text: &'a str,
    pub(super) root: &'a DeTable<'i>,
}

/// A table of the tree and how it is written.
#[derive(Clone)]
pub(super) struct Found<'a, 'i> {
    pub(super) table: &'a DeTable<'i>,
    pub(super) form: Form,
}

/// How a table is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Form {
    /// Under a header of its own; the span is the header's.
    Header(Range<usize>),
    /// In braces.
    Inline(Range<usize>),
    /// Only through the headers or dotted keys of what it holds.
    Implied,
}

impl<'a, 'i> Layout<'a, 'i> {
    pub(super) fn of(text: &'a str, root: &'a DeTable<'i>) -> Self {
        Self { text, root }
    }

    /// The line end that this text uses.
    pub(super) fn newline(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// How a table is written.
    pub(super) fn form(&self, value: &Value<'_>) -> Form {
        let span = value.span();
        match self.text.as_bytes().get(span.start) {
            Some(b'[') => Form::Header(span),
            Some(b'{') => Form::Inline(span),
            _ => Form::Implied,
        }
    }

    /// The table at the end of a path.
    pub(super) fn find(&self, path: &[String]) -> Option<Found<'a, 'i>> {
        let (mut table, mut form) = (self.root, Form::Implied);
        for name in path {
            let value = table.get(name.as_str())?;
            table = value.get_ref().as_table()?;
            form = self.form(value);
        }
        Some(Found { table, form })
    }

    /// The table at the end of a path and every table below it that has a header of its own.
    pub(super) fn headers(&self, path: &[String]) -> Vec<(Range<usize>, &'a DeTable<'i>)> {
        let mut all = Vec::new();
        if let Some(found) = self.find(path) {
            self.collect(found.table, &found.form, &mut all);
        }
        all
    }

    fn collect(&self, table: &'a DeTable<'i>, form: &Form, all: &mut Vec<(Range<usize>, &'a DeTable<'i>)>) {
        match form {
            Form::Header(span) => all.push((span.clone(), table)),
            Form::Inline(_) => return,
            Form::Implied => {}
        }
        for value in table.values() {
            if let DeValue::Table(inner) = value.get_ref() {
                self.collect(inner, &self.form(value), all);
            }
        }
    }

    /// Just behind the last line of a table's own keys.
    pub(super) fn body_end(&self, header: &Range<usize>, table: &DeTable<'_>) -> usize {
        self.line_end(self.last_key_end(table).unwrap_or(header.end).max(header.end))
    }

    /// The end of the last value that is written in a table itself, not under a header below it.
    pub(super) fn last_key_end(&self, table: &DeTable<'_>) -> Option<usize> {
        let end = |value: &Value<'_>| match value.get_ref() {
            DeValue::Table(inner) => match self.form(value) {
                Form::Header(_) => None,
                Form::Inline(span) => Some(span.end),
                Form::Implied => self.last_key_end(inner),
            },
            DeValue::Array(_) if self.text[value.span().start..].starts_with("[[") && !is_list_of_lists(value) => None,
            _ => Some(value.span().end),
        };
        table.values().filter_map(end).max()
    }

    /// Just behind the end of the line.
    pub(super) fn line_end(&self, offset: usize) -> usize {
        self.text[offset..].find('\n').map_or(self.text.len(), |n| offset + n + 1)
    }

    /// The start of the line.
    pub(super) fn line_start(&self, offset: usize) -> usize {
        self.text[..offset].rfind('\n').map_or(0, |n| n + 1)
    }

    /// A line end, if the text before `offset` does not end with one.
    pub(super) fn break_before(&self, offset: usize) -> &'static str {
        let before = self.text[..offset].trim_start_matches('\u{feff}');
        if before.is_empty() || before.ends_with('\n') { "" } else { self.newline() }
    }
}

/// `[[1, 2], [3]]` rather than the header of a list of tables.
fn is_list_of_lists(value: &Value<'_>) -> bool {
    value.get_ref().as_array().is_some_and(|items| items.iter().all(|item| item.get_ref().is_array()))
}
