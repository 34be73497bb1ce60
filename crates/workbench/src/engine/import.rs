//! Bringing in a gear list: what every row would become, and the edit that makes it so.

use super::Proved;
use super::change::{in_words, sentence};
use crate::store::{Made, Texts};
use loomwright_model::Plan;
use loomwright_planfile::Source;
use loomwright_planfile::edit::apply;
use loomwright_planfile::import::{Outcome, Preview, Sheet, map_columns, preview, read_list, to_edits};

/// One row of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListRow {
    /// Its number as a spreadsheet shows it.
    pub number: u32,
    /// What it becomes, or why it becomes nothing.
    pub says: String,
    /// Whether it becomes something.
    pub is_read: bool,
    /// What to check.
    pub notes: Vec<String>,
}

/// A list as it would be brought in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct List {
    /// The list as text, cells parted by tabs, to be changed by hand and read again.
    pub text: String,
    /// What concerns it as a whole.
    pub notes: Vec<String>,
    /// Every row.
    pub rows: Vec<ListRow>,
    /// Devices it would add.
    pub devices: usize,
}

/// Reads a list.
///
/// **Errors**: why it is not a list, in words.
pub fn list(plan: &Plan, bytes: &[u8], name: &str) -> Result<List, String> {
    let (sheet, seen) = looked_at(plan, bytes, name)?;
    let rows = seen.rows.iter().map(|row| {
        let (says, is_read) = match &row.outcome {
            Outcome::Devices(devices) => (
                devices.iter().map(|device| format!("{}: {} at {}", device.id, device.gear, device.place)).collect::<Vec<_>>().join("; "),
                true,
            ),
            Outcome::Switches { gear, count } => (format!("{count} of {gear} into the truck"), true),
            Outcome::Unread(reason) => (reason.clone(), false),
        };
        ListRow { number: row.number, says, is_read, notes: row.notes.clone() }
    });
    Ok(List { text: as_text(&sheet), notes: seen.notes.clone(), devices: seen.device_count(), rows: rows.collect() })
}

/// Brings a list in.
///
/// **Errors**: why it cannot be, in words.
pub fn bring_in(now: &Proved, text: &str) -> Result<Made, String> {
    let Some(plan) = &now.plan else { return Err("The plan file has errors. Repair them first; nothing was brought in.".to_owned()) };
    let (_, seen) = looked_at(plan, text.as_bytes(), "list.tsv")?;
    let [plan_name, wiring_name] = now.names();
    let plan = Source { name: plan_name, text: &now.texts.plan };
    let wiring = now.texts.wiring.as_deref().map(|text| Source { name: wiring_name, text });
    let edited = apply(plan, wiring, &to_edits(&seen)).map_err(|refused| in_words(&refused.problems))?;
    let unread = seen.unread().count();
    let also = if unread == 0 { String::new() } else { format!("{unread} rows were left out") };
    Ok(Made { texts: Texts { plan: edited.texts.plan, wiring: edited.texts.wiring }, also })
}

fn looked_at(plan: &Plan, bytes: &[u8], name: &str) -> Result<(Sheet, Preview), String> {
    let sheet = read_list(bytes, name).map_err(|problem| format!("{} {}", sentence(&problem.message), sentence(&problem.help)))?;
    let seen = preview(&sheet, &map_columns(&sheet), plan);
    Ok((sheet, seen))
}

fn as_text(sheet: &Sheet) -> String {
    let line = |cells: &[String]| cells.iter().map(|cell| cell.replace(['\t', '\n', '\r'], " ")).collect::<Vec<_>>().join("\t");
    std::iter::once(line(&sheet.header)).chain(sheet.rows.iter().map(|row| line(&row.cells))).collect::<Vec<_>>().join("\n")
}
