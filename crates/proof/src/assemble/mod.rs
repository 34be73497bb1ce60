//! Puts an analysis into a [`Report`]: the same facts, named as in the files.

mod availability;
mod clock;
mod delay;
mod failures;
mod listening;
mod names;
mod network;
mod physical;

pub(crate) use failures::{PAIRS_KEPT, line as failure_line};

use crate::analysis::Analysis;
use crate::beside::{Beside, both, in_turn};
use crate::report::{At, FindingLine, PlanLine, Report};
use crate::verdict;
use loomwright_model::{Finding, Locate, Severity};

/// The whole report of an analysis. `places` says where items were written.
pub fn report(analysis: &Analysis, places: &dyn Locate) -> Report {
    report_beside(analysis, places, in_turn)
}

/// The same, with failures and findings beside everything else.
pub fn report_beside(analysis: &Analysis, places: &dyn Locate, beside: Beside) -> Report {
    let mut report = brief_report(analysis, places, beside);
    report.failures = failures::singles(analysis);
    report
}

/// The same with single failures only counted: [`Report::failures`] is empty.
pub fn brief_report(analysis: &Analysis, places: &dyn Locate, beside: Beside) -> Report {
    let fails = || {
        let fails = Report {
            pairs: failures::pairs(analysis),
            availability: availability::line(analysis),
            counts: failures::counts(analysis),
            ..Report::default()
        };
        (fails, crate::findings_of(analysis))
    };
    let (mut report, (fails, findings)) = both(beside, || flows(analysis), fails);
    report.counts = fails.counts;
    report.pairs = fails.pairs;
    report.availability = fails.availability;
    report.ready = !findings.iter().any(|finding| finding.severity == Severity::Stop);
    report.findings = findings.into_iter().map(|finding| finding_line(finding, places)).collect();
    report.verdict = verdict::sentence(analysis, &report);
    report
}

/// All that says nothing of failures and findings.
fn flows(analysis: &Analysis) -> Report {
    let names = names::Names::new(analysis);
    let needs = crate::listening::needs(analysis);
    Report {
        plan: plan_line(analysis),
        streams: network::streams(analysis, &names),
        links: network::links(analysis, &names),
        clock: clock::lines(analysis),
        memory: listening::memory(analysis),
        in_phase: listening::in_phase(analysis, &needs),
        journeys: listening::journeys(analysis, &needs),
        power: physical::power(analysis),
        poe: physical::poe(analysis),
        lengths: physical::lengths(analysis),
        ..Report::default()
    }
}

fn plan_line(analysis: &Analysis) -> PlanLine {
    let about = &analysis.plan.about;
    PlanLine { name: about.name.clone(), revision: about.revision.clone(), digest: String::new() }
}

fn finding_line(finding: Finding, places: &dyn Locate) -> FindingLine {
    let at = finding.at.clone().or_else(|| finding.items.iter().find_map(|item| places.locate(item, None)));
    FindingLine {
        code: finding.code.to_owned(),
        severity: finding.severity.word().to_owned(),
        items: finding.items.iter().map(ToString::to_string).collect(),
        says: finding.says,
        value: finding.value,
        limit: finding.limit,
        source: finding.source,
        remedy: finding.remedy,
        at: at.map(|at| At { file: at.file, line: at.line, column: at.column }),
    }
}
