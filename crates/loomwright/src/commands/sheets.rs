//! `loomwright sheets PLAN --to DIR`: the documents for the crew.

use super::load;
use crate::arguments::{self, Kind};
use crate::outcome::{Failure, Outcome};
use crate::text::count;
use crate::{files, output, progress};
use loomwright_drawing::Scene;
use loomwright_proof::prove;
use loomwright_sheets::{File, Options, all};

/// Makes every document, then writes those that were asked for.
pub fn run(arguments: &arguments::Sheets) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let made = progress::during_steps("making documents", |say| documents(&opened.loaded, &arguments.link, say))?;
    let wanted: Vec<&File> = made.iter().filter(|file| arguments.only.is_empty() || arguments.only.contains(&kind(&file.name))).collect();
    for file in &wanted {
        files::replace(&arguments.to.join(&file.name), &file.bytes)?;
    }
    let paths: Vec<String> = wanted.iter().map(|file| arguments.to.join(&file.name).display().to_string()).collect();
    match arguments.json {
        true => output::json(&serde_json::json!({ "files": paths }))?,
        false => output::data(&paths.iter().map(|path| format!("{path}\n")).collect::<String>())?,
    }
    output::talk(&format!("Wrote {} into {}.", count(paths.len(), "document", "documents"), arguments.to.display()));
    Ok(Outcome::Ready)
}

fn documents(loaded: &loomwright_planfile::Loaded, link: &str, say: &mut dyn FnMut(&str)) -> Result<Vec<File>, Failure> {
    let mut report = prove(&loaded.plan, &loaded.wiring, &loaded.source_map);
    report.plan.digest.clone_from(&loaded.digest);
    let scene = Scene { plan: &loaded.plan, wiring: &loaded.wiring, report: &report };
    all(&scene, &Options { link_prefix: link.to_owned(), ..Options::default() }, say).map_err(|error| Failure::new(error, ""))
}

/// What sort of document a file is, by its name.
fn kind(name: &str) -> Kind {
    match name.rsplit_once('.').map(|(_, end)| end) {
        Some("pdf") if name.ends_with("labels.pdf") => Kind::Labels,
        Some("pdf") if name.ends_with("rack-cards.pdf") => Kind::Cards,
        Some("xlsx") => Kind::Xlsx,
        Some("csv") => Kind::Csv,
        Some("svg") => Kind::Svg,
        _ => Kind::Pdf,
    }
}
