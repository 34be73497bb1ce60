//! Reading a plan and its wiring for a command.

use crate::files::{self, PlanPaths};
use crate::outcome::Failure;
use crate::progress;
use crate::side_by_side::side_by_side;
use crate::text::count;
use loomwright_planfile::{Loaded, Problems, Source, read_bytes_beside, render};
use std::path::Path;

/// A plan with the files that it was read from.
pub struct Opened {
    /// Where plan and wiring lie.
    pub paths: PlanPaths,
    /// The plan file as it was read.
    pub plan_text: String,
    /// The wiring file as it was read; `None` if there is none.
    pub wiring_text: Option<String>,
    /// What was read from them.
    pub loaded: Loaded,
}

/// Finds and reads the plan that `given` means.
///
/// **Errors**: not there, not readable, or with problems in it, which the failure carries.
pub fn open(given: &Path) -> Result<Opened, Failure> {
    let paths = PlanPaths::find(given)?;
    let gone = || Failure::of_file("read", &paths.plan, &std::io::ErrorKind::NotFound.into());
    let plan = files::bytes(&paths.plan)?.ok_or_else(gone)?;
    let wiring = files::bytes(&paths.wiring)?;
    let names = [&paths.plan, &paths.wiring].map(|path| path.display().to_string());
    let bytes = wiring.as_deref().map(|bytes| (names[1].as_str(), bytes));
    let result = progress::during("reading", || read_bytes_beside((&names[0], &plan), bytes, side_by_side));
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (plan_text, wiring_text) = (text(&plan), wiring.as_deref().map(text));
    match result {
        Ok(loaded) => Ok(Opened { paths, plan_text, wiring_text, loaded }),
        Err(problems) => {
            let wiring = wiring_text.as_deref().unwrap_or_default();
            Err(failure(&problems, &[Source { name: &names[0], text: &plan_text }, Source { name: &names[1], text: wiring }]))
        }
    }
}

/// A failure that shows each problem in its lines.
pub fn failure(problems: &Problems, sources: &[Source<'_>]) -> Failure {
    let list = problems.as_slice();
    let mut files: Vec<&str> = list.iter().map(|problem| problem.file.as_str()).collect();
    files.dedup();
    let says = format!("{} {} from being read", count(list.len(), "problem keeps", "problems keep"), files.join(" and "));
    Failure { snippet: format!("{}\n", render(list, sources)), problems: list.to_vec(), ..Failure::new(says, "") }
}
