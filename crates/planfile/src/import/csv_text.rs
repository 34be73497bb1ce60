//! Rows from a CSV text.

use super::sheet::{SheetRow, problem};
use crate::problem::{Problem, floor_boundary};

/// The rows of a CSV file, and what was decided about its letters and separator.
pub(super) fn rows(bytes: &[u8], file_name: &str) -> Result<(Vec<SheetRow>, Vec<String>), Problem> {
    let (text, note) = decoded(bytes).ok_or_else(|| {
        let help = "save the list as XLSX, ODS or CSV and try that file";
        problem(file_name, "list/unreadable", "this is neither a spreadsheet nor a text".to_owned(), help)
    })?;
    let (separator, text) = separator(&text);
    Ok((records(text, separator, usize::MAX), note.into_iter().collect()))
}

/// The text, and a note where its letters had to be assumed. `None` for bytes that are no text.
fn decoded(bytes: &[u8]) -> Option<(String, Option<String>)> {
    let utf16 = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]])).collect();
        String::from_utf16(&units).ok().map(|text| (text, None))
    };
    match bytes {
        [0xff, 0xfe, rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => utf16(rest, u16::from_be_bytes),
        _ if bytes.contains(&0) => None,
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => Some((text.trim_start_matches('\u{feff}').to_owned(), None)),
            // Latin-1 gives every byte the code point of its value. Source: ISO/IEC 8859-1.
            Err(_) => {
                let note = "The file is not UTF-8; read as Latin-1. Check names with accents.".to_owned();
                Some((bytes.iter().map(|byte| char::from(*byte)).collect(), Some(note)))
            }
        },
    }
}

/// The separator that parts most rows into equally many cells; a first line `sep=;` settles it.
fn separator(text: &str) -> (u8, &str) {
    if let Some(rest) = text.strip_prefix("sep=")
        && let Some(first) = rest.bytes().next().filter(u8::is_ascii)
    {
        return (first, rest[1..].trim_start_matches(['\r', '\n']));
    }
    let points = |separator: u8| {
        let rows = records(text, separator, MOST_SNIFFED);
        let widths: Vec<usize> = rows.iter().map(|row| row.cells.len()).filter(|width| *width > 1).collect();
        let usual = widths.iter().map(|width| (widths.iter().filter(|other| *other == width).count(), *width)).max();
        usual.unwrap_or_default()
    };
    let best = [b',', b';', b'\t'].into_iter().rev().max_by_key(|separator| points(*separator));
    (best.unwrap_or(b','), text)
}

/// Rows looked at to find the separator. Own choice.
const MOST_SNIFFED: usize = 50;

/// At most `most` rows.
fn records(text: &str, separator: u8, most: usize) -> Vec<SheetRow> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).delimiter(separator).from_reader(text.as_bytes());
    let (mut seen, mut line) = (0, 1);
    let mut rows = Vec::new();
    for record in reader.records().filter_map(Result::ok).take(most) {
        let start = record.position().map_or(seen, |position| usize::try_from(position.byte()).unwrap_or(usize::MAX));
        let start = floor_boundary(text, start).max(seen);
        // The position may lie before blank lines that are skipped.
        let start = start + (text[start..].len() - text[start..].trim_start_matches(['\r', '\n']).len());
        line += text[seen..start].matches('\n').count();
        seen = start;
        let cells = record.iter().map(|cell| cell.trim().to_owned()).collect();
        rows.push(SheetRow { number: u32::try_from(line).unwrap_or(u32::MAX), cells });
    }
    rows
}
