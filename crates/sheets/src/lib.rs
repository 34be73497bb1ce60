//! Documents for the crew: one PDF, a PDF of labels, a workbook, CSV files and drawings. Bytes out, no files.
//!
//! Every table is built once as data ([`table::Table`]) and printed by every format.

pub mod cautions;
pub mod table;
pub mod tables;

#[cfg(test)]
use loomwright_drawing::Scene;
#[cfg(test)]
#[path = "../../drawing/src/testing.rs"]
mod testing;
