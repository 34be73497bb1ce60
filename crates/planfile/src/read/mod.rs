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
use toml::Spanned;
use toml::de::DeTable;

pub use text::{LARGEST, read_bytes, read_bytes_beside};

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

/// A piece of work.
pub type Work<'a> = &'a mut (dyn FnMut() + Send);

/// Does both pieces of work, each once, and returns when both are done: one after the other, or side by side where the caller
/// may start threads.
pub type Beside = fn(Work<'_>, Work<'_>);

/// One after the other.
fn in_turn(one: Work<'_>, two: Work<'_>) {
    one();
    two();
}

/// One file, parsed and walked.
struct Walked<'i, T> {
    tree: Spanned<DeTable<'i>>,
    syntax: Vec<Raw>,
    value: T,
    log: Log,
}

impl<'i, T> Walked<'i, T> {
    fn new(file: File, text: &'i str, walk: fn(&DeTable<'i>, &mut Log) -> T) -> Self {
        let (tree, errors) = DeTable::parse_recoverable(text);
        let mut log = Log::new(file);
        let value = walk(tree.get_ref(), &mut log);
        Self { syntax: syntax::problems(file, text, &errors), tree, value, log }
    }
}

/// Reads a plan and its wiring.
///
/// **Errors**: everything that is wrong in both files, in one run, in file order.
pub fn read(plan: Source<'_>, wiring: Option<Source<'_>>) -> Result<Loaded, Problems> {
    read_beside(plan, wiring, in_turn)
}

/// The same, with the two files, and then their checks and the map of places, done as `beside` does it; what comes out does not depend on it.
///
/// **Errors**: as [`read()`].
pub fn read_beside(plan: Source<'_>, wiring: Option<Source<'_>>, beside: Beside) -> Result<Loaded, Problems> {
    let mut raws = text::judge(File::Plan, plan.text);
    raws.extend(wiring.iter().flat_map(|wiring| text::judge(File::Wiring, wiring.text)));
    if !raws.is_empty() {
        return Err(Problems::new(place_problems(raws, plan, wiring)).expect("there is at least one"));
    }
    let (mut walked_plan, mut walked_wiring) = (None, None);
    beside(&mut || walked_plan = Some(Walked::new(File::Plan, plan.text, plan::read)), &mut || {
        walked_wiring = wiring.map(|wiring| Walked::new(File::Wiring, wiring.text, wiring::read));
    });
    let Walked { tree: plan_tree, syntax, value: plan_value, mut log } = walked_plan.expect("both pieces of work are done");
    raws.extend(syntax);
    let (mut wiring_tree, mut wiring_value) = (None, Wiring::default());
    if let Some(walked) = walked_wiring {
        raws.extend(walked.syntax);
        log.append(walked.log);
        (wiring_tree, wiring_value) = (Some(walked.tree), walked.value);
    }
    let trees = Trees { plan: plan_tree.get_ref(), wiring: wiring_tree.as_ref().map(|tree| tree.get_ref()) };
    let is_broken = raws.iter().any(|raw| raw.code == "plan/syntax");
    let mut source_map = None;
    beside(&mut || source_map = Some(SourceMap::new((plan, wiring), &trees)), &mut || {
        if !is_broken {
            references::check(&trees, (&plan_value, &wiring_value), &mut log);
            check::all(&trees, &plan_value, &wiring_value, &mut log);
        }
    });
    raws.append(&mut log.problems);
    match Problems::new(place_problems(raws, plan, wiring)) {
        Some(problems) => Err(problems),
        None => Ok(Loaded {
            plan: plan_value,
            wiring: wiring_value,
            source_map: source_map.expect("both pieces of work are done"),
            digest: text::digest(plan.text, wiring.map(|wiring| wiring.text)),
        }),
    }
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
