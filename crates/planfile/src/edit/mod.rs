//! Changes single values of the two files and leaves every other byte alone.
//!
//! A change is worked out from the spans of the parsed text and spliced into it, so comments, order,
//! spacing and line ends outside the change stay as they are. [`apply`] reads the result again and
//! refuses a change that would break the plan.

mod layout;
mod list;
mod rename;
mod splice;
mod table;
mod update;
mod value;

pub use update::update_wiring;
pub use value::Value;

use crate::log::File;
use crate::problem::Problems;
use crate::read::{Loaded, Source, read};
use layout::Layout;
use loomwright_model::Id;
use splice::Splices;
use toml::de::DeTable;

/// A table of one of the two files: `device`, `foh-desk`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableAt {
    /// In which file.
    pub file: File,
    /// Section, name and, for groups, number.
    pub path: Vec<String>,
}

impl TableAt {
    /// A table of the plan file.
    pub fn plan(path: &[&str]) -> Self {
        Self { file: File::Plan, path: path.iter().map(|&name| name.to_owned()).collect() }
    }

    /// A table of the wiring file.
    pub fn wiring(path: &[&str]) -> Self {
        Self { file: File::Wiring, ..Self::plan(path) }
    }
}

/// What sort of name is to be changed everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A device of the plan.
    Device,
    /// A switch of the wiring.
    Switch,
    /// A place.
    Place,
    /// A network.
    Network,
    /// A route.
    Route,
    /// A gear type of the plan's own.
    Gear,
    /// A stream.
    Stream,
    /// A cable.
    Cable,
    /// A power feed.
    Feed,
    /// A hazard that routes share.
    Hazard,
}

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Sets a key; a table that is missing is added.
    Set {
        /// The table.
        table: TableAt,
        /// Its key.
        key: String,
        /// The new value.
        value: Value,
    },
    /// Takes a key out; one that is not there is left so.
    Unset {
        /// The table.
        table: TableAt,
        /// Its key.
        key: String,
    },
    /// Adds a table after the last of its section.
    Add {
        /// The table.
        table: TableAt,
        /// Its keys in order.
        keys: Vec<(String, Value)>,
    },
    /// Takes a table out, with the comment right above it; one that is not there is left so.
    Remove {
        /// The table.
        table: TableAt,
    },
    /// Changes a name here and everywhere it is mentioned, in both files.
    Rename {
        /// What sort of name.
        kind: Kind,
        /// The name now.
        from: Id,
        /// The name wanted.
        to: Id,
    },
}

/// Both texts after a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Texts {
    /// The plan file.
    pub plan: String,
    /// The wiring file, if there is one.
    pub wiring: Option<String>,
}

/// A change that was made.
#[derive(Debug, Clone)]
pub struct Edited {
    /// The new texts.
    pub texts: Texts,
    /// What they say.
    pub loaded: Loaded,
}

/// A change that would break the plan. The old texts are still with the caller.
#[derive(Debug, Clone)]
pub struct Refused {
    /// What would be wrong.
    pub problems: Problems,
    /// The texts that were tried; the problems' spans lie in them.
    pub tried: Texts,
}

/// Makes changes, one after the other, and reads the result.
///
/// **Errors**: [`Refused`] with everything that is wrong with the new texts.
pub fn apply(plan: Source<'_>, wiring: Option<Source<'_>>, edits: &[Edit]) -> Result<Edited, Box<Refused>> {
    let texts = draft(Texts { plan: plan.text.to_owned(), wiring: wiring.map(|wiring| wiring.text.to_owned()) }, edits);
    let new_plan = Source { name: plan.name, text: &texts.plan };
    let name = wiring.map_or("wiring", |wiring| wiring.name);
    let new_wiring = texts.wiring.as_deref().map(|text| Source { name, text });
    match read(new_plan, new_wiring) {
        Ok(loaded) => Ok(Edited { loaded, texts }),
        Err(problems) => Err(Box::new(Refused { problems, tried: texts })),
    }
}

/// Makes changes without looking whether the result is a good plan: for drafts.
pub fn draft(mut texts: Texts, edits: &[Edit]) -> Texts {
    let mut rest = edits;
    while let Some(edit) = rest.first() {
        let count = together(rest);
        match edit {
            Edit::Rename { kind, from, to } => texts = rename::everywhere(texts, *kind, from, to),
            Edit::Set { table, .. } | Edit::Unset { table, .. } | Edit::Add { table, .. } | Edit::Remove { table } => {
                let text = match table.file {
                    File::Plan => &mut texts.plan,
                    File::Wiring => texts.wiring.get_or_insert_with(|| crate::print::HEAD.to_owned()),
                };
                *text = in_one_text(text, &rest[..count]);
            }
        }
        rest = &rest[count..];
    }
    texts
}

/// How many changes from the front can be worked out from one parse: a run of tables added to one file.
fn together(edits: &[Edit]) -> usize {
    let file = |edit: &Edit| match edit {
        Edit::Add { table, .. } => Some(table.file),
        _ => None,
    };
    let first = edits.first().and_then(file);
    edits.iter().take_while(|edit| first.is_some() && file(edit) == first).count().max(1)
}

fn in_one_text(text: &str, edits: &[Edit]) -> String {
    let (tree, _) = DeTable::parse_recoverable(text);
    let layout = Layout::of(text, tree.get_ref());
    let mut splices = Splices::default();
    for edit in edits {
        match edit {
            Edit::Set { table, key, value } => table::set(&layout, &table.path, (key, value), &mut splices),
            Edit::Unset { table, key } => table::unset(&layout, &table.path, key, &mut splices),
            Edit::Add { table, keys } => {
                let keys: Vec<(String, String)> = keys.iter().map(|(key, value)| (key.clone(), value.written())).collect();
                table::add(&layout, &table.path, &keys, &mut splices);
            }
            Edit::Remove { table } => table::remove(&layout, &table.path, &mut splices),
            Edit::Rename { .. } => {}
        }
    }
    splices.apply(text)
}

#[cfg(test)]
mod tests;
