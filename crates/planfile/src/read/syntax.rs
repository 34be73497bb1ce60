//! Says in plain words what the grammar of the file did not allow.

use crate::log::{File, Raw};
use crate::problem::LineIndex;
use toml::de::Error;

/// The grammar errors of a file: one a line, since the rest of a line only follows from the first.
pub(super) fn problems(file: File, text: &str, errors: &[Error]) -> Vec<Raw> {
    let index = LineIndex::of(text);
    let mut found: Vec<Raw> = errors.iter().map(|error| problem(file, text, error)).collect();
    found.sort_by_key(|raw| (raw.span.start, raw.span.end));
    found.dedup_by_key(|raw| index.line(raw.span.start));
    without_followers(text, found)
}

/// Where a whole table stands twice, its header is told, not each of its keys.
fn without_followers(text: &str, found: Vec<Raw>) -> Vec<Raw> {
    let mut kept: Vec<Raw> = Vec::new();
    let mut inside = None;
    for raw in found {
        let line = text[..raw.span.start].rfind('\n').map_or(0, |newline| newline + 1);
        let next_header = text[line..].find("\n[").map_or(text.len(), |n| line + n);
        match inside {
            Some(until) if raw.code == "plan/duplicate-key" && raw.span.start < until => continue,
            _ => inside = (raw.code == "plan/duplicate-key" && text[line..].starts_with('[')).then_some(next_header),
        }
        kept.push(raw);
    }
    kept
}

fn problem(file: File, text: &str, error: &Error) -> Raw {
    let span = error.span().unwrap_or(text.len()..text.len());
    if error.message().starts_with("duplicate key") {
        let name = text.get(span.clone()).unwrap_or_default();
        let message = format!("`{name}` stands here a second time");
        let help = "rename one of the two, or join them under one header";
        return Raw { file, span, code: "plan/duplicate-key", message, help: help.to_owned() };
    }
    let help = help_for(error.message(), text.get(span.clone()).unwrap_or_default());
    Raw { file, span, code: "plan/syntax", message: error.message().to_owned(), help }
}

/// Messages of the parser and what to do about them.
const HELP: &[(&str, &str)] = &[
    ("invalid unquoted key", "put a name with other letters, dots or spaces in quotes: `[device.\"Bühne\"]`"),
    ("string values must be quoted", "put the value in quotes, for example \"24 m\""),
    ("unclosed table", "close the header with `]`"),
    ("unclosed array", "close the list with `]`"),
    ("unclosed inline table", "close it with `}`"),
    ("missing comma", "put a comma between the items, or close the list with `]` before this line"),
    ("invalid basic string", "close the text with `\"`"),
    ("invalid literal string", "close the text with `'`"),
    ("missing assignment", "write a key, `=` and a value: `place = \"foh\"`"),
    ("key with no value", "write a key, `=` and a value: `place = \"foh\"`"),
    ("extra", "end the line here, or put the rest behind `#` as a comment"),
    ("unexpected key or value", "start a new line here"),
];

fn help_for(message: &str, found: &str) -> String {
    match HELP.iter().find(|(start, _)| message.starts_with(start)) {
        Some((_, help)) => (*help).to_owned(),
        None if found.is_empty() => "look at this line and the one before it".to_owned(),
        None => format!("look at `{}` and the line before it", found.lines().next().unwrap_or_default()),
    }
}
