//! Takes a gear list from a spreadsheet into a plan, row by row, and guesses nothing in silence.
//!
//! [`read_list`] turns bytes into a [`Sheet`]; [`map_columns`] finds out which column means what;
//! [`preview`] says for every row what it would become or why it cannot be read; [`to_edits`] makes
//! the edits. A person looks at the preview in between.

mod columns;
mod csv_text;
mod gear_words;
mod preview;
mod row;
mod sheet;
mod slug;

pub use columns::{Field, Mapping, map_columns};
pub use preview::{NewDevice, NewPlace, Outcome, Preview, RowOutcome, preview, to_edits};
pub use sheet::{Sheet, SheetRow, read_list};

#[cfg(test)]
mod tests;
