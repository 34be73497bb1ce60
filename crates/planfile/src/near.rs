//! The near miss: what somebody probably meant.

/// The known word closest to `found`, if it is close enough to be a slip of the hand.
///
/// Close enough: at most one edit in three characters, capitals aside. Own choice: short names give no
/// false guesses, long ones forgive a swapped pair.
pub(crate) fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let found: Vec<char> = found.to_lowercase().chars().collect();
    let most = found.len() / 3;
    let ranked = known.into_iter().map(|word| (distance(&found, &word.to_lowercase().chars().collect::<Vec<_>>(), most), word));
    ranked.filter(|(edits, _)| *edits <= most).min_by_key(|(edits, word)| (*edits, word.len(), *word)).map(|(_, word)| word)
}

/// Edits (insert, delete, replace, swap of neighbours) between two words; `most + 1` once it is more.
fn distance(a: &[char], b: &[char], most: usize) -> usize {
    if a.len().abs_diff(b.len()) > most {
        return most + 1;
    }
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replaced = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replaced.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

/// The names as a list for people, cut after `most`.
pub(crate) fn listed<'a>(names: impl IntoIterator<Item = &'a str>, most: usize) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    let shown = names.iter().take(most).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    match names.len().saturating_sub(most) {
        0 => shown,
        rest => format!("{shown} and {rest} more"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_slips_and_nothing_else() {
        for (found, expected) in [
            ("portz", Some("ports")),
            ("palce", Some("place")),
            ("FOH-desk", Some("foh-desk")),
            ("bühne-link", Some("bühne-links")),
            ("xyz", None),
            ("z", None),
            ("A", Some("a")),
            ("", None),
        ] {
            assert_eq!(nearest(found, ["ports", "place", "foh-desk", "bühne-links", "a"]), expected, "{found}");
        }
    }
}
