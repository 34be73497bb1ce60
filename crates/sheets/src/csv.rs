//! Tables as CSV (RFC 4180), safe to open in a spreadsheet.

use crate::table::Table;

/// One table as CSV with a heading row; lines end with CR LF.
pub(crate) fn bytes(table: &Table) -> Vec<u8> {
    let mut out = String::new();
    let heads: Vec<String> = table.columns.iter().map(|column| field(&column.head)).collect();
    out += &heads.join(",");
    out += "\r\n";
    for row in &table.rows {
        let cells: Vec<String> = row.cells.iter().map(|cell| field(&cell.text)).collect();
        out += &cells.join(",");
        out += "\r\n";
    }
    out.into_bytes()
}

/// Quoted where RFC 4180 asks for it. A text that a spreadsheet would run as a formula gets an apostrophe
/// in front, which spreadsheets show as text.
fn field(text: &str) -> String {
    let is_formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let safe = if is_formula { format!("'{text}") } else { text.to_owned() };
    if safe.contains([',', '"', '\n', '\r']) { format!("\"{}\"", safe.replace('"', "\"\"")) } else { safe }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_become_text_and_quotes_are_doubled() {
        for (text, wanted) in [
            ("=1+1", "'=1+1"),
            ("+44 1", "'+44 1"),
            ("-5", "'-5"),
            ("@sum", "'@sum"),
            ("=a,b", "\"'=a,b\""),
            ("say \"hi\"", "\"say \"\"hi\"\"\""),
            ("A-001", "A-001"),
        ] {
            assert_eq!(field(text), wanted);
        }
    }
}
