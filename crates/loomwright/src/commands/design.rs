//! `loomwright design PLAN`: decides the wiring and writes it beside the plan.

use super::load::{self, Opened};
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::paint::{self, paint};
use crate::text::{self, count, length, wrapped};
use crate::{files, output, progress};
use loomwright_design::{Decision, Designed, design};
use loomwright_model::{Severity, Wiring};
use loomwright_planfile::{Source, update_wiring, write_wiring};
use serde::Serialize;

/// What was decided, for programs.
#[derive(Serialize)]
struct Told<'a> {
    wiring_file: String,
    written: bool,
    switches: usize,
    cables: usize,
    cable_length_mm: u64,
    decisions: Vec<serde_json::Value>,
    findings: Vec<loomwright_proof::report::FindingLine>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wiring: Option<&'a str>,
}

/// Decides, keeps what is held, and writes in one step unless it is a dry run.
pub fn run(arguments: &arguments::Design) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let before = &opened.loaded.wiring;
    let designed = progress::during("designing", || design(&opened.loaded.plan, before));
    let text = wiring_text(&opened, &designed.wiring)?;
    if !arguments.dry_run {
        files::replace(&opened.paths.wiring, text.as_bytes())?;
    }
    match arguments.json {
        true => output::json(&told(&opened, &designed, arguments.dry_run.then_some(&text)))?,
        false => output::data(&said(&designed))?,
    }
    let wiring = opened.paths.wiring.display();
    output::talk(&if arguments.dry_run { format!("Dry run: {wiring} is as it was.") } else { format!("Wrote {wiring}.") });
    Ok(Outcome::ready_if(designed.findings.iter().all(|finding| finding.severity != Severity::Stop)))
}

/// The wiring as text: the old file with what changed, so that comments stay, or a new one.
pub(super) fn wiring_text(opened: &Opened, wiring: &Wiring) -> Result<String, Failure> {
    let Some(text) = &opened.wiring_text else { return Ok(write_wiring(wiring)) };
    let name = opened.paths.wiring.display().to_string();
    let old = Source { name: &name, text };
    update_wiring(old, wiring).map_err(|problems| load::failure(&problems, &[old]))
}

fn said(designed: &Designed) -> String {
    let decisions: String = designed.decisions.iter().map(decision).collect();
    let findings = text::findings::text(&text::findings::lines(&designed.findings));
    format!("{decisions}{findings}\n{}\n", paint(paint::STRONG, summary(&designed.wiring)))
}

fn decision(decision: &Decision) -> String {
    format!("{}\n{}{}", decision.item, wrapped("  ", &decision.says), wrapped("  because ", &decision.because))
}

fn summary(wiring: &Wiring) -> String {
    let switches = count(wiring.switches.len(), "switch", "switches");
    let cables = count(wiring.cables.len(), "cable", "cables");
    let metres = length(wiring.cables.values().map(|cable| cable.length).sum::<loomwright_model::Length>().millimetres());
    let addresses = count(wiring.interfaces.len(), "address", "addresses");
    format!("{switches}, {cables} of together {metres}, {addresses}, {}", count(wiring.groups.len(), "multicast group", "multicast groups"))
}

fn told<'a>(opened: &Opened, designed: &Designed, dry: Option<&'a String>) -> Told<'a> {
    let decision = |d: &Decision| serde_json::json!({ "item": d.item.to_string(), "says": d.says, "because": d.because });
    Told {
        wiring_file: opened.paths.wiring.display().to_string(),
        written: dry.is_none(),
        switches: designed.wiring.switches.len(),
        cables: designed.wiring.cables.len(),
        cable_length_mm: designed.wiring.cables.values().map(|cable| cable.length).sum::<loomwright_model::Length>().millimetres(),
        decisions: designed.decisions.iter().map(decision).collect(),
        findings: text::findings::lines(&designed.findings),
        wiring: dry.map(String::as_str),
    }
}
