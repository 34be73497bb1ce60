//! A net as flat lists: hops of all trains in one row, those of a queue together; queues in the order in which packets
//! reach them.

use crate::net::{Hop, Net, Train};
use std::ops::Range;

/// One hop of one train.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    pub(crate) send: u64,
    pub(crate) queue: u32,
    pub(crate) train: u32,
    /// Its onward hops in [`Compiled::onward`].
    pub(crate) first_onward: u32,
    pub(crate) onwards: u32,
    pub(crate) class: u8,
}

/// A hop that follows another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Onward {
    /// From the last bit onto the cable before to standing in this hop's queue.
    pub(crate) after: u64,
    pub(crate) hop: u32,
    pub(crate) queue: u32,
}

/// The whole net.
#[derive(Debug, Clone)]
pub(crate) struct Compiled {
    /// By queue, then by train.
    pub(crate) steps: Vec<Step>,
    pub(crate) onward: Vec<Onward>,
    /// The step of each hop, train by train.
    pub(crate) step_of: Vec<u32>,
    /// First hop of each train in [`Self::step_of`]; one longer than the trains.
    pub(crate) train_start: Vec<u32>,
    /// Queues, each after all from which packets come to it; `None` if they follow each other in a circle.
    pub(crate) order: Option<Vec<u32>>,
    /// Whether packets of more than one class pass, by queue.
    pub(crate) is_mixed: Vec<bool>,
}

impl Compiled {
    /// O(hops).
    pub(crate) fn new(net: &Net) -> Self {
        let (mut steps, mut onward, mut train_start) = (Vec::new(), Vec::new(), vec![0]);
        for (train, spec) in net.trains.iter().enumerate() {
            let first = steps.len();
            for hop in &spec.hops {
                let Hop { queue, send, .. } = *hop;
                steps.push(Step { send, queue, train: train as u32, first_onward: 0, onwards: 0, class: spec.class });
            }
            add_onward(net, spec, (&mut steps[first..], first as u32, &mut onward));
            train_start.push(steps.len() as u32);
        }
        let is_mixed = mixed(&steps, net.queues.len());
        let order = order(&steps, &onward, net.queues.len());
        let mut compiled = Self { steps, onward, step_of: Vec::new(), train_start, order, is_mixed };
        compiled.gather();
        compiled
    }

    /// Puts the steps of a queue side by side, so that serving it walks through memory, not about in it.
    fn gather(&mut self) {
        let mut place = vec![0; self.is_mixed.len()];
        for (at, queue) in self.order.iter().flatten().enumerate() {
            place[*queue as usize] = at as u32;
        }
        let mut from: Vec<u32> = (0..self.steps.len() as u32).collect();
        from.sort_by_key(|step| place[self.steps[*step as usize].queue as usize]);
        self.step_of = vec![0; from.len()];
        for (to, from) in from.iter().enumerate() {
            self.step_of[*from as usize] = to as u32;
        }
        self.onward.iter_mut().for_each(|next| next.hop = self.step_of[next.hop as usize]);
        let onward: Vec<Onward> = from.iter().flat_map(|step| self.onward_of(&self.steps[*step as usize])).copied().collect();
        self.steps = from.iter().map(|step| self.steps[*step as usize]).collect();
        let mut next = 0;
        for step in &mut self.steps {
            step.first_onward = next;
            next += step.onwards;
        }
        self.onward = onward;
    }

    pub(crate) fn onward_of(&self, step: &Step) -> &[Onward] {
        &self.onward[range(step)]
    }
}

fn range(step: &Step) -> Range<usize> {
    step.first_onward as usize..(step.first_onward + step.onwards) as usize
}

/// Fills in which hops of one train follow each other: counts, then places.
fn add_onward(net: &Net, spec: &Train, (steps, first, onward): (&mut [Step], u32, &mut Vec<Onward>)) {
    for parent in spec.hops.iter().filter_map(|hop| hop.parent) {
        steps[parent as usize].onwards += 1;
    }
    let mut next = onward.len() as u32;
    for step in steps.iter_mut() {
        step.first_onward = next;
        next += step.onwards;
        step.onwards = 0;
    }
    onward.resize(next as usize, Onward { after: 0, hop: 0, queue: 0 });
    for (at, hop) in spec.hops.iter().enumerate() {
        let Some(before) = hop.parent.map(|parent| &mut steps[parent as usize]) else { continue };
        let after = net.queues[before.queue as usize].propagation + hop.before;
        onward[(before.first_onward + before.onwards) as usize] = Onward { after, hop: first + at as u32, queue: hop.queue };
        before.onwards += 1;
    }
}

fn mixed(steps: &[Step], queues: usize) -> Vec<bool> {
    let mut class = vec![None; queues];
    let mut is_mixed = vec![false; queues];
    for step in steps {
        let at = step.queue as usize;
        is_mixed[at] |= class[at].is_some_and(|known| known != step.class);
        class[at] = Some(step.class);
    }
    is_mixed
}

/// Takes away queues that nothing leads to, again and again.
fn order(steps: &[Step], onward: &[Onward], queues: usize) -> Option<Vec<u32>> {
    let edges = steps.iter().flat_map(|step| onward[range(step)].iter().map(|next| (step.queue, next.queue)));
    let mut edges: Vec<(u32, u32)> = edges.collect();
    edges.sort_unstable();
    edges.dedup();
    let mut waits_for = vec![0u32; queues];
    edges.iter().for_each(|(_, to)| waits_for[*to as usize] += 1);
    let mut order: Vec<u32> = (0..queues as u32).filter(|queue| waits_for[*queue as usize] == 0).collect();
    let mut done = 0;
    while let Some(queue) = order.get(done).copied() {
        done += 1;
        let first = edges.partition_point(|(from, _)| *from < queue);
        for (_, to) in edges[first..].iter().take_while(|(from, _)| *from == queue) {
            waits_for[*to as usize] -= 1;
            if waits_for[*to as usize] == 0 {
                order.push(*to);
            }
        }
    }
    (order.len() == queues).then_some(order)
}
