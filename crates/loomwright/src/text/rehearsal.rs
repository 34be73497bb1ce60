//! A rehearsal in words.

use super::{count, wrapped};
use crate::paint::{self, paint};
use loomwright_rehearsal::Report;
use loomwright_rehearsal::report::{Difference, OutageLine, StepLine};
use std::fmt::Write;

/// Differences of one step that are written out. Own choice: the rest follows from them.
const DIFFERENCES: usize = 6;

/// The whole of it: what was built, what differs, how long silences were, what it does not show.
pub fn report(report: &Report) -> String {
    let mut out = built(report);
    out.push_str(&intact(report));
    let mut silences = String::new();
    for step in &report.steps {
        out.push_str(&one(step));
        silences.push_str(&outages(step));
    }
    for step in &report.not_tried {
        let _ = writeln!(out, "{} {}: {}", paint(paint::STOP, "not tried"), step.without, step.reason);
    }
    if !silences.is_empty() {
        let _ = writeln!(
            out,
            "\n{}",
            paint(paint::STRONG, "Silences that ended (longest stream of each, and the bound predicted for the timers here)")
        );
        out.push_str(&silences);
    }
    for (title, lines) in [("What was changed", &report.notes), ("What this machine cannot show", &report.cannot_check)] {
        let _ = writeln!(out, "\n{}", paint(paint::STRONG, title));
        lines.iter().for_each(|line| out.push_str(&wrapped("- ", line)));
    }
    let _ = writeln!(out, "\n{}", verdict(report));
    out
}

fn built(report: &Report) -> String {
    let built = &report.built;
    format!(
        "Built on {} in {} ms: {}, {}, {}; {} and {}; {}.\n\n",
        built.kernel,
        built.network_ms,
        count(built.spaces, "namespace", "namespaces"),
        count(built.bridges, "bridge", "bridges"),
        count(built.leads, "virtual cable", "virtual cables"),
        count(built.senders, "sender", "senders"),
        count(built.listeners, "receiver", "receivers"),
        count(built.copies, "copy", "copies")
    )
}

fn intact(report: &Report) -> String {
    let mut out = format!("{} all plugged in\n", word(report.intact.agrees && report.tree_differences.is_empty()));
    out.push_str(&differences(&report.intact.differences));
    for says in &report.tree_differences {
        out.push_str(&wrapped("          ", says));
    }
    out
}

fn word(agrees: bool) -> String {
    if agrees { "agrees   ".to_owned() } else { format!("{}  ", paint(paint::STOP, "DIFFERS")) }
}

fn one(step: &StepLine) -> String {
    let frozen = if step.frozen { " (frozen)" } else { "" };
    let silent = match step.silent.len() {
        0 => "nobody falls silent".to_owned(),
        silent => format!("silent: {}", count(silent, "stream at a receiver and network", "streams by receiver and network")),
    };
    let gone = if step.gone_too.is_empty() { String::new() } else { format!("; dark with it: {}", step.gone_too.join(", ")) };
    format!("{} without {}{frozen}: {silent}{gone}\n{}", word(step.agrees), step.without, differences(&step.differences))
}

fn differences(all: &[Difference]) -> String {
    let mut out = String::new();
    for line in all.iter().take(DIFFERENCES) {
        let network = line.network.as_ref().map_or(String::new(), |network| format!(" on network {network}"));
        let _ = writeln!(out, "          {} at {}{network}: predicted {}, was {}", line.stream, line.to, line.expected, line.seen);
    }
    if all.len() > DIFFERENCES {
        let _ = writeln!(out, "          and {} more", all.len() - DIFFERENCES);
    }
    out
}

fn outages(step: &StepLine) -> String {
    let Some(longest) = step.outages.iter().max_by_key(|outage| outage.silent_ms) else { return String::new() };
    let seconds = |ms: u64| format!("{}.{} s", ms / 1_000, ms % 1_000 / 100);
    let bound = |outage: &OutageLine| outage.at_most_ms.map_or("none predicted".to_owned(), |ms| format!("at most {}", seconds(ms)));
    let frozen = if step.frozen { " (frozen)" } else { "" };
    format!("  without {}{frozen}: {} at {} {}; {}\n", step.without, longest.stream, longest.to, seconds(longest.silent_ms), bound(longest))
}

fn verdict(report: &Report) -> String {
    let differ = report.steps.iter().filter(|step| !step.agrees).count();
    let intact = report.intact.agrees && report.tree_differences.is_empty();
    match (report.agrees, report.steps.len()) {
        (true, 0) => "With all plugged in the kernel and the prediction agree; nothing was taken away.".to_owned(),
        (true, tried) => format!("Kernel and prediction agree on all {tried} of {tried}, after {} s.", report.built.seconds),
        (false, _) if !intact => "Already with all plugged in the kernel and the prediction differ.".to_owned(),
        (false, tried) => format!("Kernel and prediction differ on {differ} of {tried}; {} could not be tried.", report.not_tried.len()),
    }
}
