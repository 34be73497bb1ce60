//! Setting, taking out and adding keys and tables.

use super::layout::{Form, Layout};
use super::list;
use super::splice::Splices;
use super::value::Value;
use crate::print::key as key_text;
use std::ops::Range;
use toml::de::DeTable;

/// Sets a key, adding its table if need be.
pub(super) fn set(layout: &Layout<'_, '_>, path: &[String], (key, value): (&str, &Value), splices: &mut Splices) {
    let old = layout.find(path).and_then(|found| found.table.get(key));
    match old {
        Some(old) if value.is_said_by(old.get_ref()) => {}
        Some(old) => list::replace(layout, old, value, splices),
        None => insert(layout, path, (key, &value.written()), splices),
    }
}

/// Sets a key to a value that is already in its written form.
pub(super) fn set_written(layout: &Layout<'_, '_>, path: &[String], (key, written): (&str, &str), splices: &mut Splices) {
    match layout.find(path).and_then(|found| found.table.get(key)) {
        Some(old) => splices.replace(old.span(), written),
        None => insert(layout, path, (key, written), splices),
    }
}

fn insert(layout: &Layout<'_, '_>, path: &[String], (key, written): (&str, &str), splices: &mut Splices) {
    let Some(found) = layout.find(path) else {
        add(layout, path, &[(key.to_owned(), written.to_owned())], splices);
        return;
    };
    match found.form {
        Form::Header(header) => {
            let end = layout.body_end(&header, found.table);
            let newline = layout.newline();
            let line = format!("{}{}{} = {written}{newline}", layout.break_before(end), indent(layout, found.table), key_text(key));
            splices.replace(end..end, line);
        }
        Form::Inline(span) => {
            let before = layout.text[..span.end - 1].trim_end();
            let comma = if found.table.is_empty() || before.ends_with(',') { "" } else { "," };
            splices.replace(before.len()..span.end - 1, format!("{comma} {} = {written} ", key_text(key)));
        }
        Form::Implied => match layout.last_key_end(found.table) {
            Some(end) => {
                let end = layout.line_end(end);
                splices.replace(end..end, dotted_line(layout, path, (key, written), end));
            }
            None => add(layout, path, &[(key.to_owned(), written.to_owned())], splices),
        },
    }
}

/// A line for a table that is written as dotted keys (`targets.survive = ..`), which cannot have a header as well.
fn dotted_line(layout: &Layout<'_, '_>, path: &[String], (key, written): (&str, &str), end: usize) -> String {
    let has_header = |count: &usize| layout.find(&path[..*count]).is_some_and(|found| matches!(found.form, Form::Header(_)));
    let above = (1..path.len()).rev().find(has_header).unwrap_or_default();
    let names: Vec<String> = path[above..].iter().map(String::as_str).chain([key]).map(key_text).collect();
    format!("{}{} = {written}{}", layout.break_before(end), names.join("."), layout.newline())
}

/// The white space before the keys of a table.
fn indent<'a>(layout: &Layout<'a, '_>, table: &DeTable<'_>) -> &'a str {
    let Some(first) = table.keys().map(|key| key.span().start).min() else { return "" };
    let before = &layout.text[layout.line_start(first)..first];
    if before.chars().all(|c| c == ' ' || c == '\t') { before } else { "" }
}

/// Takes a key out with its line.
pub(super) fn unset(layout: &Layout<'_, '_>, path: &[String], key: &str, splices: &mut Splices) {
    let Some(found) = layout.find(path) else { return };
    let Some((name, value)) = found.table.get_key_value(key) else { return };
    let whole = name.span().start..value.span().end;
    match found.form {
        Form::Inline(_) => splices.replace(with_comma(layout.text, whole), ""),
        _ if name.span() == value.span() => {}
        _ => splices.replace(layout.line_start(whole.start)..layout.line_end(whole.end), ""),
    }
}

/// The stretch with the comma that follows it, else the one before.
pub(super) fn with_comma(text: &str, range: Range<usize>) -> Range<usize> {
    let after = &text[range.end..];
    let spaces = after.len() - after.trim_start_matches([' ', '\t']).len();
    if after[spaces..].starts_with(',') {
        let rest = &after[spaces + 1..];
        let more = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        return range.start..range.end + spaces + 1 + more;
    }
    let before = text[..range.start].trim_end();
    let start = before.strip_suffix(',').map_or(range.start, str::len);
    start..range.end
}

/// Adds a table after the last of its section, else at the end.
pub(super) fn add(layout: &Layout<'_, '_>, path: &[String], keys: &[(String, String)], splices: &mut Splices) {
    let headers = layout.headers(&path[..1.min(path.len())]);
    let ends = headers.iter().map(|(header, table)| (layout.body_end(header, table), header.start));
    let last = ends.max();
    let (end, spaced) = last.map_or((layout.text.len(), true), |(end, header)| (end, is_spaced(layout, header)));
    let newline = layout.newline();
    let gap = if spaced && !layout.text.trim_start_matches('\u{feff}').is_empty() { newline } else { "" };
    let header: Vec<String> = path.iter().map(|name| key_text(name)).collect();
    let lines: String = keys.iter().map(|(key, written)| format!("{} = {written}{newline}", key_text(key))).collect();
    splices.replace(end..end, format!("{}{gap}[{}]{newline}{lines}", layout.break_before(end), header.join(".")));
}

/// Whether a blank line stands before a header and its comment.
fn is_spaced(layout: &Layout<'_, '_>, header: usize) -> bool {
    let start = with_comment(layout, header);
    let before = layout.text[..start].trim_end_matches([' ', '\t']);
    before.is_empty() || before.ends_with("\n\n") || before.ends_with("\n\r\n")
}

/// The start of the comment lines right above a header; a comment that opens the file stays with the file.
fn with_comment(layout: &Layout<'_, '_>, header: usize) -> usize {
    let mut start = layout.line_start(header);
    let here = start;
    while start > 0 {
        let above = layout.line_start(start - 1);
        if !layout.text[above..start].trim_start_matches('\u{feff}').trim_start().starts_with('#') {
            return start;
        }
        start = above;
    }
    if start == 0 && here > 0 { here } else { start }
}

/// Takes a table out, with those below it and the comment right above each.
pub(super) fn remove(layout: &Layout<'_, '_>, path: &[String], splices: &mut Splices) {
    let headers = layout.headers(path);
    for (header, table) in &headers {
        let start = with_comment(layout, header.start);
        let end = layout.body_end(header, table);
        splices.replace(start..without_double_gap(layout, start, end), "");
    }
    if !headers.is_empty() {
        return;
    }
    match (layout.find(path), path.split_last()) {
        (Some(found), _) if found.form == Form::Implied => {
            found.table.keys().for_each(|key| unset(layout, path, key.get_ref(), splices));
        }
        (_, Some((key, above))) => unset(layout, above, key, splices),
        _ => {}
    }
}

/// Takes the blank lines after a stretch with it, if blank lines stand before it as well.
fn without_double_gap(layout: &Layout<'_, '_>, start: usize, end: usize) -> usize {
    let before = layout.text[..start].trim_start_matches('\u{feff}');
    let gap_before = before.is_empty() || before.ends_with("\n\n") || before.ends_with("\n\r\n");
    let mut end = end;
    while gap_before && end < layout.text.len() {
        let next = layout.line_end(end);
        if !layout.text[end..next].trim().is_empty() {
            break;
        }
        end = next;
    }
    end
}
