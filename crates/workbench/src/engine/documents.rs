//! Documents for download, and the explanations of findings.

use super::Proved;

/// One document that can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// File name, which is also its address.
    pub file: String,
    /// What it is.
    pub title: &'static str,
    /// Whom it is for and what it holds.
    pub says: &'static str,
    /// Media type.
    pub kind: &'static str,
}

/// Every document of this state.
pub fn documents(_proved: &Proved) -> Vec<Document> {
    Vec::new()
}

/// The bytes of the document named `file`.
pub fn made(_proved: &Proved, _file: &str) -> Option<Vec<u8>> {
    None
}

/// The explanation of a finding: title, paragraphs, source.
pub fn explanation(code: &str) -> Option<(String, Vec<String>, String)> {
    let explained = loomwright_proof::explain(code)?;
    let paragraphs = explained.text.split("\n\n").filter(|text| !text.trim().is_empty()).map(str::to_owned).collect();
    Some((explained.title, paragraphs, explained.source))
}

/// Every code that can be explained, with its title.
pub fn explanations() -> Vec<(String, String)> {
    let rules = loomwright_proof::findings::all().iter();
    rules.map(|rule| (rule.code.to_owned(), rule.explanation().title)).collect()
}
