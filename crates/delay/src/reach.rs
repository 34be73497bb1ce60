//! A delay that can really happen: the sum of what can be ahead of a packet at every queue.
//!
//! In a tree, streams that meet a packet at a queue for the first time come from parts of the network
//! that it never saw, so each of those inputs can deliver one packet at the very instant, and the
//! box's own streams all can; whatever came with the packet over the same link only adds.

use crate::network::NONE;
use crate::sweep::Sweep;
use std::cmp::Reverse;

/// What one input can put ahead of a packet at one instant.
#[derive(Debug, Clone, Copy)]
struct Input {
    class: u8,
    feeder: u32,
    work: u64,
}

/// Inputs of every queue.
pub(crate) struct Reach {
    /// By class, highest first, then by feeder.
    inputs: Vec<Input>,
    start: Vec<u32>,
    /// Work of all inputs of a class and above: class and sum, by queue.
    sums: Vec<Vec<(u8, u64)>>,
}

impl Reach {
    /// O(entries).
    pub(crate) fn new(sweep: &Sweep) -> Self {
        let queues = sweep.queues();
        let mut reach = Self { inputs: Vec::new(), start: Vec::with_capacity(queues + 1), sums: Vec::with_capacity(queues) };
        for port in 0..queues {
            reach.start.push(reach.inputs.len() as u32);
            reach.add_inputs(sweep, port);
        }
        reach.start.push(reach.inputs.len() as u32);
        reach
    }

    fn add_inputs(&mut self, sweep: &Sweep, port: usize) {
        let layout = &sweep.layout;
        let first = self.inputs.len();
        for entry in layout.at_port(port).iter().map(|at| &layout.entries[*at as usize]) {
            let known = self.inputs[first..].last_mut().filter(|input| (input.class, input.feeder) == (entry.class, entry.feeder));
            let all = entry.send.saturating_mul(u64::from(entry.count));
            match known {
                Some(input) if entry.feeder == NONE => input.work = input.work.saturating_add(all),
                Some(input) => input.work = input.work.max(entry.send),
                None => {
                    let work = if entry.feeder == NONE { all } else { entry.send };
                    self.inputs.push(Input { class: entry.class, feeder: entry.feeder, work });
                }
            }
        }
        let mut sums: Vec<(u8, u64)> = Vec::new();
        for input in &self.inputs[first..] {
            let before = sums.last().map_or(0, |sum| sum.1);
            match sums.last_mut().filter(|sum| sum.0 == input.class) {
                Some(sum) => sum.1 = sum.1.saturating_add(input.work),
                None => sums.push((input.class, before.saturating_add(input.work))),
            }
        }
        self.sums.push(sums);
    }

    /// Work that can be ahead of one packet: of its class and above, from all other inputs, and from
    /// the box itself (its own frame not counted).
    pub(crate) fn at(&self, port: usize, packet: Arriving) -> u64 {
        let inputs = &self.inputs[self.start[port] as usize..self.start[port + 1] as usize];
        let Some((_, all)) = self.sums[port].iter().find(|(class, _)| *class == packet.class) else { return 0 };
        if packet.feeder == NONE {
            return all.saturating_sub(packet.send);
        }
        let above = self.sums[port].iter().map(|(class, _)| *class).take_while(|class| *class >= packet.class);
        let own = above.filter_map(|class| {
            let at = inputs.partition_point(|input| (Reverse(input.class), input.feeder) < (Reverse(class), packet.feeder));
            inputs.get(at).filter(|input| (input.class, input.feeder) == (class, packet.feeder)).map(|input| input.work)
        });
        all.saturating_sub(own.sum())
    }
}

/// A packet at a queue.
pub(crate) struct Arriving {
    pub(crate) class: u8,
    pub(crate) feeder: u32,
    pub(crate) send: u64,
}
