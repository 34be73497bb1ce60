//! A list as rows of texts, whatever file it came from.

use super::columns::score;
use super::csv_text;
use crate::problem::Problem;
use crate::read::LARGEST;
use calamine::{Data, Reader, Sheets, open_workbook_auto_from_rs};
use std::io::Cursor;

/// A list with its header.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// The names of the columns as written.
    pub header: Vec<String>,
    /// The row of the header, from 1.
    pub header_row: u32,
    /// The rows below it.
    pub rows: Vec<SheetRow>,
    /// What was decided while reading, for the person to check.
    pub notes: Vec<String>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRow {
    /// Its number as a spreadsheet shows it, from 1.
    pub number: u32,
    /// Its cells as texts without white space at the ends; empty cells are empty texts.
    pub cells: Vec<String>,
}

/// Most rows above the header, such as a title and a date. Own choice.
const MOST_ROWS_ABOVE: usize = 20;

/// Reads a list: CSV (comma, semicolon or tab; UTF-8, UTF-16 or Latin-1), XLSX or ODS, told apart by content.
///
/// **Errors**: a file that is empty, too large, none of these, or has no row at all.
pub fn read_list(bytes: &[u8], file_name: &str) -> Result<Sheet, Problem> {
    if bytes.len() > LARGEST {
        let message = format!("the file has {} bytes, more than the {LARGEST} that are read", bytes.len());
        return Err(problem(file_name, "list/too-large", message, "check that this is the right file"));
    }
    let is_workbook = bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0");
    let (rows, notes) = if is_workbook { workbook(bytes, file_name)? } else { csv_text::rows(bytes, file_name)? };
    with_header(rows, notes).ok_or_else(|| {
        problem(file_name, "list/empty", "there is no row in this list".to_owned(), "give a list with one row for each device")
    })
}

pub(super) fn problem(file: &str, code: &'static str, message: String, help: &str) -> Problem {
    Problem { code, file: file.to_owned(), span: 0..0, line: 1, column: 1, message, help: help.to_owned() }
}

/// The row with the most known column names near the top is the header; without any, the first row.
fn with_header(mut rows: Vec<SheetRow>, notes: Vec<String>) -> Option<Sheet> {
    rows.retain(|row| row.cells.iter().any(|cell| !cell.is_empty()));
    let near_top = rows.iter().take(MOST_ROWS_ABOVE).enumerate();
    let best = near_top.max_by_key(|(n, row)| (score(&row.cells), std::cmp::Reverse(*n)))?.0;
    let header = rows[best].clone();
    let rows = rows.split_off(best + 1);
    Some(Sheet { header: header.cells, header_row: header.number, rows, notes })
}

fn workbook(bytes: &[u8], file_name: &str) -> Result<(Vec<SheetRow>, Vec<String>), Problem> {
    let unreadable =
        |reason: String| problem(file_name, "list/unreadable", reason, "save the list again as XLSX, ODS or CSV and try that file");
    let mut book: Sheets<Cursor<&[u8]>> =
        open_workbook_auto_from_rs(Cursor::new(bytes)).map_err(|_| unreadable("this is not a spreadsheet that can be read".to_owned()))?;
    let mut best: Option<(usize, String, Vec<SheetRow>)> = None;
    let names = book.sheet_names();
    for name in &names {
        let range = book.worksheet_range(name).map_err(|error| unreadable(format!("sheet `{name}` cannot be read: {error}")))?;
        let rows = rows_of(&range);
        let points =
            rows.iter().take(MOST_ROWS_ABOVE).map(|row| score(&row.cells)).max().unwrap_or_default() + usize::from(!rows.is_empty());
        if best.as_ref().is_none_or(|(held, ..)| points > *held) {
            best = Some((points, name.clone(), rows));
        }
    }
    let Some((_, name, rows)) = best else { return Err(unreadable("this spreadsheet has no sheet".to_owned())) };
    let others: Vec<String> = names.iter().filter(|other| **other != name).map(|other| format!("`{other}`")).collect();
    let note = format!("Read from sheet `{name}`; not read: {}.", others.join(", "));
    Ok((rows, if others.is_empty() { Vec::new() } else { vec![note] }))
}

fn rows_of(range: &calamine::Range<Data>) -> Vec<SheetRow> {
    let (first_row, first_column) = range.start().unwrap_or_default();
    let row = |(n, cells): (usize, &[Data])| SheetRow {
        number: first_row.saturating_add(u32::try_from(n).unwrap_or(u32::MAX)).saturating_add(1),
        cells: (0..first_column).map(|_| String::new()).chain(cells.iter().map(cell_text)).collect(),
    };
    range.rows().enumerate().map(row).collect()
}

/// Whole numbers without a point, everything else as the spreadsheet means it.
fn cell_text(cell: &Data) -> String {
    match cell {
        Data::Empty => String::new(),
        Data::Float(number) if number.fract() == 0.0 && number.abs() < 1e15 => format!("{number:.0}"),
        other => other.to_string().trim().to_owned(),
    }
}
