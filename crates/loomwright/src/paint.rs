//! Colours. They only repeat what the words say.

use anstyle::{AnsiColor, Style};
use std::fmt::Display;

/// What stops the show.
pub const STOP: Style = AnsiColor::Red.on_default().bold();
/// What is a risk.
pub const WARN: Style = AnsiColor::Yellow.on_default().bold();
/// What is good to know.
pub const NOTE: Style = AnsiColor::Cyan.on_default().bold();
/// What is well.
pub const READY: Style = AnsiColor::Green.on_default().bold();
/// Headings.
pub const STRONG: Style = Style::new().bold();

/// `text` in a style.
pub fn paint(style: Style, text: impl Display) -> String {
    format!("{style}{text}{style:#}")
}
