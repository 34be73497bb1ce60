//! A table as data: built once, printed by every format.

use std::collections::BTreeMap;

/// How a column is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// A name that people look for: bold and larger.
    Name,
    /// Words.
    Text,
    /// A figure, set to the right.
    Figure,
    /// A box to tick by hand.
    Tick,
    /// Room to write by hand.
    Write,
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its heading.
    pub head: String,
    /// How it is shown.
    pub role: Role,
}

impl Column {
    /// From heading and role.
    pub fn new(head: impl Into<String>, role: Role) -> Self {
        Self { head: head.into(), role }
    }
}

/// One cell: what people read, and the bare number for spreadsheets where there is one.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cell {
    /// As printed.
    pub text: String,
    /// The figure alone, in the unit of the column's heading or of the text.
    pub number: Option<f64>,
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self { text, number: None }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self { text: text.to_owned(), number: None }
    }
}

impl Cell {
    /// A whole number.
    pub fn count(value: impl Into<u64>) -> Self {
        let value = value.into();
        Self { text: value.to_string(), number: Some(value as f64) }
    }
}

/// One row; as many cells as the table has columns.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Its cells.
    pub cells: Vec<Cell>,
    /// Whether it stands out: something to act on.
    pub is_strong: bool,
    /// Whether paper may show a run of such rows as one, where they differ only in their first shown cell.
    pub folds: bool,
}

impl Row {
    /// From its cells.
    pub fn new(cells: Vec<Cell>) -> Self {
        Self { cells, is_strong: false, folds: false }
    }
}

/// Which table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// What the proof found.
    Findings,
    /// Every cable, by place and walking order.
    Cables,
    /// Every port of every switch.
    Ports,
    /// Every interface with its address.
    Addresses,
    /// Every stream at every receiver.
    Streams,
    /// Where each stream's delay goes, hop by hop.
    Delay,
    /// Multicast groups.
    Groups,
    /// What falls silent when something fails.
    Failures,
    /// What to take along.
    Packing,
    /// Which piece or reel each cable comes from, and what to buy.
    Stock,
    /// Draw of feeds and of power over Ethernet.
    Power,
}

impl Kind {
    /// Every table, in the order of the document.
    pub const ALL: [Self; 11] = [
        Self::Findings,
        Self::Cables,
        Self::Ports,
        Self::Addresses,
        Self::Streams,
        Self::Delay,
        Self::Groups,
        Self::Failures,
        Self::Packing,
        Self::Stock,
        Self::Power,
    ];

    /// Its name on the sheet.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Findings => "Findings",
            Self::Cables => "Cable schedule",
            Self::Ports => "Port maps",
            Self::Addresses => "Addresses",
            Self::Streams => "Streams",
            Self::Delay => "Delay hop by hop",
            Self::Groups => "Multicast groups",
            Self::Failures => "What falls silent",
            Self::Packing => "Packing list",
            Self::Stock => "Cables from stock",
            Self::Power => "Power",
        }
    }

    /// Its name in a file name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Findings => "findings",
            Self::Cables => "cables",
            Self::Ports => "ports",
            Self::Addresses => "addresses",
            Self::Streams => "streams",
            Self::Delay => "delay",
            Self::Groups => "groups",
            Self::Failures => "failures",
            Self::Packing => "packing",
            Self::Stock => "stock",
            Self::Power => "power",
        }
    }
}

/// A whole table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Which it is.
    pub kind: Kind,
    /// What to know before reading it; one or more sentences.
    pub note: String,
    /// Safety words that belong on its sheet.
    pub cautions: Vec<&'static str>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// The column that groups rows: printed as a heading where its value changes.
    pub grouped_by: Option<usize>,
    /// Whether a group that fits on one page is kept on one.
    pub keeps_groups: bool,
    /// Units of columns whose cells have numbers, by column.
    pub units: BTreeMap<usize, &'static str>,
    /// Its rows.
    pub rows: Vec<Row>,
}

impl Table {
    /// An empty table of `kind`.
    pub fn new(kind: Kind, columns: Vec<Column>) -> Self {
        Self {
            kind,
            note: String::new(),
            cautions: Vec::new(),
            columns,
            grouped_by: None,
            keeps_groups: false,
            units: BTreeMap::new(),
            rows: Vec::new(),
        }
    }
}

/// Columns from headings and roles.
pub(crate) fn columns<const N: usize>(heads: [(&str, Role); N]) -> Vec<Column> {
    heads.into_iter().map(|(head, role)| Column::new(head, role)).collect()
}
