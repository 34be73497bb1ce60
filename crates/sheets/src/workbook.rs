//! All tables as one XLSX workbook.

use crate::table::{Cell, Column, Role, Table};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError};

/// Most width of a column, digits; longer texts wrap.
const MOST_WIDE: usize = 60;
/// Least width of a column, digits.
const LEAST_WIDE: usize = 6;

/// What stands in the file's properties.
pub(crate) struct About {
    pub(crate) title: String,
    pub(crate) author: String,
    /// Year, month, day.
    pub(crate) date: (u16, u8, u8),
    /// Printed at the foot of every sheet.
    pub(crate) foot: String,
}

/// Writes `tables` as one workbook: frozen head, filter, heads on every printed page.
///
/// **Errors**: what the writer refuses, as a sentence.
pub(crate) fn bytes(tables: &[Table], about: &About) -> Result<Vec<u8>, String> {
    write(tables, about).map_err(|error| error.to_string())
}

fn write(tables: &[Table], about: &About) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let (year, month, day) = about.date;
    let created = ExcelDateTime::from_ymd(year, month, day)?;
    let properties = DocProperties::new().set_title(&about.title).set_author(&about.author).set_creation_datetime(&created);
    book.set_properties(&properties);
    for table in tables {
        let sheet = book.add_worksheet();
        fill(sheet, table)?;
        set_up(sheet, table, about)?;
    }
    book.save_to_buffer()
}

fn fill(sheet: &mut Worksheet, table: &Table) -> Result<(), XlsxError> {
    sheet.set_name(table.kind.title())?;
    let head = Format::new().set_bold().set_text_wrap().set_border_bottom(FormatBorder::Medium).set_align(FormatAlign::Top);
    for (n, column) in (0..).zip(&table.columns) {
        sheet.write_string_with_format(0, n, heading(table, n, column), &head)?;
    }
    let strong = Format::new().set_bold().set_align(FormatAlign::Top);
    let plain = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    for (r, row) in (1..).zip(&table.rows) {
        for ((c, cell), column) in (0..).zip(&row.cells).zip(&table.columns) {
            let format = if column.role == Role::Name { &strong } else { &plain };
            put(sheet, (r, c), (cell, format))?;
        }
    }
    Ok(())
}

/// Numbers as numbers, so that they can be sorted and added up; all else as text, never as a formula.
fn put(sheet: &mut Worksheet, (row, column): (u32, u16), (cell, format): (&Cell, &Format)) -> Result<(), XlsxError> {
    match cell.number {
        Some(number) => sheet.write_number_with_format(row, column, number, format)?,
        None if cell.text.is_empty() => return Ok(()),
        None => sheet.write_string_with_format(row, column, &cell.text, format)?,
    };
    Ok(())
}

/// The heading, with the unit of the numbers below it.
fn heading(table: &Table, n: u16, column: &Column) -> String {
    let unit = table.units.get(&usize::from(n));
    unit.map_or_else(|| column.head.clone(), |unit| format!("{} [{unit}]", column.head))
}

fn set_up(sheet: &mut Worksheet, table: &Table, about: &About) -> Result<(), XlsxError> {
    let last_column = u16::try_from(table.columns.len().saturating_sub(1)).unwrap_or(u16::MAX);
    let last_row = u32::try_from(table.rows.len()).unwrap_or(u32::MAX);
    sheet.set_freeze_panes(1, 0)?;
    sheet.autofilter(0, 0, last_row, last_column)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape().set_paper_size(9).set_print_fit_to_pages(1, 0);
    sheet.set_footer(format!("&L{}&C{}&RPage &P of &N", doubled(&about.foot), doubled(crate::cautions::STANDING)));
    for (n, column) in (0..).zip(&table.columns) {
        let cells = table.rows.iter().filter_map(|row| row.cells.get(usize::from(n))).map(|cell| cell.text.chars().count());
        let widest = cells.max().unwrap_or(0).max(column.head.chars().count().min(14)) + 2;
        sheet.set_column_width(n, widest.clamp(LEAST_WIDE, MOST_WIDE) as f64)?;
    }
    Ok(())
}

/// A sign that means something in page footers is doubled.
fn doubled(text: &str) -> String {
    text.replace('&', "&&")
}
