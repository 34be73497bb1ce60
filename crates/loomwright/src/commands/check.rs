//! `loomwright check PLAN`: the proof.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::paint::{self, paint};
use crate::side_by_side::side_by_side;
use crate::{output, progress, text};
use loomwright_proof::{Report, prove_beside, prove_briefly, report};

/// Proves the wiring and prints what was asked for: everything, one stream, or every failure.
pub fn run(arguments: &arguments::Check) -> Result<Outcome, Failure> {
    let Some(plan) = arguments.plan.as_deref().filter(|_| !arguments.schema) else {
        output::data(&format!("{}\n", report::schema()))?;
        return Ok(Outcome::Ready);
    };
    let opened = load::open(plan)?;
    let loaded = &opened.loaded;
    // Failures by name are long lists on a large plan: only for those who print them.
    let prove = if arguments.failures || arguments.json { prove_beside } else { prove_briefly };
    let mut report = progress::during("proving", || prove((&loaded.plan, &loaded.wiring), &loaded.source_map, side_by_side));
    report.plan.digest.clone_from(&loaded.digest);
    if opened.wiring_text.is_none() {
        output::talk(&format!("There is no {} yet; `loomwright design {}` writes one.", opened.paths.wiring.display(), plan.display()));
    }
    print(arguments, &report)?;
    Ok(Outcome::ready_if(report.ready))
}

fn print(arguments: &arguments::Check, report: &Report) -> Result<(), Failure> {
    match &arguments.stream {
        Some(stream) => print_stream(stream, report, arguments.json),
        None if arguments.failures && arguments.json => {
            output::json(&serde_json::json!({ "failures": report.failures, "pairs": report.pairs }))
        }
        None if arguments.failures => output::data(&text::failures::table(&report.failures)),
        None if arguments.buffers && arguments.json => {
            output::json(&serde_json::json!({ "in_phase": report.in_phase, "journeys": report.journeys, "memory": report.memory }))
        }
        None if arguments.buffers => output::data(&text::buffers::text(report)),
        None if arguments.json => output::json(report),
        None => output::data(&whole(report)),
    }
}

/// Verdict first, then findings by harm, then the figures behind it.
fn whole(report: &Report) -> String {
    let style = if report.ready { paint::READY } else { paint::STOP };
    let title = match report.plan.revision.as_str() {
        "" => report.plan.name.clone(),
        revision => format!("{}, revision {revision}", report.plan.name),
    };
    let findings = text::findings::text(&report.findings);
    format!("{}\n{title}\n{findings}{}", paint(style, &report.verdict), text::figures::text(report))
}

fn print_stream(id: &str, report: &Report, as_json: bool) -> Result<(), Failure> {
    let lines: Vec<&report::StreamLine> = report.streams.iter().filter(|line| line.id == id).collect();
    if lines.is_empty() {
        let mut known: Vec<&str> = report.streams.iter().map(|line| line.id.as_str()).collect();
        known.dedup();
        return Err(Failure::new(format!("no stream `{id}` arrives anywhere"), format!("Name one of these: {}.", known.join(", "))));
    }
    if as_json { output::json(&serde_json::json!({ "streams": lines })) } else { output::data(&text::derivation::text(&lines)) }
}
