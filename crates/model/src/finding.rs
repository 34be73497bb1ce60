//! What an analysis has to say about a plan, as data.

use crate::item::Item;
use crate::source::Location;
use std::fmt;

/// How much harm a finding does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The show must not start like this.
    Stop,
    /// It may run, but a target is missed or a risk is open.
    Warn,
    /// Good to know.
    Note,
}

impl Severity {
    /// One word, for tables and for those who cannot see colour.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stop => "stop",
            Self::Warn => "warn",
            Self::Note => "note",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// One finding. The code names the trouble, not the cure, and is never reused.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Finding {
    /// `area/trouble`, for example `wiring/loop`.
    pub code: &'static str,
    /// How much harm it does.
    pub severity: Severity,
    /// The culprit first, then its accomplices.
    pub items: Vec<Item>,
    /// One plain sentence with the names from the files and the figure.
    pub says: String,
    /// The figure found, with its unit.
    pub value: Option<String>,
    /// The figure allowed, with its unit.
    pub limit: Option<String>,
    /// Where the limit comes from.
    pub source: Option<String>,
    /// What to do, as an order.
    #[serde(rename = "do")]
    pub remedy: String,
    /// Where the culprit is written.
    pub at: Option<Location>,
}

impl Finding {
    /// A finding with the parts that every one has, its code and severity first; add figures with the `with_` functions.
    pub fn new((code, severity): (&'static str, Severity), items: Vec<Item>, says: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { code, severity, items, says: says.into(), value: None, limit: None, source: None, remedy: remedy.into(), at: None }
    }

    /// Adds what was found and what is allowed.
    #[must_use]
    pub fn with_figures(mut self, value: impl fmt::Display, limit: impl fmt::Display) -> Self {
        self.value = Some(value.to_string());
        self.limit = Some(limit.to_string());
        self
    }

    /// Adds where the limit comes from.
    #[must_use]
    pub fn with_source(mut self, source: impl Into<String>) -> Self {
        self.source = Some(source.into());
        self
    }
}
