//! The one sentence a person can act on.

use crate::analysis::Analysis;
use crate::report::Report;
use crate::wording::count;
use loomwright_model::{Severity, Survive, Time};

/// The verdict of a report whose findings and streams are filled in.
///
/// `Not ready: 3 things stop the show.`, `Ready, with 4 warnings. 38 streams arrive within 212.34 us of the 1 ms
/// allowed; no single failure silences an essential stream.`
pub(crate) fn sentence(analysis: &Analysis, report: &Report) -> String {
    let how_many = |severity: Severity| report.findings.iter().filter(|finding| finding.severity == severity.word()).count();
    match (how_many(Severity::Stop), how_many(Severity::Warn)) {
        (0, 0) => format!("Ready. {}", reason(analysis, report)),
        (0, warnings) => format!("Ready, with {}. {}", count(warnings, "warning"), reason(analysis, report)),
        (1, _) => "Not ready: 1 thing stops the show.".to_owned(),
        (stops, _) => format!("Not ready: {stops} things stop the show."),
    }
}

fn reason(analysis: &Analysis, report: &Report) -> String {
    let parts = [arrival(analysis, report), survival(analysis, report)];
    let said: Vec<String> = parts.into_iter().flatten().collect();
    match said.is_empty() {
        true => "Nothing is to be heard yet: the plan has no streams.".to_owned(),
        false => format!("{}.", capital(&said.join("; "))),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn arrival(analysis: &Analysis, report: &Report) -> Option<String> {
    let n = analysis.plan.streams.len();
    let verb = if n == 1 { "arrives" } else { "arrive" };
    let worst = report.streams.iter().filter_map(|stream| stream.delay.as_ref()).map(|delay| delay.worst_ns).max();
    let known = report.streams.iter().all(|stream| stream.delay.is_some());
    match (n, worst) {
        (0, _) => None,
        (_, Some(worst)) if known => {
            let (allowed, worst) = (analysis.plan.targets.network_delay, Time::from_nanoseconds(worst));
            Some(match worst <= allowed {
                true => format!("{} {verb} within {worst} of the {allowed} allowed", count(n, "stream")),
                false => format!("{} {verb}, the latest after {worst}, where the plan allows {allowed}", count(n, "stream")),
            })
        }
        _ => Some(format!("{} {verb}", count(n, "stream"))),
    }
}

/// What failures do to essential streams, whether the plan asks for it or not.
fn survival(analysis: &Analysis, report: &Report) -> Option<String> {
    if report.counts.tried == 0 || !analysis.plan.streams.values().any(|stream| stream.essential) {
        return None;
    }
    Some(match (report.counts.silencing_essential, analysis.plan.targets.survive) {
        (0, Survive::AnyTwo) if report.pairs.count == 0 => "no two failures silence an essential stream".to_owned(),
        (0, _) => "no single failure silences an essential stream".to_owned(),
        (1, _) => "1 single failure silences an essential stream".to_owned(),
        (n, _) => format!("{n} single failures each silence an essential stream"),
    })
}

#[cfg(test)]
mod tests {
    use crate::prove;
    use crate::trial::Trial;
    use loomwright_model::{Nowhere, Time};

    #[test]
    fn never_says_within_when_it_is_over() {
        let mut trial = Trial::good();
        assert!(prove(&trial.plan, &trial.wiring, &Nowhere).verdict.contains("within"));
        trial.plan.targets.network_delay = Time::from_nanoseconds(1);
        let verdict = prove(&trial.plan, &trial.wiring, &Nowhere).verdict;
        assert!(verdict.contains("the latest after") && !verdict.contains("within"), "{verdict}");
    }
}
