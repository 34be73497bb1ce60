//! A delay that can really happen: the sum of what can be ahead of a packet at every queue.
//!
//! In a tree, streams that meet a packet at a queue for the first time come from parts of the network
//! that it never saw, so each of those inputs can deliver one packet at the very instant, and the
//! box's own streams all can; whatever came with the packet over the same link only adds.

use crate::layout::Entry;
use crate::network::NONE;

/// What the inputs of one queue can put ahead of a packet at one instant, classes so far.
#[derive(Default)]
pub(crate) struct Inputs {
    /// Feeder and work, of each class one after the other, each in the order of feeders.
    work: Vec<(u32, u64)>,
    /// Where each class starts in `work`.
    start: Vec<usize>,
    all: u64,
}

impl Inputs {
    pub(crate) fn clear(&mut self) {
        self.work.clear();
        self.start.clear();
        self.all = 0;
    }

    /// The next lower class: its entries, those of a feeder together.
    pub(crate) fn add_class(&mut self, entries: &[Entry]) {
        self.start.push(self.work.len());
        for group in entries.chunk_by(|a, b| a.feeder == b.feeder) {
            let work = match group[0].feeder {
                NONE => group.iter().fold(0, |sum: u64, entry| sum.saturating_add(entry.step())),
                _ => group.iter().map(|entry| entry.send).max().unwrap_or(0),
            };
            self.work.push((group[0].feeder, work));
            self.all = self.all.saturating_add(work);
        }
    }

    /// Work that can be ahead of one packet of the last class: of all classes so far, from all other inputs, and from
    /// the box itself (there its own frame counts too).
    pub(crate) fn ahead_of(&self, feeder: u32) -> u64 {
        if feeder == NONE {
            return self.all;
        }
        let ends = self.start[1..].iter().copied().chain([self.work.len()]);
        let own = self.start.iter().zip(ends).map(|(start, end)| {
            let class = &self.work[*start..end];
            class.binary_search_by_key(&feeder, |input| input.0).map_or(0, |at| class[at].1)
        });
        self.all.saturating_sub(own.sum())
    }
}
