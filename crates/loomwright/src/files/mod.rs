//! The only module that meets the disk: finding, reading, saving.

mod find;
mod read;
mod save;

pub use find::{PlanPaths, with_extension};
pub use read::bytes;
pub use save::{create_new, replace};
