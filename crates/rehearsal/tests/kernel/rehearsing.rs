//! One rehearsal from plan to report.

use loomwright_forwarding::Fabric;
use loomwright_model::{Plan, Wiring};
use loomwright_rehearsal::script::{as_rehearsed, survival};
use loomwright_rehearsal::{Blueprint, Cast, Options, Progress, Report, Script, rehearse};

struct Quiet;

impl Progress for Quiet {
    fn says(&self, _: &str) {}
}

/// Rehearses every cable, switch and device, after `change` has had its way with the script.
pub fn run(both: (&Plan, &Wiring), change: impl FnOnce(&mut Script)) -> Report {
    run_with(&Options::default(), both, change)
}

/// The same with options.
pub fn run_with(options: &Options, (plan, wiring): (&Plan, &Wiring), change: impl FnOnce(&mut Script)) -> Report {
    let plan = as_rehearsed(plan);
    let fabric = Fabric::new(&plan, wiring);
    let survival = survival(&plan, wiring, &fabric);
    let blueprint = Blueprint::new(&plan, wiring, &fabric);
    let cast = Cast::new((&plan, wiring), &fabric, &survival, &blueprint);
    let mut script = Script::new((&plan, wiring), &fabric, &survival, &blueprint);
    script.keep_only(&[]);
    change(&mut script);
    rehearse((&blueprint, &cast), &script, options, &Quiet).unwrap_or_else(|trouble| panic!("{trouble}: {}", trouble.remedy))
}

/// How many steps took away something of a kind.
pub fn tried(report: &Report, kind: &str) -> usize {
    report.steps.iter().filter(|step| step.without.starts_with(kind)).count()
}

/// Names of this machine's own interfaces.
pub fn interfaces() -> Vec<String> {
    let text = std::fs::read_to_string("/proc/self/net/dev").unwrap_or_default();
    text.lines().filter_map(|line| line.split_once(':')).map(|(name, _)| name.trim().to_owned()).collect()
}

/// Everything in a report that is not as it should be.
pub fn faults(report: &Report) -> String {
    let steps: Vec<_> = report.steps.iter().filter(|step| !step.agrees).collect();
    let whole = (&report.intact.differences, &report.tree_differences);
    format!("whole: {whole:#?}\nnot tried: {:#?}\nsteps: {steps:#?}", report.not_tried)
}
