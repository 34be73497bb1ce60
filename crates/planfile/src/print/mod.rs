//! Writes plan and wiring in one canonical form: same value, same bytes.

mod exact;
mod plan;
mod wiring;

pub use plan::write_plan;
pub use wiring::write_wiring;

pub(crate) use exact::Exact;
pub(crate) use wiring::{HEAD, Table, tables};

use std::fmt::Write as _;

/// A text that grows table by table.
#[derive(Default)]
pub(crate) struct Page {
    pub(crate) text: String,
}

impl Page {
    /// A blank line and a header.
    pub(crate) fn header(&mut self, path: &[&str]) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        let path: Vec<String> = path.iter().map(|name| key(name)).collect();
        let _ = writeln!(self.text, "[{}]", path.join("."));
    }

    /// A key and a value that is already in its written form.
    pub(crate) fn raw(&mut self, name: &str, value: impl std::fmt::Display) {
        let _ = writeln!(self.text, "{} = {value}", key(name));
    }

    /// A key and a text in quotes.
    pub(crate) fn text(&mut self, name: &str, value: impl std::fmt::Display) {
        self.raw(name, quoted(&value.to_string()));
    }

    /// A key and a quantity with its unit, if there is one.
    pub(crate) fn quantity<T: Exact>(&mut self, name: &str, value: Option<T>) {
        if let Some(value) = value {
            self.text(name, value.exact());
        }
    }

    /// A key and a list of names, unless it is empty.
    pub(crate) fn names<T: AsRef<str>>(&mut self, name: &str, values: &[T]) {
        if !values.is_empty() {
            self.raw(name, list(values));
        }
    }

    /// A key that is only written when true.
    pub(crate) fn flag(&mut self, name: &str, value: bool) {
        if value {
            self.raw(name, "true");
        }
    }
}

/// Names as a list.
pub(crate) fn list<T: AsRef<str>>(values: &[T]) -> String {
    let items: Vec<String> = values.iter().map(|value| quoted(value.as_ref())).collect();
    format!("[{}]", items.join(", "))
}

/// A key: bare where the grammar allows, else in quotes.
pub(crate) fn key(name: &str) -> String {
    let is_bare = !name.is_empty() && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'));
    if is_bare { name.to_owned() } else { quoted(name) }
}

/// A text in quotes.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            '\r' => out.push_str("\\r"),
            c if c.is_control() => drop(write!(out, "\\u{:04X}", u32::from(c))),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
