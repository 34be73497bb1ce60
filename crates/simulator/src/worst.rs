//! Making one packet as late as possible.
//!
//! [`worst_trace`] walks the tagged packet's queues from first to last. At each it plays what is fixed
//! so far, sees when the tagged packet arrives, and releases every train met there first so that its
//! packets, undisturbed, stand back to back before it: from each incoming cable the last one 1 ps
//! earlier. Then one lower-priority frame seizes the queue 1 ps before that rush begins. What the final
//! play shows is really reached, so it can only be at or below any sound bound. [`climb`] then moves
//! releases about, keeping what makes it later.

use crate::engine::{Blocker, Outcome, Release, run};
use crate::net::{Net, Train};
use oorandom::Rand64;

/// A schedule and how late it makes the tagged packet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reached {
    /// From release to last bit heard.
    pub delay: u64,
    /// Every packet of the schedule.
    pub releases: Vec<Release>,
    /// Every lower-priority frame of it.
    pub blockers: Vec<Blocker>,
}

/// Early enough that no release falls before zero.
const START: u64 = 1_000_000_000_000;

/// Builds the worst schedule for `train`'s packet at hop `hop`: the worst of a full rush at every queue and
/// of a sparse one, with a single packet from each incoming cable, as in a full rush packets can get into each
/// other's way before they arrive; each with the largest packets last, or those that will be longest in
/// the way further on.
pub fn worst_trace(net: &Net, train: u32, hop: u32) -> Reached {
    let rushes = [false, true].map(|is_sparse| [false, true].map(|looks_ahead| Rush { is_sparse, looks_ahead }));
    let mut worst: Option<Reached> = None;
    for rush in rushes.into_iter().flatten() {
        let reached = trace(net, (train, hop), rush);
        if worst.as_ref().is_none_or(|worst| reached.delay > worst.delay) {
            worst = Some(reached);
        }
    }
    worst.expect("there are four kinds of rush")
}

/// Who takes part in a rush, and in which order.
#[derive(Clone, Copy)]
struct Rush {
    /// Only one packet comes from each cable.
    is_sparse: bool,
    /// Last comes what is in the way longest anywhere on the rest of the path, else what is largest.
    looks_ahead: bool,
}

fn trace(net: &Net, (train, hop): (u32, u32), rush: Rush) -> Reached {
    let path = net.path(&net.trains[train as usize], hop).into_iter();
    let path: Vec<u32> = path.map(|step| net.trains[train as usize].hops[step as usize].queue).collect();
    let mut schedule =
        Schedule { net, train, releases: vec![Release { at: START, train }], blockers: Vec::new(), rush, path: path.clone() };
    for queue in path {
        let arrival = schedule.arrival_of_tagged(queue);
        schedule.rush(queue, arrival);
        if net.queues[queue as usize].blocker_bits > 0 {
            schedule.block(queue);
        }
    }
    schedule.reached(hop)
}

/// Tries `moves` small changes of `from`, keeping those that make the packet no less late.
pub fn climb(net: &Net, (train, hop): (u32, u32), from: Reached, (moves, seed): (u32, u64)) -> Reached {
    let mut chance = Rand64::new(u128::from(seed));
    let mut best = from;
    let steps: Vec<u64> = steps(net);
    for _ in 0..moves {
        let mut next = best.clone();
        let others = next.releases.len() + next.blockers.len();
        let pick = chance.rand_range(0..others as u64) as usize;
        let size = steps[chance.rand_range(0..steps.len() as u64) as usize];
        let at = match next.releases.len() {
            releases if pick < releases => &mut next.releases[pick].at,
            releases => &mut next.blockers[pick - releases].at,
        };
        *at = if chance.rand_range(0..2) == 0 { at.saturating_add(size) } else { at.saturating_sub(size) };
        let outcome = run(net, &next.releases, &next.blockers, &[]);
        next.delay = outcome.latest[train as usize][hop as usize];
        if next.delay >= best.delay {
            best = next;
        }
    }
    best
}

/// Sizes of moves: a picosecond, and each train's own time on each speed it meets.
fn steps(net: &Net) -> Vec<u64> {
    let mut steps = vec![1, 1_000];
    for train in &net.trains {
        steps.extend(train.hops.iter().map(|hop| train.bits * net.queues[hop.queue as usize].picoseconds_per_bit));
    }
    steps.sort_unstable();
    steps.dedup();
    steps
}

struct Schedule<'a> {
    net: &'a Net,
    train: u32,
    releases: Vec<Release>,
    blockers: Vec<Blocker>,
    rush: Rush,
    /// Queues that the tagged packet passes.
    path: Vec<u32>,
}

impl Schedule<'_> {
    fn play(&self, queue: u32) -> Outcome {
        run(self.net, &self.releases, &self.blockers, &[queue])
    }

    fn arrival_of_tagged(&self, queue: u32) -> u64 {
        let outcome = self.play(queue);
        let own = outcome.arrivals.iter().find(|arrival| arrival.train == self.train && arrival.queue == queue);
        own.map_or(START, |arrival| arrival.at)
    }

    /// Releases all trains met at `queue` for the first time so that they stand there just before `arrival`.
    fn rush(&mut self, queue: u32, arrival: u64) {
        let mut fresh: Vec<(Option<u32>, u64, u32, u32)> = Vec::new();
        for (train, spec) in self.net.trains.iter().enumerate() {
            let train = train as u32;
            let Some(hop) = spec.hops.iter().position(|hop| hop.queue == queue) else { continue };
            if self.releases.iter().any(|release| release.train == train) {
                continue;
            }
            let came_from = spec.hops[hop].parent.map(|parent| spec.hops[parent as usize].queue);
            fresh.push((came_from, u64::MAX - self.weight(spec, queue), train, hop as u32));
        }
        fresh.sort_unstable();
        let behind = self.path.iter().position(|on_path| *on_path == queue).and_then(|at| at.checked_sub(1)).map(|at| self.path[at]);
        let (mut group, mut last_bit) = (None, 0);
        for (came_from, _, train, hop) in fresh {
            let is_late = came_from.is_some() && (group == Some(came_from) || came_from == behind);
            if self.rush.is_sparse && is_late {
                continue;
            }
            if group != Some(came_from) {
                (group, last_bit) = (Some(came_from), arrival - 1);
            }
            let spec = &self.net.trains[train as usize];
            let at = last_bit.saturating_sub(self.net.undisturbed(spec, hop));
            self.releases.push(Release { at, train });
            if let Some(parent) = came_from {
                last_bit = last_bit.saturating_sub(spec.bits * self.net.queues[parent as usize].picoseconds_per_bit);
            }
        }
    }

    /// How much a train's packet counts in a rush at `queue`.
    fn weight(&self, train: &Train, queue: u32) -> u64 {
        if !self.rush.looks_ahead {
            return train.bits;
        }
        let rest = self.path.iter().skip_while(|on_path| **on_path != queue);
        let shared = rest.filter(|on_path| train.hops.iter().any(|hop| hop.queue == **on_path));
        shared.map(|on_path| train.bits * self.net.queues[*on_path as usize].picoseconds_per_bit).max().unwrap_or(0)
    }

    /// Seizes `queue` just before the busy spell in which the tagged packet arrives.
    fn block(&mut self, queue: u32) {
        let outcome = self.play(queue);
        let per_bit = self.net.queues[queue as usize].picoseconds_per_bit;
        let (mut begin, mut free) = (START, 0);
        for arrival in &outcome.arrivals {
            if arrival.at > free {
                (begin, free) = (arrival.at, arrival.at);
            }
            free += self.net.trains[arrival.train as usize].bits * per_bit;
            if arrival.train == self.train {
                break;
            }
        }
        self.blockers.push(Blocker { at: begin.saturating_sub(1), queue });
    }

    fn reached(self, hop: u32) -> Reached {
        let outcome = run(self.net, &self.releases, &self.blockers, &[]);
        Reached { delay: outcome.latest[self.train as usize][hop as usize], releases: self.releases, blockers: self.blockers }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::net::{Hop, Queue};

    /// `count` senders with a cable each into one switch, one cable out.
    fn star(count: u32, blocker_bits: u64) -> Net {
        let queue = Queue { picoseconds_per_bit: 10_000, onward: 0, blocker_bits };
        let hops = |n| vec![Hop { queue: n, parent: None, is_heard: false }, Hop { queue: count, parent: Some(0), is_heard: true }];
        let trains = (0..count).map(|n| Train { bits: 10_000, period: 1_000_000_000, class: 0, hops: hops(n) }).collect();
        Net { queues: vec![queue; count as usize + 1], trains }
    }

    /// Counting frames by hand: one on the own cable, then as many as there are senders on the shared one.
    #[test]
    fn reaches_the_hand_counted_worst_case_of_a_star() {
        let reached = worst_trace(&star(8, 0), 0, 1);
        assert_eq!(reached.delay, 9 * 100_000_000 - 1);
    }

    /// Each hop adds one whole lower-priority frame, less the picosecond by which it must come first.
    #[test]
    fn reaches_blocking_at_every_hop() {
        let reached = worst_trace(&star(4, 12_304), 0, 1);
        assert_eq!(reached.delay, 5 * 100_000_000 + 2 * 123_040_000 - 3);
    }

    #[test]
    fn climbing_never_goes_down() {
        let net = star(5, 12_304);
        let first = worst_trace(&net, 2, 1);
        let climbed = climb(&net, (2, 1), first.clone(), (200, 3));
        assert!(climbed.delay >= first.delay);
    }
}
