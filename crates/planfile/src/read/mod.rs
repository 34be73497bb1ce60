//! Reads plan and wiring; all problems of both come in one run.

pub(crate) mod about;
pub(crate) mod device;
pub(crate) mod gear;
pub(crate) mod listening;
pub(crate) mod network;
pub(crate) mod place;
pub(crate) mod plan;
pub(crate) mod stock;
pub(crate) mod stream;
pub(crate) mod syntax;
pub(crate) mod text;
pub(crate) mod wiring;

use crate::check;
use crate::log::{File, Log, Raw};
use crate::problem::{LineIndex, Problem, Problems};
use crate::references;
use crate::source_map::SourceMap;
use crate::tree::Trees;
use loomwright_model::{Plan, Wiring};
use toml::de::DeTable;

pub use text::{LARGEST, read_bytes};

/// A file's name and text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source<'a> {
    /// File name as the person gave it, for messages.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
}

/// A plan and its wiring, read without a problem.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// What is there and what is wanted.
    pub plan: Plan,
    /// What was decided; empty without a wiring file.
    pub wiring: Wiring,
    /// Knows where everything was written.
    pub source_map: SourceMap,
    /// SHA-256 of both texts, 64 hexadecimal digits.
    pub digest: String,
}

/// Reads a plan and its wiring.
///
/// **Errors**: everything that is wrong in both files, in one run, in file order.
pub fn read(plan: Source<'_>, wiring: Option<Source<'_>>) -> Result<Loaded, Problems> {
    let mut raws = text::judge(File::Plan, plan.text);
    raws.extend(wiring.iter().flat_map(|wiring| text::judge(File::Wiring, wiring.text)));
    if !raws.is_empty() {
        return Err(Problems::new(place_problems(raws, plan, wiring)).expect("there is at least one"));
    }
    let (plan_tree, plan_syntax) = DeTable::parse_recoverable(plan.text);
    let wiring_parsed = wiring.map(|wiring| DeTable::parse_recoverable(wiring.text));
    raws.extend(syntax::problems(File::Plan, plan.text, &plan_syntax));
    let wiring_syntax = wiring.zip(wiring_parsed.as_ref());
    raws.extend(wiring_syntax.iter().flat_map(|(source, (_, errors))| syntax::problems(File::Wiring, source.text, errors)));
    let trees = Trees { plan: plan_tree.get_ref(), wiring: wiring_parsed.as_ref().map(|(tree, _)| tree.get_ref()) };
    let (plan_value, wiring_value) = walk(&trees, &mut raws);
    match Problems::new(place_problems(raws, plan, wiring)) {
        Some(problems) => Err(problems),
        None => Ok(Loaded {
            plan: plan_value,
            wiring: wiring_value,
            source_map: SourceMap::new((plan, wiring), &trees),
            digest: text::digest(plan.text, wiring.map(|wiring| wiring.text)),
        }),
    }
}

/// Walks both trees, then checks what they say of each other unless a file is broken.
fn walk(trees: &Trees<'_, '_>, raws: &mut Vec<Raw>) -> (Plan, Wiring) {
    let broken = raws.iter().any(|raw| raw.code == "plan/syntax");
    let mut log = Log::new(File::Plan);
    let plan = plan::read(trees.plan, &mut log);
    log.file = File::Wiring;
    let wiring = trees.wiring.map(|root| wiring::read(root, &mut log)).unwrap_or_default();
    if !broken {
        references::check(trees, (&plan, &wiring), &mut log);
        check::all(trees, &plan, &wiring, &mut log);
    }
    raws.append(&mut log.problems);
    (plan, wiring)
}

/// Gives every problem its line and column, in file order. What follows from a syntax error on the
/// same line is left out: it would only hide the cause.
fn place_problems(mut raws: Vec<Raw>, plan: Source<'_>, wiring: Option<Source<'_>>) -> Vec<Problem> {
    if raws.is_empty() {
        return Vec::new();
    }
    let indexes = [LineIndex::of(plan.text), LineIndex::of(wiring.map_or("", |wiring| wiring.text))];
    let line = |raw: &Raw| (raw.file, indexes[usize::from(raw.file == File::Wiring)].line(raw.span.start));
    let broken: Vec<_> = raws.iter().filter(|raw| raw.code == "plan/syntax").map(line).collect();
    raws.retain(|raw| raw.code == "plan/syntax" || !broken.contains(&line(raw)));
    raws.sort_by(|a, b| (a.file, a.span.start, a.code).cmp(&(b.file, b.span.start, b.code)));
    raws.dedup();
    let place = |raw: Raw| {
        let source = if raw.file == File::Plan { plan } else { wiring.unwrap_or(plan) };
        let (line, column) = indexes[usize::from(raw.file == File::Wiring)].place(source.text, raw.span.start);
        Problem { code: raw.code, file: source.name.to_owned(), span: raw.span, line, column, message: raw.message, help: raw.help }
    };
    raws.into_iter().map(place).collect()
}

/// What is wrong with a wiring file read by itself, without a look at its plan.
pub(crate) fn lone_problems(source: Source<'_>, errors: &[toml::de::Error], log: Log) -> Option<Problems> {
    let mut raws = text::judge(File::Wiring, source.text);
    raws.extend(syntax::problems(File::Wiring, source.text, errors));
    raws.extend(log.problems);
    Problems::new(place_problems(raws, source, Some(source)))
}
