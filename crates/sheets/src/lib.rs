//! Documents for the crew: one PDF, a PDF of labels, a workbook, CSV files and drawings. Bytes out, no files.
//!
//! Every table is built once as data ([`table::Table`]) and printed by every format. Same scene, same
//! bytes: dates come from the plan.

pub mod cautions;
mod paper;
pub mod table;
pub mod tables;
#[cfg(test)]
#[path = "../../drawing/src/testing.rs"]
mod testing;

pub use paper::LabelSheet;
pub use table::Kind;

use loomwright_drawing::Scene;
use paper::render::About;
use paper::{book, render};
use tables::Source;

/// How documents are wanted.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The label stock.
    pub label_sheet: LabelSheet,
    /// Put before a cable's name in its QR code, such as `http://192.168.1.20:8080/cable/`; empty for the name alone.
    pub link_prefix: String,
}

/// Told the name of what is being made.
pub type Progress<'p> = dyn FnMut(&str) + 'p;

/// The main document.
///
/// **Errors**: a sentence, when the PDF writer refuses.
pub fn pdf(scene: &Scene<'_>, options: &Options, progress: &mut Progress<'_>) -> Result<Vec<u8>, String> {
    let source = Source::new(scene);
    let pages = book::pages(&source, options, progress);
    render::pdf(&pages, &about(scene, "sheets"))
}

/// Two labels for each cable, one for each end.
///
/// **Errors**: a sentence, when the PDF writer refuses.
pub fn labels(scene: &Scene<'_>, options: &Options) -> Result<Vec<u8>, String> {
    let pages = book::label_pages(&Source::new(scene), options);
    render::pdf(&pages, &about(scene, "labels"))
}

fn about(scene: &Scene<'_>, what: &str) -> About {
    let about = &scene.plan.about;
    About { title: format!("{}, {what}", about.name), author: about.by.clone(), date: about.date.as_deref().and_then(date) }
}

/// Year, month and day of a date written `YYYY-MM-DD`.
fn date(text: &str) -> Option<(u16, u8, u8)> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    ((1..=12).contains(&month) && (1..=31).contains(&day)).then_some((year, month, day))
}
