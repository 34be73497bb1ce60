//! `loomwright design PLAN`: decides the wiring and writes it beside the plan.

use super::load::{self, Opened};
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::paint::{self, paint};
use crate::text::{self, count, length, wrapped};
use crate::{files, output, progress};
use loomwright_design::conflict::conflict;
use loomwright_design::redesign::{Redesigned, Repatch, redesign_watched, repatch};
use loomwright_design::{Decision, Designed, Stage, design_watched};
use loomwright_listening::Stop;
use loomwright_model::{Plan, Severity, Wiring};
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
    moved_ends: usize,
    useless_cables: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    repatch: Option<Vec<serde_json::Value>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wiring: Option<&'a str>,
}

/// Decides, keeps what is plugged in, and writes in one step unless it is a dry run.
pub fn run(arguments: &arguments::Design) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let before = &opened.loaded.wiring;
    let plan = &opened.loaded.plan;
    let (redesigned, is_early) = decided(plan, before, arguments.afresh);
    let designed = &redesigned.designed;
    let why = why_not(plan, before, designed);
    let work = arguments.repatch.then(|| progress::during("ordering the work", || repatch(plan, before, &designed.wiring)));
    let text = wiring_text(&opened, &designed.wiring)?;
    if !arguments.dry_run {
        files::replace(&opened.paths.wiring, text.as_bytes())?;
    }
    match arguments.json {
        true => {
            output::json(&Told { repatch: work.as_ref().map(steps), ..told(&opened, &redesigned, arguments.dry_run.then_some(&text)) })?
        }
        false => output::data(&format!("{}{why}", work.map_or_else(|| said(designed), |work| listed(&work, &redesigned))))?,
    }
    if is_early {
        output::talk("Stopped on request: this is the best wiring found so far, whole and proved like any other.");
    }
    let wiring = opened.paths.wiring.display();
    output::talk(&if arguments.dry_run { format!("Dry run: {wiring} is as it was.") } else { format!("Wrote {wiring}.") });
    Ok(Outcome::ready_if(designed.findings.iter().all(|finding| finding.severity != Severity::Stop)))
}

/// Designs with a sign of how far it is. Ctrl-C takes the best found so far; returns whether that was asked.
fn decided(plan: &Plan, before: &Wiring, afresh: bool) -> (Redesigned, bool) {
    // Where the system refuses, Ctrl-C ends the program as usual.
    let mut stop = Stop::new().ok();
    let mut is_early = false;
    let redesigned = progress::during_steps("designing", |says| {
        let mut watch = |stage: Stage| {
            says(&text::stage::says(stage));
            is_early |= stop.as_mut().is_some_and(Stop::is_wished);
            !is_early
        };
        match afresh {
            true => Redesigned { designed: design_watched(plan, before, &mut watch), moved_ends: 0, useless: Vec::new() },
            false => redesign_watched(plan, before, &mut watch),
        }
    });
    (redesigned, is_early)
}

/// Largest plan for which the smallest conflict is looked for. Own choice: it takes a design for every device or so.
const MOST_DEVICES: usize = 200;

/// The smallest set of demands that cannot be met together, where something stops the design.
fn why_not(plan: &Plan, before: &Wiring, designed: &Designed) -> String {
    let stops = designed.findings.iter().any(|finding| finding.severity == Severity::Stop);
    let found = (stops && plan.devices.len() <= MOST_DEVICES)
        .then(|| progress::during("looking for the reason", || conflict(plan, before)))
        .flatten();
    found.map_or(String::new(), |found| {
        format!("\n{}\n{}", paint(paint::STRONG, "Why it cannot be wired as asked"), wrapped("  ", &found.says))
    })
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

/// The re-patch list, for programs: the way back is every `undo`, last step first.
fn steps(work: &Repatch) -> Vec<serde_json::Value> {
    let step = |step: &loomwright_design::redesign::RepatchStep| {
        serde_json::json!({
            "item": step.item.to_string(), "says": step.says, "undo": step.undo, "silent_during": step.silent_during,
            "silent_after": step.silent_after, "restarts": step.restarts.as_ref().map(ToString::to_string), "closes_loop": step.closes_loop,
        })
    };
    work.steps.iter().map(step).collect()
}

/// The re-patch list for people.
fn listed(work: &Repatch, redesigned: &Redesigned) -> String {
    if work.steps.is_empty() {
        return "Nothing to re-patch.\n".to_owned();
    }
    let mut text =
        format!("{}, {} moved\n", count(work.steps.len(), "step", "steps"), count(redesigned.moved_ends, "plugged end", "plugged ends"));
    text.push_str(&wrapped("", if work.is_quiet() { QUIET } else { NOT_QUIET }));
    text.push('\n');
    for (n, step) in work.steps.iter().enumerate() {
        let mut first = format!("{:>4}  ", n + 1);
        for says in &step.says {
            text.push_str(&wrapped(&first, says));
            first = " ".repeat(6);
        }
        warnings(step).iter().for_each(|warning| text.push_str(&wrapped("      ! ", warning)));
    }
    text.push_str(&format!("\n{}\n", paint(paint::STRONG, "The way back")));
    work.undo().iter().enumerate().for_each(|(n, says)| text.push_str(&wrapped(&format!("{:>4}  ", n + 1), says)));
    text
}

const QUIET: &str = "In this order no essential stream that is heard before and after falls silent in between. Pull masters down all the same before the first plug.";
const NOT_QUIET: &str = "Lines marked ! silence essential streams for a while. Pull masters down and mute amplifiers first.";

/// How many streams a line names. Own choice: one line of a phone.
const NAMED: usize = 4;

fn warnings(step: &loomwright_design::redesign::RepatchStep) -> Vec<String> {
    let named = |streams: &[String]| {
        let more = streams.len().saturating_sub(NAMED);
        let names = streams.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
        if more == 0 { names } else { format!("{names} and {more} more") }
    };
    let mut says = Vec::new();
    if step.closes_loop {
        says.push("Closes a loop: do the next step in the same breath, or pull the other end first.".to_owned());
    }
    if !step.silent_during.is_empty() {
        says.push(format!("Silent while the plug is out: {}.", named(&step.silent_during)));
    }
    if !step.silent_after.is_empty() {
        says.push(format!("Silent until a later step: {}.", named(&step.silent_after)));
    }
    says.extend(step.restarts.as_ref().map(|id| format!("{id} may have to restart to take this; it is silent meanwhile.")));
    says
}

fn told<'a>(opened: &Opened, redesigned: &Redesigned, dry: Option<&'a String>) -> Told<'a> {
    let designed = &redesigned.designed;
    let decision = |d: &Decision| serde_json::json!({ "item": d.item.to_string(), "says": d.says, "because": d.because });
    Told {
        wiring_file: opened.paths.wiring.display().to_string(),
        written: dry.is_none(),
        switches: designed.wiring.switches.len(),
        cables: designed.wiring.cables.len(),
        cable_length_mm: designed.wiring.cables.values().map(|cable| cable.length).sum::<loomwright_model::Length>().millimetres(),
        decisions: designed.decisions.iter().map(decision).collect(),
        findings: text::findings::lines(&designed.findings),
        moved_ends: redesigned.moved_ends,
        useless_cables: redesigned.useless.iter().map(ToString::to_string).collect(),
        repatch: None,
        wiring: dry.map(String::as_str),
    }
}
