//! `loomwright import LIST`: takes a gear list into a plan, row by row, and guesses nothing in silence.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::table::{Side, Table};
use crate::text::count;
use crate::{files, output, progress};
use loomwright_model::Plan;
use loomwright_planfile::edit::{Edited, apply};
use loomwright_planfile::import::{self, Mapping, Preview, RowOutcome, map_columns, preview, read_list, to_edits};
use loomwright_planfile::{Source, read};
use std::path::{Path, PathBuf};

/// The plan that takes the list in.
struct Target {
    /// Its file; `None` for a new one that is only printed.
    file: Option<PathBuf>,
    name: String,
    text: String,
    plan: Plan,
}

/// Takes in every row that can be read. Exit code 0 all rows, 1 some, 2 none.
pub fn run(arguments: &arguments::Import) -> Result<Outcome, Failure> {
    let target = target(arguments)?;
    let preview = previewed(arguments, &target)?;
    let refused = preview.unread().count();
    let edited = applied(&target, &preview)?;
    let writes = !arguments.dry_run && refused < preview.rows.len();
    if let (Some(file), true) = (&target.file, writes) {
        files::replace(file, edited.texts.plan.as_bytes())?;
    }
    tell(arguments, (&target, writes), (&preview, &edited))?;
    match refused {
        n if n == preview.rows.len() => Err(Failure::new(format!("no row of {} could be read", arguments.list.display()), NOTHING_READ)),
        0 => Ok(Outcome::Ready),
        _ => Ok(Outcome::Stops),
    }
}

const NOTHING_READ: &str = "Give a list with a row of column names (name, gear, place) and a row for each device.";

fn target(arguments: &arguments::Import) -> Result<Target, Failure> {
    if let Some(given) = &arguments.into {
        let opened = load::open(given)?;
        let name = opened.paths.plan.display().to_string();
        return Ok(Target { file: Some(opened.paths.plan), name, text: opened.plan_text, plan: opened.loaded.plan });
    }
    let stem = arguments.list.file_stem().unwrap_or_default().to_string_lossy();
    let text = format!("[plan]\nname = {}\n", super::new::quoted(&stem));
    let name = "new plan".to_owned();
    let source = Source { name: &name, text: &text };
    let plan = read(source, None).map_err(|problems| load::failure(&problems, &[source]))?.plan;
    Ok(Target { file: None, name, text, plan })
}

fn previewed(arguments: &arguments::Import, target: &Target) -> Result<Preview, Failure> {
    let list: &Path = &arguments.list;
    let bytes = files::bytes(list)?.ok_or_else(|| Failure::of_file("read", list, &std::io::ErrorKind::NotFound.into()))?;
    let name = list.display().to_string();
    let sheet = progress::during("reading", || read_list(&bytes, &name));
    let sheet = sheet.map_err(|problem| Failure {
        problems: vec![problem.clone()],
        ..Failure::new(format!("cannot read {name}: {}", problem.message), problem.help)
    })?;
    let mapping = Mapping { creates_places: arguments.create_places || target.file.is_none(), ..map_columns(&sheet) };
    Ok(preview(&sheet, &mapping, &target.plan))
}

fn applied(target: &Target, preview: &Preview) -> Result<Edited, Failure> {
    apply(Source { name: &target.name, text: &target.text }, None, &to_edits(preview))
        .map_err(|refused| load::failure(&refused.problems, &[Source { name: &target.name, text: &refused.tried.plan }]))
}

/// The rows are the data, unless there is no file: then the new plan is, and the rows are talk.
fn tell(arguments: &arguments::Import, (target, writes): (&Target, bool), (preview, edited): (&Preview, &Edited)) -> Result<(), Failure> {
    let file = target.file.as_deref();
    let summary = summary(preview, file.filter(|_| writes));
    if arguments.json {
        let rows: Vec<serde_json::Value> = preview.rows.iter().map(row_as_json).collect();
        let plan = file.is_none().then_some(&edited.texts.plan);
        output::json(&serde_json::json!({ "rows": rows, "notes": preview.notes, "written": writes && file.is_some(), "plan": plan }))?;
    } else if file.is_some() {
        output::data(&rows(preview))?;
    } else {
        output::talk(&rows(preview));
        output::data(&edited.texts.plan)?;
    }
    preview.notes.iter().for_each(|note| output::talk(note));
    output::talk(&summary);
    Ok(())
}

fn summary(preview: &Preview, written: Option<&Path>) -> String {
    let devices = count(preview.device_count(), "device", "devices");
    let refused = count(preview.unread().count(), "row was refused", "rows were refused");
    let file = written.map_or("nothing was written".to_owned(), |file| format!("wrote {}", file.display()));
    format!("{devices} of {}, {refused}; {file}.", count(preview.rows.len(), "row", "rows"))
}

fn rows(preview: &Preview) -> String {
    let mut table = Table::new(&[("row", Side::Right), ("", Side::Left), ("what it becomes", Side::Left)]);
    for row in &preview.rows {
        let (word, what) = becomes(row);
        table.row([row.number.to_string(), word.to_owned(), what]);
        row.notes.iter().for_each(|note| table.row(["", "", note]));
    }
    table.text()
}

fn becomes(row: &RowOutcome) -> (&'static str, String) {
    match &row.outcome {
        import::Outcome::Devices(devices) => {
            let devices: Vec<String> =
                devices.iter().map(|device| format!("{} ({}) in {}", device.id, device.gear, device.place)).collect();
            ("taken in", devices.join(", "))
        }
        import::Outcome::Switches { gear, count } => ("taken in", format!("{count} x {gear} into the stock")),
        import::Outcome::Unread(reason) => ("refused", reason.clone()),
    }
}

fn row_as_json(row: &RowOutcome) -> serde_json::Value {
    let (word, what) = becomes(row);
    serde_json::json!({ "row": row.number, "refused": word == "refused", "says": what, "notes": row.notes })
}
