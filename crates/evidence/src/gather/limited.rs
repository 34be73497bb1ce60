//! A table with a limit, so that no capture can fill the memory.

use indexmap::IndexMap;
use rustc_hash::FxBuildHasher;
use std::hash::Hash;

/// Keeps the first so many different keys, in the order they came, and counts what it had to leave out.
#[derive(Clone)]
pub struct Limited<K, V> {
    rows: IndexMap<K, V, FxBuildHasher>,
    most: usize,
    /// Additions under keys that found no room.
    pub left_out: u64,
}

impl<K: Hash + Eq, V> Limited<K, V> {
    /// Keeps `most` keys.
    pub fn new(most: usize) -> Self {
        Self { rows: IndexMap::with_hasher(FxBuildHasher), most, left_out: 0 }
    }

    /// The row of `key`, made if there is room.
    #[inline]
    pub fn get_or(&mut self, key: K, make: impl FnOnce() -> V) -> Option<&mut V> {
        if self.rows.len() >= self.most && !self.rows.contains_key(&key) {
            self.left_out = self.left_out.saturating_add(1);
            return None;
        }
        Some(self.rows.entry(key).or_insert_with(make))
    }

    /// All rows with their keys, in the order they came.
    pub fn into_rows(self) -> impl Iterator<Item = (K, V)> {
        self.rows.into_iter()
    }

    /// All rows, in the order they came.
    pub fn into_values(self) -> impl Iterator<Item = V> {
        self.rows.into_values()
    }
}
