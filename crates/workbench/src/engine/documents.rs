//! Documents for download, and the explanations of findings.

use super::Proved;
use loomwright_drawing::Scene;
use loomwright_sheets::{Kind, Options, csv, drawings, labels, pdf, rack_cards, xlsx};

/// One document that can be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Document {
    /// File name, which is also its address.
    pub file: String,
    /// What it is.
    pub title: String,
    /// Whom it is for and what it holds.
    pub says: &'static str,
    /// Media type.
    pub kind: &'static str,
}

impl Document {
    fn new(file: &str, title: &str, says: &'static str, kind: &'static str) -> Self {
        Self { file: file.to_owned(), title: title.to_owned(), says, kind }
    }
}

const PDF: &str = "application/pdf";
const CSV: &str = "text/csv; charset=utf-8";
const SVG: &str = "image/svg+xml";
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Every document of this state; none before something is wired.
pub fn documents(proved: &Proved) -> Vec<Document> {
    let Some(scene) = scene(proved) else { return Vec::new() };
    let mut all = vec![
        Document::new(
            "sheets.pdf",
            "All sheets",
            "One document to print and hand out: drawings, cable schedule, port maps, addresses, packing.",
            PDF,
        ),
        Document::new("labels.pdf", "Cable labels", "Two labels for each cable, one for each end, with a QR code.", PDF),
        Document::new(
            "rack-cards.pdf",
            "Rack cards",
            "For the door of each rack: if this goes dark, what falls silent, what to do, which spare.",
            PDF,
        ),
        Document::new("tables.xlsx", "All tables", "One workbook, a tab for each table, with filters.", XLSX),
    ];
    if proved.wiring.switches.is_empty() {
        all.retain(|document| document.file != "rack-cards.pdf");
    }
    all.extend(drawings(&scene).iter().map(|file| {
        let name = flat(&file.name);
        let word = name.trim_start_matches("drawings-").trim_end_matches(".svg");
        let title = word.strip_prefix("panel-").map_or_else(|| format!("Drawing {word}"), |switch| format!("Front of {switch}"));
        Document::new(&name, &title, "A drawing for paper, with heading and title block.", SVG)
    }));
    all.extend(
        Kind::ALL.iter().map(|kind| {
            Document::new(&format!("{}.csv", kind.word()), kind.title(), "The same table as plain text for other programs.", CSV)
        }),
    );
    all
}

/// The bytes of the document named `file`; QR codes open `prefix` and the cable's name.
///
/// **Errors**: a sentence when it cannot be made; `None` for a name that is none of [`documents`].
pub fn made(proved: &Proved, file: &str, prefix: String) -> Option<Result<Vec<u8>, String>> {
    let scene = scene(proved)?;
    let options = Options { link_prefix: prefix, ..Options::default() };
    match file {
        "sheets.pdf" => Some(pdf(&scene, &options, &mut |_| {})),
        "labels.pdf" => Some(labels(&scene, &options)),
        "rack-cards.pdf" => rack_cards(&scene).transpose(),
        "tables.xlsx" => Some(xlsx(&scene)),
        _ => match Kind::ALL.iter().find(|kind| file.strip_suffix(".csv") == Some(kind.word())) {
            Some(kind) => Some(Ok(csv(&scene, *kind))),
            None => drawings(&scene).into_iter().find(|drawing| flat(&drawing.name) == file).map(|drawing| Ok(drawing.bytes)),
        },
    }
}

fn scene(proved: &Proved) -> Option<Scene<'_>> {
    let plan = proved.plan.as_ref().filter(|_| !proved.wiring.cables.is_empty())?;
    Some(Scene { plan, wiring: &proved.wiring, report: &proved.report })
}

/// A path as one name.
fn flat(path: &str) -> String {
    path.replace('/', "-")
}

/// The explanation of a code: title, paragraphs, source.
pub fn explanation(code: &str) -> Option<(String, Vec<String>, String)> {
    let proof = || loomwright_proof::explain(code).map(|one| (one.title, one.text, one.source));
    let (title, text, source) = proof().or_else(|| {
        let (_, title, text, source) = elsewhere().find(|(known, ..)| *known == code)?;
        Some((title.to_owned(), text.to_owned(), source.to_owned()))
    })?;
    let paragraphs = text.split("\n\n").filter(|text| !text.trim().is_empty()).map(str::to_owned).collect();
    Some((title, paragraphs, source))
}

/// Codes, titles, texts and sources of what a line check sees, of what its record leaves open, and of what a design remarks.
fn elsewhere() -> impl Iterator<Item = (&'static str, &'static str, &'static str, &'static str)> {
    let seen = loomwright_linecheck::explanations().iter().map(|one| (one.code, one.title, one.text, one.source));
    let crew = loomwright_crewlog::explanations().iter().map(|one| (one.code, one.title, one.text, one.source));
    let design = loomwright_design::explanations().iter().map(|one| (one.code, one.title, one.text, one.source));
    seen.chain(crew).chain(design)
}

/// Every code that can be explained, with its title.
pub fn explanations() -> Vec<(String, String)> {
    let rules = loomwright_proof::findings::all().iter();
    let proof = rules.map(|rule| (rule.code.to_owned(), rule.explanation().title));
    let mut all: Vec<_> = proof.chain(elsewhere().map(|(code, title, ..)| (code.to_owned(), title.to_owned()))).collect();
    all.sort();
    all
}
