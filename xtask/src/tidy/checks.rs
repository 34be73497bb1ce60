//! Every outside value says where it is from and how far it can be trusted.

use super::Fault;
use super::sources::files_under;
use std::path::Path;

/// Rows of `checks/*.csv` without source or confidence.
pub fn faults(root: &Path) -> Vec<Fault> {
    let mut faults = Vec::new();
    for file in files_under(&root.join("checks")).unwrap_or_default() {
        if file.extension().is_some_and(|end| end == "csv") {
            let at = file.strip_prefix(root).unwrap_or(&file).to_string_lossy().into_owned();
            match std::fs::read_to_string(&file) {
                Ok(text) => faults.extend(row_faults(&text).into_iter().map(|(line, says)| Fault::new(format!("{at}:{line}"), says))),
                Err(error) => faults.push(Fault::new(at, error.to_string())),
            }
        }
    }
    faults
}

fn row_faults(text: &str) -> Vec<(u64, String)> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).flexible(true).from_reader(text.as_bytes());
    let columns = reader.headers().cloned().unwrap_or_default();
    let mut faults = Vec::new();
    let wanted: Vec<(&str, Option<usize>)> =
        ["source", "confidence"].map(|name| (name, columns.iter().position(|column| column == name))).to_vec();
    for (name, _) in wanted.iter().filter(|(_, column)| column.is_none()) {
        faults.push((1, format!("no column `{name}`")));
    }
    for row in reader.records() {
        match row {
            Ok(row) => {
                let line = row.position().map_or(0, csv::Position::line);
                let missing =
                    wanted.iter().filter(|(_, column)| column.is_some_and(|at| row.get(at).unwrap_or_default().trim().is_empty()));
                faults.extend(missing.map(|(name, _)| (line, format!("a value without {name}"))));
            }
            Err(error) => faults.push((error.position().map_or(0, csv::Position::line), error.to_string())),
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wants_source_and_confidence() {
        for (text, count) in [
            ("id,source,confidence\na,RFC 768,derived\n", 0),
            ("id,source,confidence\na,,derived\nb,RFC 768\n", 2),
            ("id,expected\na,1\n", 2),
        ] {
            assert_eq!(row_faults(text).len(), count, "{text}");
        }
    }
}
