//! Replacing a value; in a list written over several lines only what differs is touched.

use super::layout::Layout;
use super::splice::Splices;
use super::table::with_comma;
use super::value::Value;
use crate::readable::Value as Old;
use toml::de::DeArray;

/// Replaces a value where it stands. Comment and spacing around it stay.
pub(super) fn replace(layout: &Layout<'_, '_>, old: &Old<'_>, new: &Value, splices: &mut Splices) {
    let is_long = layout.text[old.span()].contains(['\n', '#']);
    if let (true, Some(items), Value::List(wanted)) = (is_long, old.get_ref().as_array(), new)
        && one_by_one(layout, items, wanted, splices)
    {
        return;
    }
    splices.replace(old.span(), new.written());
}

/// Takes out items that are no longer wanted and adds new ones at the end; false if the order changed otherwise.
fn one_by_one(layout: &Layout<'_, '_>, items: &DeArray<'_>, wanted: &[Value], splices: &mut Splices) -> bool {
    let mut kept = 0;
    let mut dropped = Vec::new();
    for item in items.iter() {
        if wanted.get(kept).is_some_and(|value| value.is_said_by(item.get_ref())) {
            kept += 1;
        } else {
            dropped.push(item);
        }
    }
    let added = &wanted[kept..];
    let Some(last) = items.iter().last() else { return false };
    // A dropped item that is wanted later, or one dropped at the end with more to come: the order changed.
    if dropped.iter().any(|item| added.iter().any(|value| value.is_said_by(item.get_ref()))) || (!added.is_empty() && !dropped.is_empty()) {
        return false;
    }
    for item in dropped {
        splices.replace(line_of(layout, item), "");
    }
    let first = items.iter().next().map_or(last.span().start, |item| item.span().start);
    let before = &layout.text[layout.line_start(first)..first];
    let gap = if before.trim().is_empty() { format!("{}{before}", layout.newline()) } else { " ".to_owned() };
    let more: String = added.iter().map(|value| format!(",{gap}{}", value.written())).collect();
    splices.replace(last.span().end..last.span().end, more);
    true
}

/// An item with its comma, and its whole line where it has one of its own.
fn line_of(layout: &Layout<'_, '_>, item: &Old<'_>) -> std::ops::Range<usize> {
    let span = with_comma(layout.text, item.span());
    let (start, end) = (layout.line_start(item.span().start), layout.line_end(span.end));
    let after = layout.text[span.end.max(item.span().end)..end].trim();
    let alone = layout.text[start..item.span().start].trim().is_empty() && (after.is_empty() || after.starts_with('#'));
    if alone { start..end } else { span }
}
