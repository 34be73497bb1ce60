//! Reads and edits plan, wiring, gear and spreadsheets, with a source span for every value.
//!
//! Bytes and texts go in, values or [`Problems`] come out; files are somebody else's business.
//! All problems of both files come in one run. Reading order: [`read()`], [`problem`], [`catalogue`],
//! [`print`], [`edit`], [`import`], [`source_map`], [`explain`].

mod check;
mod fields;
mod log;
mod near;
mod read;
mod readable;
mod references;
mod tree;

pub mod catalogue;
pub mod edit;
pub mod explain;
pub mod import;
pub mod print;
pub mod problem;
pub mod render;
pub mod source_map;

pub use catalogue::catalogue;
pub use edit::update_wiring;
pub use log::File;
pub use print::{write_plan, write_wiring};
pub use problem::{Problem, Problems};
pub use read::{Beside, LARGEST, Loaded, Source, Work, read, read_beside, read_bytes, read_bytes_beside};
pub use render::{render, render_plain};
pub use source_map::SourceMap;
