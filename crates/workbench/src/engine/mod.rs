//! The one door to the crates that know audio networks. Every call into them stands here.

mod addresses;
mod change;
mod compared;
mod crew;
mod documents;
mod failing;
mod figures;
mod import;
mod picture;
mod proposal;
mod replaying;
mod suspects;
mod yielding;

pub use addresses::{Addressed, addresses};
use change::sentence;
pub use change::{Change, Written, apply, hold};
pub use compared::{choose, compared, small_picture};
pub use crew::{CAUTIONS, Heard, Word, cable, cable_cautions, checked, heard_of, line_check, place_name, place_of, progress, ways};
pub use documents::{Document, documents, explanation, explanations, made};
pub use failing::{Asked, Chances, Orders};
pub use figures::{Figures, Harm, figures, harm};
pub use import::{List, bring_in, list};
pub use picture::{Colour, Gone, Picture, colours, net_class, picture, takeable};
pub use proposal::{Proposal, design, proposal};
pub use replaying::{Moment, NoMoment, Wanted};
pub use suspects::{Hunt, hunt};

use crate::store::Texts;
use loomwright_model::{Item, Plan, Wiring};
use loomwright_planfile::{self as planfile, Source, read};
use loomwright_proof::diff::compare;
use loomwright_proof::report::{At, FailureLine, FindingLine};
use loomwright_proof::{Analysis, DelaysAfter, Report, report_of, whatif_delays, whatif_losses};
use loomwright_survival::Loss;
use std::fmt;

/// One state of a plan: its texts, what was read from them, and what was proved about it.
pub struct Proved {
    /// Names the state.
    pub digest: String,
    /// What it was read from.
    pub texts: Texts,
    /// The plan; `None` if the texts have errors that leave no plan.
    pub plan: Option<Plan>,
    /// The wiring; empty where there is none.
    pub wiring: Wiring,
    /// The proof; empty without a plan.
    pub report: Report,
    /// What is wrong with the texts.
    pub problems: Vec<Problem>,
    analysis: Option<Analysis>,
    compared: compared::Compared,
    files: [String; 2],
}

/// One error in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What is wrong, where, and what to do.
    pub line: FindingLine,
    /// The lines concerned with a caret below the place.
    pub snippet: String,
}

impl fmt::Debug for Proved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Proved").field("digest", &self.digest).field("problems", &self.problems).finish_non_exhaustive()
    }
}

impl Proved {
    /// Reads and proves. `files` are the names of the plan and wiring file, for messages.
    pub fn of(texts: &Texts, files: [&str; 2]) -> Self {
        let plan = Source { name: files[0], text: &texts.plan };
        let wiring = texts.wiring.as_deref().map(|text| Source { name: files[1], text });
        let nothing = Self {
            digest: texts.digest(),
            texts: texts.clone(),
            plan: None,
            wiring: Wiring::default(),
            report: Report::default(),
            problems: Vec::new(),
            analysis: None,
            compared: compared::Compared::default(),
            files: files.map(str::to_owned),
        };
        match read(plan, wiring) {
            Ok(loaded) => {
                let analysis = Analysis::new(&loaded.plan, &loaded.wiring);
                let mut report = report_of(&analysis, &loaded.source_map);
                report.plan.digest = loaded.digest;
                Self { plan: Some(loaded.plan), wiring: loaded.wiring, report, analysis: Some(analysis), ..nothing }
            }
            Err(problems) => {
                let sources: Vec<Source<'_>> = std::iter::once(plan).chain(wiring).collect();
                Self { problems: problems.iter().map(|problem| Problem::of(problem, &sources)).collect(), ..nothing }
            }
        }
    }

    /// Names of the plan and wiring file.
    pub fn names(&self) -> [&str; 2] {
        [&self.files[0], &self.files[1]]
    }

    /// What happens without `items`; `frozen` leaves switches linked while they forward nothing.
    pub fn without(&self, items: &[Item], frozen: bool) -> FailureLine {
        self.analysis.as_ref().map(|analysis| whatif_losses(analysis, &losses(items, frozen))).unwrap_or_default()
    }

    /// What that does to delays.
    pub fn delays_without(&self, items: &[Item], frozen: bool) -> DelaysAfter {
        self.analysis.as_ref().map(|analysis| whatif_delays(analysis, &losses(items, frozen))).unwrap_or_default()
    }

    /// What a crew would have to do to get from `old` to this, in working order.
    pub fn work_since(&self, old: &Self) -> Vec<String> {
        let (Some(old_plan), Some(plan)) = (&old.plan, &self.plan) else { return Vec::new() };
        let changes = compare((old_plan, &old.wiring), (plan, &self.wiring));
        changes.into_iter().map(|change| change.says).collect()
    }
}

fn losses(items: &[Item], frozen: bool) -> Vec<Loss> {
    let loss = |item: &Item| match item {
        Item::Switch(id) if frozen => Loss::Frozen(id.clone()),
        other => Loss::from(other.clone()),
    };
    items.iter().map(loss).collect()
}

impl Problem {
    fn of(problem: &planfile::Problem, sources: &[Source<'_>]) -> Self {
        let line = FindingLine {
            code: problem.code.to_owned(),
            severity: "stop".to_owned(),
            items: Vec::new(),
            says: sentence(&problem.message),
            value: None,
            limit: None,
            source: None,
            remedy: sentence(&problem.help),
            at: Some(At { file: problem.file.clone(), line: problem.line, column: problem.column }),
        };
        // The message above and the help below stand in the page already.
        let drawn = planfile::render_plain(std::slice::from_ref(problem), sources);
        let lines: Vec<&str> = drawn.lines().skip(1).filter(|line| !line.trim_start().starts_with("= help")).collect();
        Self { line, snippet: lines.join("\n").trim_end_matches([' ', '|', '\n']).to_owned() }
    }
}
