//! Brings a wiring file up to date and keeps what people wrote around the items that stay.

use super::layout::{Form, Layout};
use super::splice::Splices;
use super::table;
use crate::log::{File, Log};
use crate::print::{Table, tables};
use crate::problem::Problems;
use crate::read::{Source, lone_problems, wiring};
use indexmap::IndexMap;
use loomwright_model::Wiring;
use toml::de::DeTable;

/// The old text with everything changed that `wiring` says otherwise. What stays keeps its comments,
/// its place and its spelling; what is new goes after the last of its section.
///
/// **Errors**: an old text that cannot be read is not touched; its problems come back.
pub fn update_wiring(old: Source<'_>, wiring: &Wiring) -> Result<String, Problems> {
    let (tree, errors) = DeTable::parse_recoverable(old.text);
    let mut log = Log::new(File::Wiring);
    let before = wiring::read(tree.get_ref(), &mut log);
    if let Some(problems) = lone_problems(old, &errors, log) {
        return Err(problems);
    }
    let by_path =
        |wiring: &Wiring| -> IndexMap<Vec<String>, Table> { tables(wiring).into_iter().map(|table| (table.path.clone(), table)).collect() };
    let (before, after) = (by_path(&before), by_path(wiring));
    let layout = Layout::of(old.text, tree.get_ref());
    let mut splices = Splices::default();
    for path in before.keys().filter(|path| !after.contains_key(*path)) {
        table::remove(&layout, path, &mut splices);
    }
    // Keys first: a new key and a new table may go to the same spot.
    for (old, new) in after.iter().filter_map(|(path, new)| Some((before.get(path)?, new))) {
        change(&layout, old, new, &mut splices);
    }
    for (_, new) in after.iter().filter(|(path, _)| !before.contains_key(*path)) {
        add(&layout, new, &mut splices);
    }
    Ok(splices.apply(old.text))
}

/// Adds a table; a header that stands there without keys is filled.
fn add(layout: &Layout<'_, '_>, new: &Table, splices: &mut Splices) {
    match layout.find(&new.path).is_some_and(|found| found.form != Form::Implied) {
        true => new.keys.iter().for_each(|(key, written)| table::set_written(layout, &new.path, (key, written), splices)),
        false => table::add(layout, &new.path, &new.keys, splices),
    }
}

/// Changes the keys that differ.
fn change(layout: &Layout<'_, '_>, old: &Table, new: &Table, splices: &mut Splices) {
    let value = |table: &Table, key: &str| table.keys.iter().find(|(name, _)| name == key).map(|(_, value)| value.clone());
    for (key, _) in old.keys.iter().filter(|(key, _)| value(new, key).is_none()) {
        table::unset(layout, &new.path, key, splices);
    }
    for (key, written) in new.keys.iter().filter(|(key, written)| value(old, key).as_ref() != Some(written)) {
        table::set_written(layout, &new.path, (key, written), splices);
    }
}
