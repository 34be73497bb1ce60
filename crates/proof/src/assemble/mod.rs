//! Puts an analysis into a [`Report`]: the same facts, named as in the files.

mod availability;
mod clock;
mod delay;
mod failures;
mod listening;
mod network;
mod physical;

pub(crate) use failures::{PAIRS_KEPT, line as failure_line};

use crate::analysis::Analysis;
use crate::report::{At, FindingLine, PlanLine, Report};
use crate::verdict;
use loomwright_model::{Finding, Locate, Severity};

/// The whole report of an analysis. `places` says where items were written.
pub fn report(analysis: &Analysis, places: &dyn Locate) -> Report {
    let findings = crate::findings_of(analysis);
    let streams = network::streams(analysis);
    let needs = crate::listening::needs(analysis);
    let mut report = Report {
        plan: plan_line(analysis),
        ready: !findings.iter().any(|finding| finding.severity == Severity::Stop),
        findings: findings.into_iter().map(|finding| finding_line(finding, places)).collect(),
        streams,
        links: network::links(analysis),
        clock: clock::lines(analysis),
        memory: listening::memory(analysis),
        in_phase: listening::in_phase(analysis, &needs),
        journeys: listening::journeys(analysis, &needs),
        failures: failures::singles(analysis),
        pairs: failures::pairs(analysis),
        availability: availability::line(analysis),
        power: physical::power(analysis),
        poe: physical::poe(analysis),
        lengths: physical::lengths(analysis),
        ..Report::default()
    };
    report.verdict = verdict::sentence(analysis, &report);
    report
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
