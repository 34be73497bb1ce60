//! What the two files say of each other, value by value, once both have been read.

mod cables;
mod devices;
mod interfaces;
mod listening;
mod ports;

use crate::log::{File, Log, Stretch};
use crate::tree::Trees;
use loomwright_model::{Gear, Id, Plan, Wiring};

/// Everything a check needs.
pub(crate) struct Context<'a, 'i> {
    trees: &'a Trees<'a, 'i>,
    plan: &'a Plan,
    wiring: &'a Wiring,
    doubtful_gear: Vec<Id>,
}

impl<'a> Context<'a, '_> {
    /// A gear type, unless it could not be read in full.
    fn gear(&self, id: &Id) -> Option<&'a Gear> {
        self.plan.gear.get(id).filter(|_| !self.doubtful_gear.contains(id))
    }

    /// The stretch of a file at the end of a path through it.
    fn at<'l>(&self, at: (File, &[&str]), log: &'l mut Log) -> Stretch<'l> {
        log.file = at.0;
        log.at(self.trees.span(at.0, at.1))
    }
}

/// Runs every check on whatever could be read.
pub(crate) fn all(trees: &Trees<'_, '_>, plan: &Plan, wiring: &Wiring, log: &mut Log) {
    let context = Context { trees, plan, wiring, doubtful_gear: std::mem::take(&mut log.doubtful_gear) };
    devices::check(&context, log);
    cables::check(&context, log);
    interfaces::check(&context, log);
    listening::check(&context, log);
}
