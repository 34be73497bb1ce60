//! Paths of one machine have no place in the project.

use super::Fault;
use super::sources::files_under;
use std::path::Path;

/// Folders of one machine; joined here so that this file does not name them itself.
const PLACES: &[&str] = &[concat!("/wo", "rk/"), concat!("/ro", "ot/"), concat!("/ho", "me/")];

/// Every absolute path of a particular machine in a text file.
pub fn faults(root: &Path) -> Vec<Fault> {
    let mut faults = Vec::new();
    for file in files_under(root).unwrap_or_default() {
        let Ok(text) = std::fs::read_to_string(&file) else { continue };
        let at = file.strip_prefix(root).unwrap_or(&file).to_string_lossy().into_owned();
        let lines = text.lines().enumerate().filter_map(|(n, line)| named_place(line).map(|place| (n + 1, place)));
        faults.extend(lines.map(|(line, place)| Fault::new(format!("{at}:{line}"), format!("`{place}` is a path of one machine"))));
    }
    faults
}

fn named_place(line: &str) -> Option<&'static str> {
    PLACES.iter().copied().find(|place| {
        line.match_indices(place).any(|(at, _)| {
            let before = line[..at].chars().next_back();
            !before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '.' | '-' | '_' | '/' | '}' | '~'))
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sees_absolute_paths_only() {
        for (line, seen) in [
            (format!("cp a {}b", PLACES[0]), true),
            (format!("\"{}b\"", PLACES[1]), true),
            (format!("https://example.org{}b", PLACES[0]), false),
            ("a plain line".to_owned(), false),
        ] {
            assert_eq!(named_place(&line).is_some(), seen, "{line}");
        }
    }
}
