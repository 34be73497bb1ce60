//! A delay that can really happen: the sum of what can be ahead of a packet at every queue.
//!
//! In a tree, streams that meet a packet at a queue for the first time come from parts of the network
//! that it never saw, so each of those inputs can deliver one packet at the very instant, and the
//! box's own streams all can; whatever came with the packet over the same link only adds.

use crate::stairs::{Stair, is_own};

/// What the inputs of one queue can put ahead of a packet at one instant, classes so far.
#[derive(Default)]
pub(crate) struct Inputs {
    /// Each class one after the other.
    inputs: Vec<Input>,
    /// Where each class starts.
    start: Vec<usize>,
    all: u64,
}

/// One link that packets of a class come by.
#[derive(Debug, Clone, Copy)]
struct Input {
    feeder: u32,
    work: u64,
    members: usize,
}

impl Inputs {
    pub(crate) fn clear(&mut self) {
        self.inputs.clear();
        self.start.clear();
        self.all = 0;
    }

    /// The next lower class: its staircases, those of a feeder together.
    pub(crate) fn add_class(&mut self, stairs: &[Stair]) {
        self.start.push(self.inputs.len());
        for group in stairs.chunk_by(|a, b| a.feeder == b.feeder) {
            let feeder = group[0].feeder;
            let work = if is_own(feeder) {
                group.iter().fold(0, |sum: u64, stair| sum.saturating_add(stair.step()))
            } else {
                group.iter().map(|stair| stair.send).max().unwrap_or(0)
            };
            self.inputs.push(Input { feeder, work, members: group.len() });
            self.all = self.all.saturating_add(work);
        }
    }

    /// Inputs of the last class: feeder, work and how many staircases.
    pub(crate) fn last_class(&self) -> impl Iterator<Item = (u32, u64, usize)> {
        let start = self.start.last().copied().unwrap_or(0);
        self.inputs[start..].iter().map(|input| (input.feeder, input.work, input.members))
    }

    /// Work that can be ahead of one packet of the last class: of all classes so far, from all other inputs than its own with
    /// that much work, and from the box itself (there its own frame counts too).
    pub(crate) fn ahead_of(&self, feeder: u32, work: u64) -> u64 {
        if is_own(feeder) {
            return self.all;
        }
        let higher = &self.inputs[..self.start.last().copied().unwrap_or(0)];
        let behind: u64 = higher.iter().filter(|input| input.feeder == feeder).map(|input| input.work).sum();
        self.all.saturating_sub(behind).saturating_sub(work)
    }
}
