//! Lists and counts as people say them.

use std::fmt::Display;

/// How many names a sentence holds before it says "and 9 more". Own choice: a line of a terminal.
const NAMED: usize = 4;

/// `a`, `a and b`, `a, b and c`, `a, b, c, d and 9 more`.
pub(crate) fn list<T: Display>(items: impl IntoIterator<Item = T>) -> String {
    let names: Vec<String> = items.into_iter().map(|item| item.to_string()).collect();
    match names.as_slice() {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [all @ .., last] if names.len() <= NAMED + 1 => format!("{} and {last}", all.join(", ")),
        _ => format!("{} and {} more", names[..NAMED].join(", "), names.len() - NAMED),
    }
}

/// `1 stream`, `3 streams`.
pub(crate) fn count(n: usize, noun: &str) -> String {
    match n {
        1 => format!("1 {noun}"),
        _ => format!("{n} {}", plural(noun)),
    }
}

fn plural(noun: &str) -> String {
    match noun {
        _ if noun.ends_with("ch") || noun.ends_with(['s', 'x']) => format!("{noun}es"),
        _ => format!("{noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_stay_short() {
        for (n, said) in [(0, "nothing"), (1, "0"), (2, "0 and 1"), (5, "0, 1, 2, 3 and 4"), (9, "0, 1, 2, 3 and 5 more")] {
            assert_eq!(list(0..n), said);
        }
        assert_eq!(
            (count(1, "switch"), count(2, "switch"), count(0, "stream")),
            ("1 switch".into(), "2 switches".into(), "0 streams".into())
        );
    }
}
