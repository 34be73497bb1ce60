//! Edits of the texts, as the tables make them. What people type becomes the value that the file takes.

use super::yielding::apply_and_yield;
use crate::store::{Made, Texts};
use loomwright_model::{Id, Item};
use loomwright_planfile::edit::{Edit, Kind, TableAt, Value};
use loomwright_planfile::{Problems, Source};

/// What a cell holds, as far as writing it is concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// Quoted text.
    Text,
    /// A whole number.
    Number,
    /// A list of quoted names.
    Names,
    /// One quoted name, or a list of several.
    NameOrNames,
    /// Metres, with a point.
    Position,
    /// True, or left out.
    Flag,
}

/// One change, as a table makes it. Texts as people type them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// One cell; an empty value takes the key out.
    Set {
        /// Word of the table.
        table: &'static str,
        /// The item.
        id: String,
        /// Which key of it, and how it is written.
        key: (&'static str, Written),
        /// What to put there.
        value: String,
    },
    /// A new item.
    Add {
        /// Word of the table.
        table: &'static str,
        /// Its name.
        id: String,
        /// What it says.
        cells: Vec<((&'static str, Written), String)>,
    },
    /// An item less.
    Remove {
        /// Word of the table.
        table: &'static str,
        /// The item.
        id: String,
    },
    /// Another name, here and everywhere it is mentioned.
    Rename {
        /// Word of the table.
        table: &'static str,
        /// The name now.
        id: String,
        /// The name wanted.
        to: String,
    },
}

/// Makes changes in the texts; comments and order stay. `files` are the names of the two files. What no longer
/// fits is taken out of the wiring.
///
/// **Errors**: why a change cannot be made, in words.
pub fn apply(texts: &Texts, files: [&str; 2], changes: &[Change]) -> Result<Made, String> {
    let edits = changes.iter().map(edit_of).collect::<Result<Vec<_>, _>>()?;
    let plan = Source { name: files[0], text: &texts.plan };
    let wiring = texts.wiring.as_deref().map(|text| Source { name: files[1], text });
    let (edited, out) = apply_and_yield(plan, wiring, edits)?;
    Ok(Made { texts: Texts { plan: edited.texts.plan, wiring: edited.texts.wiring }, also: taken_out(&out) })
}

/// What was taken out of the wiring, in words; empty if nothing was. Own choice: the first six names tell which.
fn taken_out(out: &[String]) -> String {
    let names: Vec<&str> = out.iter().take(6).map(String::as_str).collect();
    match out.len() {
        0 => String::new(),
        n if n > names.len() => format!("taken out of the wiring: {} and {} more", names.join(", "), n - names.len()),
        _ => format!("taken out of the wiring: {}", names.join(", ")),
    }
}

/// Why it cannot be, for the person at the table. Own choice: the first three reasons are enough to act on.
pub fn in_words(problems: &Problems) -> String {
    let all: Vec<String> =
        problems.iter().take(3).map(|problem| format!("{} {}", sentence(&problem.message), sentence(&problem.help))).collect();
    let rest = problems.as_slice().len().saturating_sub(all.len());
    let more = if rest == 0 { String::new() } else { format!(" And {rest} more.") };
    all.join(" ") + &more
}

/// With a capital first letter and an end.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let capital: String = letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
    if capital.is_empty() || capital.ends_with(['.', '?', '!']) { capital } else { capital + "." }
}

fn edit_of(change: &Change) -> Result<Edit, String> {
    Ok(match change {
        Change::Set { table, id, key: (key, written), value } => {
            let (table, key) = (table_at(table, id)?, (*key).to_owned());
            match value_of(value, *written, &key)? {
                Some(value) => Edit::Set { table, key, value },
                None => Edit::Unset { table, key },
            }
        }
        Change::Add { table, id, cells } => {
            let mut keys = Vec::new();
            for ((key, written), text) in cells {
                keys.extend(value_of(text, *written, key)?.map(|value| ((*key).to_owned(), value)));
            }
            Edit::Add { table: table_at(table, id)?, keys }
        }
        Change::Remove { table, id } => Edit::Remove { table: table_at(table, id)? },
        Change::Rename { table, id, to } => Edit::Rename { kind: kind(table), from: name(id)?, to: name(to)? },
    })
}

fn name(text: &str) -> Result<Id, String> {
    Id::new(text).map_err(|error| format!("The name {error}."))
}

fn table_at(table: &str, id: &str) -> Result<TableAt, String> {
    name(id)?;
    let is_wiring = matches!(table, "switch" | "cable");
    Ok(if is_wiring { TableAt::wiring(&[table, id]) } else { TableAt::plan(&[table, id]) })
}

fn kind(table: &str) -> Kind {
    match table {
        "place" => Kind::Place,
        "route" => Kind::Route,
        "stream" => Kind::Stream,
        "switch" => Kind::Switch,
        "cable" => Kind::Cable,
        _ => Kind::Device,
    }
}

/// The value that the file takes; `None` where the cell says nothing.
fn value_of(text: &str, written: Written, key: &str) -> Result<Option<Value>, String> {
    let text = text.trim();
    if text.is_empty() || (written == Written::Flag && text == "false") {
        return Ok(None);
    }
    let names = || text.split([',', ';']).map(str::trim).filter(|word| !word.is_empty()).collect::<Vec<_>>();
    Ok(Some(match written {
        Written::Text => Value::from(text),
        Written::Number => Value::Whole(text.parse().map_err(|_| format!("`{text}` is not a whole number for {key}. Write digits only."))?),
        Written::Names => Value::texts(names()),
        Written::NameOrNames if names().len() == 1 => Value::from(text),
        Written::NameOrNames => Value::texts(names()),
        Written::Position => Value::List(names().iter().map(|part| metres(part, key)).collect::<Result<_, _>>()?),
        Written::Flag => Value::Flag(true),
    }))
}

fn metres(text: &str, key: &str) -> Result<Value, String> {
    let plain = text.replace('\u{2212}', "-");
    let number = plain.trim_end_matches('m').trim().parse::<f64>().ok().filter(|number| number.is_finite());
    number
        .map(Value::Decimal)
        .ok_or_else(|| format!("`{text}` is not a distance for {key}. Write metres with commas between, such as -9, 2.5."))
}

/// Holds or frees every cable and switch of the wiring.
///
/// **Errors**: as for [`apply`].
pub fn hold(now: &super::Proved, only: Option<&Item>, hold: bool) -> Result<Made, String> {
    let text = if hold { "true" } else { "" };
    let is_meant = |item: Item| only.is_none_or(|only| *only == item);
    let set =
        |table: &'static str, id: &Id| Change::Set { table, id: id.to_string(), key: ("hold", Written::Flag), value: text.to_owned() };
    let switches = now
        .wiring
        .switches
        .iter()
        .filter(|(id, switch)| switch.hold != hold && is_meant(Item::Switch((*id).clone())))
        .map(|(id, _)| set("switch", id));
    let cables = now
        .wiring
        .cables
        .iter()
        .filter(|(id, cable)| cable.hold != hold && is_meant(Item::Cable((*id).clone())))
        .map(|(id, _)| set("cable", id));
    let changes: Vec<Change> = switches.chain(cables).collect();
    apply(&now.texts, now.names(), &changes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_begin_and_end() {
        for (text, whole) in
            [("add a key", "Add a key."), ("did you mean `gear`?", "Did you mean `gear`?"), ("", ""), ("`x` is one", "`x` is one.")]
        {
            assert_eq!(sentence(text), whole);
        }
    }

    #[test]
    fn what_people_type_becomes_what_the_file_takes() {
        for (text, written, expected) in [
            (" Desk ", Written::Text, Some(Value::from("Desk"))),
            ("", Written::Text, None),
            ("16", Written::Number, Some(Value::Whole(16))),
            ("a, b;c,", Written::Names, Some(Value::texts(["a", "b", "c"]))),
            ("a", Written::NameOrNames, Some(Value::from("a"))),
            ("a, b", Written::NameOrNames, Some(Value::texts(["a", "b"]))),
            ("\u{2212}9, 2.5 m", Written::Position, Some(Value::List(vec![Value::Decimal(-9.0), Value::Decimal(2.5)]))),
            ("false", Written::Flag, None),
            ("true", Written::Flag, Some(Value::Flag(true))),
        ] {
            assert_eq!(value_of(text, written, "key"), Ok(expected), "{text:?}");
        }
        for (text, written) in [("many", Written::Number), ("here", Written::Position), ("1, NaN", Written::Position)] {
            assert!(value_of(text, written, "key").is_err_and(|words| words.contains("key")), "{text}");
        }
    }
}
