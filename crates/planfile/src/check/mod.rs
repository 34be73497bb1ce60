//! What the two files say of each other, value by value, once both have been read.

mod cables;
mod devices;
mod interfaces;
mod ports;

use crate::log::{File, Log};
use crate::tree::{Step, Trees};
use loomwright_model::{Plan, Wiring};

/// Everything a check needs.
pub(crate) struct Context<'a, 'i> {
    trees: &'a Trees<'a, 'i>,
    plan: &'a Plan,
    wiring: &'a Wiring,
}

impl Context<'_, '_> {
    /// Reports a problem at the end of a path through a file.
    fn report(&self, at: (File, &[Step<'_>]), code: &'static str, text: (String, String), log: &mut Log) {
        log.file = at.0;
        log.add(code, self.trees.span(at.0, at.1), text.0, text.1);
    }
}

/// Runs every check on whatever could be read.
pub(crate) fn all(trees: &Trees<'_, '_>, plan: &Plan, wiring: &Wiring, log: &mut Log) {
    let context = Context { trees, plan, wiring };
    devices::check(&context, log);
    cables::check(&context, log);
    interfaces::check(&context, log);
}
