//! Making one packet as late as possible.
//!
//! [`worst_trace`] walks the tagged packet's queues from first to last. At each it plays what is fixed
//! so far, sees when the tagged packet arrives, and releases every train met there first so that its
//! packets, undisturbed, stand back to back before it: from each incoming cable the last one 1 ps
//! earlier. Then one lower-priority frame seizes the queue 1 ps before that rush begins. What the final
//! play shows is really reached, so it can only be at or below any sound bound. [`climb`](crate::climb())
//! then changes it bit by bit.

use crate::net::{Net, Train};
use crate::outcome::{Blocker, Passage, Release};
use crate::player::Player;

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
    worst_trace_on(&mut Player::new(net), train, hop)
}

/// [`worst_trace`] on a net that is ready already.
pub fn worst_trace_on(player: &mut Player, train: u32, hop: u32) -> Reached {
    let rushes = [false, true].map(|is_sparse| [false, true].map(|looks_ahead| Rush { is_sparse, looks_ahead }));
    let mut worst: Option<Reached> = None;
    for rush in rushes.into_iter().flatten() {
        let reached = trace(player, (train, hop), rush);
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

fn trace(player: &mut Player, (train, hop): (u32, u32), rush: Rush) -> Reached {
    let net = player.net();
    let hops = &net.trains[train as usize].hops;
    let path: Vec<u32> = net.trains[train as usize].path(hop).into_iter().map(|step| hops[step as usize].queue).collect();
    let mut is_released = vec![false; net.trains.len()];
    is_released[train as usize] = true;
    let (releases, blockers) = (vec![Release { at: START, train }], Vec::new());
    let mut schedule = Schedule { net, player, train, releases, is_released, blockers, rush, path: path.clone() };
    for queue in path {
        let arrival = schedule.arrival_of_tagged(queue);
        schedule.rush(queue, arrival);
        if net.queues[queue as usize].blocker > 0 {
            schedule.block(queue);
        }
    }
    schedule.reached(hop)
}

/// A train at the queue where the tagged packet meets it first. Ordered by cable, own class first, heaviest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Fresh {
    came_from: Option<u32>,
    is_above: bool,
    lightness: u64,
    train: u32,
    hop: u32,
}

struct Schedule<'a, 'n> {
    net: &'n Net,
    player: &'a mut Player<'n>,
    train: u32,
    releases: Vec<Release>,
    is_released: Vec<bool>,
    blockers: Vec<Blocker>,
    rush: Rush,
    /// Queues that the tagged packet passes.
    path: Vec<u32>,
}

impl Schedule<'_, '_> {
    /// What passes `queue` as far as the schedule is made.
    fn play(&mut self, queue: u32) -> &[Passage] {
        self.player.play(&self.releases, &self.blockers, &[queue]);
        self.player.passages()
    }

    fn arrival_of_tagged(&mut self, queue: u32) -> u64 {
        let train = Some(self.train);
        self.play(queue).iter().find(|passage| passage.train == train).map_or(START, |passage| passage.arrival)
    }

    /// Releases all trains met at `queue` for the first time so that they stand there just before `arrival`; of a higher
    /// class behind those of the same cable, as they overtake a packet that waits.
    fn rush(&mut self, queue: u32, arrival: u64) {
        let mut fresh = self.fresh(queue);
        fresh.sort_unstable();
        let behind = self.path.iter().position(|on_path| *on_path == queue).and_then(|at| at.checked_sub(1)).map(|at| self.path[at]);
        for cable in fresh.chunk_by(|one, next| one.came_from == next.came_from) {
            let came_from = cable[0].came_from;
            let takes = match (self.rush.is_sparse, came_from) {
                (true, Some(_)) if came_from == behind => 0,
                (true, Some(_)) => 1,
                _ => cable.len(),
            };
            self.line_up(&cable[..takes], arrival - 1);
        }
    }

    /// Puts packets from one cable back to back: those of the tagged packet's class so that the last comes at `last`.
    fn line_up(&mut self, cable: &[Fresh], last: u64) {
        let (mut earlier, mut later) = (last, last);
        let mut is_first = true;
        for fresh in cable {
            let spec = &self.net.trains[fresh.train as usize];
            let apart = fresh.came_from.map_or(0, |cable| send_on(spec, cable));
            let at = if fresh.is_above {
                later += if is_first { 0 } else { apart };
                later
            } else {
                earlier = earlier.saturating_sub(apart);
                earlier + apart
            };
            is_first = false;
            let at = at.saturating_sub(self.net.undisturbed(spec, fresh.hop));
            self.releases.push(Release { at, train: fresh.train });
            self.is_released[fresh.train as usize] = true;
        }
    }

    /// Trains that pass `queue` and are not released yet.
    fn fresh(&self, queue: u32) -> Vec<Fresh> {
        let mut fresh = Vec::new();
        let class = self.net.trains[self.train as usize].class;
        for (train, spec) in self.net.trains.iter().enumerate().filter(|(_, spec)| spec.class <= class) {
            let train = train as u32;
            let Some(hop) = spec.hops.iter().position(|hop| hop.queue == queue) else { continue };
            if !self.is_released[train as usize] {
                let came_from = spec.hops[hop].parent.map(|parent| spec.hops[parent as usize].queue);
                let is_above = spec.class < class;
                fresh.push(Fresh { came_from, is_above, lightness: u64::MAX - self.weight(spec, queue), train, hop: hop as u32 });
            }
        }
        fresh
    }

    /// How much a train's packet counts in a rush at `queue`.
    fn weight(&self, train: &Train, queue: u32) -> u64 {
        let mut rest = self.path.iter().skip_while(|on_path| **on_path != queue);
        if !self.rush.looks_ahead {
            return rest.next().map_or(0, |queue| send_on(train, *queue));
        }
        rest.map(|on_path| send_on(train, *on_path)).max().unwrap_or(0)
    }

    /// Seizes `queue` just before the busy spell in which the tagged packet arrives.
    fn block(&mut self, queue: u32) {
        let train = Some(self.train);
        let passages = self.play(queue);
        let own = passages.iter().position(|passage| passage.train == train).unwrap_or(0);
        let spell = passages[..=own].windows(2).rev().take_while(|pair| pair[0].end == pair[1].start).last();
        let begin = spell.map_or(passages[own], |pair| pair[0]).start;
        self.blockers.push(Blocker { at: begin.saturating_sub(1), queue });
    }

    fn reached(self, hop: u32) -> Reached {
        self.player.play(&self.releases, &self.blockers, &[]);
        Reached { delay: self.player.latest(self.train, hop), releases: self.releases, blockers: self.blockers }
    }
}

/// Time of one of the train's packets on a queue's cable; 0 if it does not pass it.
fn send_on(train: &Train, queue: u32) -> u64 {
    train.hops.iter().find(|hop| hop.queue == queue).map_or(0, |hop| hop.send)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::climb::{Search, climb};
    use crate::net::{Hop, Queue};

    /// `count` senders with a cable each into one switch, one cable out.
    fn star(count: u32, blocker_bits: u64) -> Net {
        let queue = Queue { propagation: 0, blocker: blocker_bits * 10_000 };
        let hop = |queue, parent| Hop { queue, parent, send: 100_000_000, before: 0 };
        let trains = (0..count).map(|n| Train { period: 1_000_000_000, class: 0, hops: vec![hop(n, None), hop(count, Some(0))] }).collect();
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
        let search = Search { moves: 200, seed: 3, enough: u64::MAX };
        let climbed = climb(&mut Player::new(&net), (2, 1), first.clone(), search);
        assert!(climbed.delay >= first.delay);
    }
}
