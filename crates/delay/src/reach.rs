//! A delay that can really happen: the sum of what can be ahead of a packet at every queue.
//!
//! In a tree, streams that meet a packet at a queue for the first time come from parts of the network
//! that it never saw, so each of those inputs can deliver one packet at the very instant, and the
//! box's own streams all can; whatever came with the packet over the same link only adds.

use crate::network::NONE;
use crate::sweep::Sweep;

/// What one input can put ahead of a packet at one instant.
#[derive(Debug, Clone, Copy)]
struct Input {
    class: u8,
    feeder: u32,
    work: u64,
}

/// Inputs of every queue.
pub(crate) struct Reach {
    inputs: Vec<Input>,
    start: Vec<u32>,
}

impl Reach {
    /// O(entries).
    pub(crate) fn new(sweep: &Sweep) -> Self {
        let layout = &sweep.layout;
        let mut reach = Self { inputs: Vec::new(), start: Vec::with_capacity(sweep.classes.len() + 1) };
        for port in 0..sweep.classes.len() {
            reach.start.push(reach.inputs.len() as u32);
            let entries = layout.at_port(port).iter().map(|at| &layout.entries[*at as usize]);
            let first = reach.inputs.len();
            for entry in entries {
                let known = reach.inputs[first..].last_mut().filter(|input| (input.class, input.feeder) == (entry.class, entry.feeder));
                match known {
                    Some(input) if entry.feeder == NONE => input.work = input.work.saturating_add(entry.send.saturating_mul(entry.count)),
                    Some(input) => input.work = input.work.max(entry.send),
                    None => {
                        let count = if entry.feeder == NONE { entry.count } else { 1 };
                        let work = entry.send.saturating_mul(count);
                        reach.inputs.push(Input { class: entry.class, feeder: entry.feeder, work });
                    }
                }
            }
        }
        reach.start.push(reach.inputs.len() as u32);
        reach
    }

    /// Work that can be ahead of one packet of `class` that comes in by `feeder`: of its class and
    /// above, from all other inputs, and from the box itself (its own frame not counted).
    pub(crate) fn at(&self, port: usize, stream: Arriving) -> u64 {
        let inputs = &self.inputs[self.start[port] as usize..self.start[port + 1] as usize];
        let counted = inputs.iter().filter(|input| input.class >= stream.class && (input.feeder == NONE || input.feeder != stream.feeder));
        let all = counted.fold(0u64, |sum, input| sum.saturating_add(input.work));
        if stream.feeder == NONE { all.saturating_sub(stream.send) } else { all }
    }
}

/// A packet at a queue.
pub(crate) struct Arriving {
    pub(crate) class: u8,
    pub(crate) feeder: u32,
    pub(crate) send: u64,
}
