//! Where in a file something was written.

use crate::item::Item;

/// A place in a file. **Range**: line and column from 1; column counts characters.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct Location {
    /// File name as the person gave it.
    pub file: String,
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1.
    pub column: u32,
}

/// Knows where items were written. The file reader implements it; an analysis asks only for what it reports.
pub trait Locate {
    /// Where `item` (or one `key` of it) was written; `None` if it was not read from a file.
    fn locate(&self, item: &Item, key: Option<&str>) -> Option<Location>;
}

/// For plans that did not come from a file.
#[derive(Debug, Clone, Copy, Default)]
pub struct Nowhere;

impl Locate for Nowhere {
    fn locate(&self, _: &Item, _: Option<&str>) -> Option<Location> {
        None
    }
}
