//! Columns that line up.

use crate::paint::{self, paint};
use std::fmt::Write;

/// Space between columns.
const GAP: &str = "  ";

/// On which side a column lines up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// A table with a heading. Widths count characters.
pub struct Table {
    columns: Vec<(&'static str, Side)>,
    rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table.
    pub fn new(columns: &[(&'static str, Side)]) -> Self {
        Self { columns: columns.to_vec(), rows: Vec::new() }
    }

    /// Adds a row, one cell for each column.
    pub fn row(&mut self, cells: impl IntoIterator<Item = impl Into<String>>) {
        self.rows.push(cells.into_iter().map(Into::into).collect());
    }

    /// The table as text, each line indented by two.
    pub fn text(&self) -> String {
        let widths: Vec<usize> = (0..self.columns.len()).map(|column| self.width(column)).collect();
        let mut text = String::new();
        let heading: Vec<String> = self.columns.iter().map(|(name, _)| (*name).to_owned()).collect();
        if self.columns.iter().any(|(name, _)| !name.is_empty()) {
            let line = self.line(&heading, &widths);
            let _ = writeln!(text, "{}", paint(paint::STRONG, line));
        }
        for row in &self.rows {
            let _ = writeln!(text, "{}", self.line(row, &widths));
        }
        text
    }

    fn width(&self, column: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count());
        cells.chain([self.columns[column].0.chars().count()]).max().unwrap_or(0)
    }

    fn line(&self, cells: &[String], widths: &[usize]) -> String {
        let mut line = String::new();
        for ((cell, (_, side)), width) in cells.iter().zip(&self.columns).zip(widths) {
            let space = " ".repeat(width.saturating_sub(cell.chars().count()));
            let (before, after) = if *side == Side::Right { (space.as_str(), "") } else { ("", space.as_str()) };
            let _ = write!(line, "{GAP}{before}{cell}{after}");
        }
        line.trim_end().to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_up_any_script() {
        let mut table = Table::new(&[("", Side::Left), ("", Side::Right)]);
        table.row(["Bühne", "7 us"]);
        table.row(["foh", "120 us"]);
        assert_eq!(table.text(), "  Bühne    7 us\n  foh    120 us\n");
    }
}
