//! What is wrong with a file, for the person who wrote it.

use std::fmt;
use std::ops::Range;

/// One thing that keeps a file from being read. Every problem is an error: nothing is guessed.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Problem {
    /// Stable name of the trouble, `plan/unknown-key`; [`crate::explain::explain`] tells more.
    pub code: &'static str,
    /// File name as the person gave it.
    pub file: String,
    /// Where, in bytes of the file.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1, in characters.
    pub column: u32,
    /// What is wrong, without full stop.
    pub message: String,
    /// What to do, as an order.
    pub help: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: error[{}]: {}; {}", self.file, self.line, self.column, self.code, self.message, self.help)
    }
}

/// Everything that is wrong, in the order of the files. **Invariant**: not empty.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
#[serde(transparent)]
pub struct Problems(Vec<Problem>);

impl Problems {
    /// Keeps a list that is not empty.
    pub fn new(list: Vec<Problem>) -> Option<Self> {
        (!list.is_empty()).then_some(Self(list))
    }

    /// As a slice.
    pub fn as_slice(&self) -> &[Problem] {
        &self.0
    }

    /// One by one.
    pub fn iter(&self) -> std::slice::Iter<'_, Problem> {
        self.0.iter()
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Self(vec![problem])
    }
}

impl<'a> IntoIterator for &'a Problems {
    type Item = &'a Problem;
    type IntoIter = std::slice::Iter<'a, Problem>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (n, problem) in self.0.iter().enumerate() {
            let newline = if n == 0 { "" } else { "\n" };
            write!(f, "{newline}{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Problems {}

/// Turns byte offsets of a text into lines and columns.
#[derive(Debug, Clone)]
pub(crate) struct LineIndex {
    starts: Vec<usize>,
}

impl LineIndex {
    pub(crate) fn of(text: &str) -> Self {
        let starts = std::iter::once(0).chain(text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(n, _)| n + 1)).collect();
        Self { starts }
    }

    /// Line number from 0 of a byte offset.
    pub(crate) fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|start| *start <= offset).saturating_sub(1)
    }

    /// Line and column from 1; the column counts characters and skips a byte-order mark.
    pub(crate) fn place(&self, text: &str, offset: usize) -> (u32, u32) {
        let offset = floor_boundary(text, offset);
        let line = self.line(offset);
        let before = &text[self.starts[line]..offset];
        let column = before.chars().filter(|c| *c != '\u{feff}').count();
        (u32::try_from(line + 1).unwrap_or(u32::MAX), u32::try_from(column + 1).unwrap_or(u32::MAX))
    }
}

/// The nearest character boundary at or before `offset`.
pub(crate) fn floor_boundary(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}
