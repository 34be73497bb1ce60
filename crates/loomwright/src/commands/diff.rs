//! `loomwright diff OLD NEW`: what to re-patch between two revisions.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::output;
use crate::paint::{self, paint};
use crate::text::{count, wrapped};
use loomwright_proof::diff::{Change, Step, compare};

/// Prints every change in working order.
pub fn run(arguments: &arguments::Diff) -> Result<Outcome, Failure> {
    let (old, new) = (load::open(&arguments.old)?.loaded, load::open(&arguments.new)?.loaded);
    let changes = compare((&old.plan, &old.wiring), (&new.plan, &new.wiring));
    if arguments.json {
        output::json(&changes)?
    } else {
        output::data(&said(&changes))?
    }
    Ok(Outcome::Ready)
}

fn said(changes: &[Change]) -> String {
    if changes.is_empty() {
        return "Nothing to change.\n".to_owned();
    }
    let mut text = format!("{}\n", count(changes.len(), "change, in working order", "changes, in working order"));
    for steps in changes.chunk_by(|one, other| one.step == other.step) {
        text.push_str(&format!("\n{}\n", paint(paint::STRONG, heading(steps[0].step))));
        steps.iter().for_each(|change| text.push_str(&wrapped(&format!("  {}  ", change.item), &change.says)));
    }
    text
}

fn heading(step: Step) -> &'static str {
    match step {
        Step::Unplug => "Unplug",
        Step::TakeOut => "Take out",
        Step::PutIn => "Put in or move",
        Step::Run => "Run",
        Step::MoveEnd => "Plug over",
        Step::Relay => "Stays plugged, but changes",
        Step::Set => "Set",
        Step::Address => "Readdress",
        Step::Stream => "Listen for",
    }
}
