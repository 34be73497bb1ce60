//! Documents for the crew: one PDF, a PDF of labels, a workbook, CSV files and drawings. Bytes out, no files.
//!
//! Every table is built once as data ([`table::Table`]) and printed by every format. Same scene, same
//! bytes: dates come from the plan.

pub mod cautions;
mod csv;
mod paper;
pub mod table;
pub mod tables;
#[cfg(test)]
#[path = "../../drawing/src/testing.rs"]
#[allow(dead_code, reason = "the scenes are shared with the drawings; not every one is needed here")]
mod testing;
mod workbook;

#[cfg(test)]
mod tests;

pub use paper::{LabelSheet, Paper};
pub use table::Kind;

use loomwright_drawing::Scene;
use paper::render::About;
use paper::{book, render};
use table::Table;
use tables::Source;

/// How documents are wanted.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// The label stock.
    pub label_sheet: LabelSheet,
    /// Drawings are never set on a larger paper, even where their text becomes small.
    pub largest_paper: Paper,
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

/// One table as a PDF of its own, with the same title block.
///
/// **Errors**: a sentence, when the PDF writer refuses.
pub fn table_pdf(scene: &Scene<'_>, kind: Kind) -> Result<Vec<u8>, String> {
    let pages = book::table_pages(&Source::new(scene), kind);
    render::pdf(&pages, &about(scene, kind.word()))
}

/// Two labels for each cable, one for each end.
///
/// **Errors**: a sentence, when the PDF writer refuses.
pub fn labels(scene: &Scene<'_>, options: &Options) -> Result<Vec<u8>, String> {
    let pages = book::label_pages(&Source::new(scene), options);
    render::pdf(&pages, &about(scene, "labels"))
}

/// One page for the door of each rack with switches: if this goes dark, what falls silent, what to do, which spare.
/// `None` where no place has a switch.
///
/// **Errors**: a sentence, when the PDF writer refuses.
pub fn rack_cards(scene: &Scene<'_>) -> Result<Option<Vec<u8>>, String> {
    let pages = book::card_pages(&Source::new(scene));
    if pages.is_empty() { Ok(None) } else { render::pdf(&pages, &about(scene, "rack cards")).map(Some) }
}

/// All tables as one workbook.
///
/// **Errors**: a sentence, when the workbook writer refuses.
pub fn xlsx(scene: &Scene<'_>) -> Result<Vec<u8>, String> {
    let source = Source::new(scene);
    let tables: Vec<Table> = Kind::ALL.iter().map(|kind| source.table(*kind)).collect();
    let facts = about(scene, "tables");
    // A plan without a date gets a fixed one: the file must not know when it was made.
    let date = facts.date.unwrap_or((2000, 1, 1));
    let foot = paper::block::Title::new(scene).short();
    workbook::bytes(&tables, &workbook::About { title: facts.title, author: facts.author.unwrap_or_default(), date, foot })
}

/// One table as CSV.
pub fn csv(scene: &Scene<'_>, kind: Kind) -> Vec<u8> {
    csv::bytes(&Source::new(scene).table(kind))
}

/// Every drawing as SVG for paper, with its own heading and title block.
pub fn drawings(scene: &Scene<'_>) -> Vec<File> {
    let named = book::drawings(&Source::new(scene), false);
    named
        .into_iter()
        .map(|named| File { name: format!("drawings/{}.svg", file_word(&named.word)), bytes: named.drawing.svg.into_bytes() })
        .collect()
}

/// A file that is to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its path below the folder of the documents; `/` between parts.
    pub name: String,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// Every document: the PDF, the labels, the rack cards, the workbook, one CSV per table, the drawings.
///
/// **Errors**: a sentence with the name of the document that could not be made.
pub fn all(scene: &Scene<'_>, options: &Options, progress: &mut Progress<'_>) -> Result<Vec<File>, String> {
    let name = file_word(&scene.plan.about.name);
    let said = |what: &str, error: String| format!("{what} could not be made: {error}");
    let sheets = pdf(scene, options, progress).map_err(|error| said("the sheets", error))?;
    progress("Labels");
    let labels = labels(scene, options).map_err(|error| said("the labels", error))?;
    progress("Rack cards");
    let cards = rack_cards(scene).map_err(|error| said("the rack cards", error))?;
    progress("Workbook");
    let book = xlsx(scene).map_err(|error| said("the workbook", error))?;
    let mut files = vec![
        File { name: format!("{name}-sheets.pdf"), bytes: sheets },
        File { name: format!("{name}-labels.pdf"), bytes: labels },
        File { name: format!("{name}-tables.xlsx"), bytes: book },
    ];
    files.extend(cards.map(|bytes| File { name: format!("{name}-rack-cards.pdf"), bytes }));
    let source = Source::new(scene);
    let csv_file = |kind: &Kind| File { name: format!("tables/{}.csv", kind.word()), bytes: csv::bytes(&source.table(*kind)) };
    files.extend(Kind::ALL.iter().map(csv_file));
    progress("Drawings");
    files.extend(drawings(scene));
    Ok(files)
}

/// `text` as a part of a file name: letters and digits of any script, `-`, `_` and `.`; at most 48 signs.
fn file_word(text: &str) -> String {
    let mut word = String::new();
    for letter in text.chars().flat_map(char::to_lowercase).take(48) {
        if letter.is_alphanumeric() || matches!(letter, '_' | '.') {
            word.push(letter);
        } else if !word.ends_with('-') {
            word.push('-');
        }
    }
    let word = word.trim_matches(['-', '.']);
    if word.is_empty() { "plan".to_owned() } else { word.to_owned() }
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
