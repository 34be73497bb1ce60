//! Names that a plan can take, made from what people wrote.

use loomwright_model::Id;

/// The name itself if a plan can take it, else in lower case with hyphens for everything else; `None` if nothing is left.
pub(super) fn slug(text: &str) -> Option<Id> {
    if let Ok(id) = Id::new(text) {
        return Some(id);
    }
    let lower = text.to_lowercase();
    let words: Vec<&str> =
        lower.split(|c: char| !(c.is_alphanumeric() || matches!(c, '_' | '.'))).filter(|word| !word.is_empty()).collect();
    Id::new(&words.join("-")).ok()
}

/// Letters and digits only, in lower case: what is left when spelling is set aside.
pub(super) fn squeezed(text: &str) -> String {
    text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect()
}

/// The parts of a cell that lists several things.
pub(super) fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split([',', ';', '+', '/', '&', '\n']).map(str::trim).filter(|part| !part.is_empty())
}
