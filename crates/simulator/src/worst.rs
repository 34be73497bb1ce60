//! Making one packet as late as possible.
//!
//! [`worst_trace`] walks the tagged packet's queues from first to last. At each it plays what is fixed
//! so far, sees when the tagged packet arrives, and releases every train met there first so that its
//! packets, undisturbed, stand back to back before it: from each incoming cable the last one 1 ps
//! earlier. Then one lower-priority frame seizes the queue 1 ps before that rush begins. What the final
//! play shows is really reached, so it can only be at or below any sound bound. [`worst_spell`] lets the rush begin
//! earlier and the trains go on at their periods until the tagged packet comes, as it must be where a queue is nearly full:
//! there the wait still grows after the first rush. [`climb`](crate::climb()) then changes what was found bit by bit.

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
    let others = [(false, true), (true, false), (true, true)];
    let first = trace(player, (train, hop), RUSH);
    others.into_iter().fold(first, |worst, (is_sparse, looks_ahead)| {
        let reached = trace(player, (train, hop), Rush { is_sparse, looks_ahead, ..RUSH });
        if reached.delay > worst.delay { reached } else { worst }
    })
}

/// Moments of a spell that are tried for the tagged packet, at most. **Source**: own choice.
const MOST_MOMENTS: usize = 6;
/// Spells are at most so many of the longest period met, and of the shortest. **Source**: own choice, tried on the networks of
/// `tightness` that were furthest apart.
const LONGEST_SPELL: u64 = 4;
const MOST_PACKETS: u64 = 48;

/// Goes on from `from`, a schedule of `train`'s packet at hop `hop`: builds schedules in which every queue of the way has been
/// busy for a while before the packet comes, with trains that go on at their periods. Never worse than `from`.
/// **Cost**: some thirty plays for each queue of the way, of as many packets as such a spell holds.
pub fn worst_spell(player: &mut Player, (train, hop): (u32, u32), from: Reached) -> Reached {
    let longest = longest_spell(player.net(), train, hop);
    let kinds = [0, 1, usize::MAX].into_iter().flat_map(|held_back| [false, true].map(|leads_busiest| (held_back, leads_busiest)));
    let rushes = kinds.flat_map(|(held_back, leads_busiest)| {
        let rush = Rush { longest, held_back, leads_busiest, ..RUSH };
        let path = player.net().trains[train as usize].path(hop).len();
        [rush, Rush { looks_ahead: true, ..rush }].into_iter().chain((1..path).map(move |focus| Rush { focus, ..rush }))
    });
    rushes.collect::<Vec<_>>().into_iter().fold(from, |worst, rush| {
        let reached = trace(player, (train, hop), rush);
        if reached.delay > worst.delay { reached } else { worst }
    })
}

fn longest_spell(net: &Net, train: u32, hop: u32) -> u64 {
    let own = &net.trains[train as usize];
    let path: Vec<u32> = own.path(hop).into_iter().map(|hop| own.hops[hop as usize].queue).collect();
    let meets = net.trains.iter().filter(|spec| spec.class <= own.class && spec.hops.iter().any(|hop| path.contains(&hop.queue)));
    let periods = || meets.clone().map(|spec| spec.period.max(1));
    let longest = periods().max().unwrap_or(0).saturating_mul(LONGEST_SPELL);
    longest.min(periods().min().unwrap_or(0).saturating_mul(MOST_PACKETS))
}

/// Who takes part in a rush, and in which order.
#[derive(Clone, Copy)]
struct Rush {
    /// Only one packet comes from each cable.
    is_sparse: bool,
    /// Last comes what is in the way longest anywhere on the rest of the path, else what is largest.
    looks_ahead: bool,
    /// How long before the tagged packet the rush may begin; trains then go on at their periods.
    longest: u64,
    /// At so many queues before, lower-priority frames and trains that go elsewhere hold up the first packets of each cable, so
    /// that those behind come sooner after them.
    held_back: usize,
    /// Of a cable the busiest train leads, else the heaviest.
    leads_busiest: bool,
    /// The queue of the path that the trains which pass it are lined up for; where they join before, they are left out.
    focus: usize,
}

/// A full rush at every queue as the packet comes to it.
const RUSH: Rush = Rush { is_sparse: false, looks_ahead: false, longest: 0, held_back: 0, leads_busiest: false, focus: 0 };

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
        if rush.longest == 0 {
            schedule.rush(queue, arrival, 0);
            schedule.block(queue);
        } else {
            schedule.choose_spell(queue, arrival);
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
        self.play(queue).iter().rfind(|passage| passage.train == train).map_or(START, |passage| passage.arrival)
    }

    /// Releases all trains met at `queue` for the first time so that they stand there just before `arrival`; of a higher
    /// class behind those of the same cable, as they overtake a packet that waits.
    fn rush(&mut self, queue: u32, arrival: u64, spell: u64) {
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
            if spell == 0 {
                self.line_up(&cable[..takes], arrival - 1);
            } else {
                self.line_up_after(&cable[..takes], queue, arrival.saturating_sub(1 + spell));
            }
        }
        if spell > 0 {
            self.lead_up(arrival.saturating_sub(1 + spell));
        }
    }

    /// Earlier packets of the tagged train, from `first` on.
    fn lead_up(&mut self, first: u64) {
        let train = self.train;
        let period = self.net.trains[train as usize].period.max(1);
        let known = self.releases.iter().filter(|release| release.train == train).count() as u64;
        let many = START.saturating_sub(first) / period;
        self.releases.extend((known..=many).map(|n| Release { at: START - n * period, train }));
    }

    /// Begins a rush long before the tagged packet, sees at which moments most work waits, and keeps the schedule that has the
    /// packet come then and makes it leave latest; no earlier rush if that is best.
    fn choose_spell(&mut self, queue: u32, arrival: u64) {
        let before = (self.releases.clone(), self.blockers.clone(), self.is_released.clone());
        let mut best: Option<(u64, u64)> = None;
        let mut spells = vec![0];
        self.long_rush(queue, arrival, self.rush.longest);
        spells.extend(self.moments(queue, arrival.saturating_sub(1 + self.rush.longest)));
        for spell in &spells {
            (self.releases, self.blockers, self.is_released) = before.clone();
            self.long_rush(queue, arrival, *spell);
            self.block(queue);
            let leaves = self.departure_of_tagged(queue);
            if best.is_none_or(|(latest, _)| leaves > latest) {
                best = Some((leaves, *spell));
            }
        }
        (self.releases, self.blockers, self.is_released) = before;
        self.long_rush(queue, arrival, best.map_or(0, |(_, spell)| spell));
        self.block(queue);
    }

    /// A rush that begins behind a lower-priority frame.
    fn long_rush(&mut self, queue: u32, arrival: u64, spell: u64) {
        self.rush(queue, arrival, spell);
        if spell > 0 && self.net.queues[queue as usize].blocker > 0 {
            self.blockers.push(Blocker { at: arrival.saturating_sub(2 + spell), queue });
        }
    }

    /// When most work waits at a queue in a spell that begins at `begin`, as time after that.
    fn moments(&mut self, queue: u32, begin: u64) -> Vec<u64> {
        let own = self.train;
        let others = self.play(queue).iter().filter(|passage| passage.train.is_some_and(|train| train != own) && passage.arrival > begin);
        let mut moments: Vec<(u64, u64)> = others.map(|passage| (passage.end - passage.arrival, passage.arrival - begin)).collect();
        moments.sort_unstable_by_key(|(waiting, at)| (u64::MAX - *waiting, *at));
        moments.truncate(MOST_MOMENTS);
        moments.into_iter().map(|(_, at)| at).collect()
    }

    fn departure_of_tagged(&mut self, queue: u32) -> u64 {
        let train = Some(self.train);
        self.play(queue).iter().rfind(|passage| passage.train == train).map_or(START, |passage| passage.end)
    }

    /// Lets packets from one cable come back to back from `first` on, and their trains go on until the tagged packet comes. One
    /// train leads: the others meet it at one instant where their ways join.
    fn line_up_after(&mut self, cable: &[Fresh], queue: u32, first: u64) {
        if cable[0].came_from.is_none() {
            cable.iter().for_each(|fresh| self.keep_on(fresh.train, first));
            return;
        }
        let busiest = cable.iter().max_by_key(|fresh| self.busyness(fresh, queue));
        let leader = busiest.filter(|_| self.rush.leads_busiest).unwrap_or(&cable[0]);
        let stops = self.hold_back(leader, queue, first);
        for (place, fresh) in cable.iter().enumerate().filter(|(_, fresh)| fresh.train != leader.train) {
            let spec = &self.net.trains[fresh.train as usize];
            let meets = |hop: &u32| Some((*hop, stops.iter().find(|(stop, _)| *stop == spec.hops[*hop as usize].queue)?.1));
            let joins = spec.path(fresh.hop).iter().find_map(meets);
            let at = joins.map_or(first, |(hop, at)| (at + place as u64).saturating_sub(self.net.undisturbed(spec, hop)));
            self.keep_on(fresh.train, at);
        }
    }

    /// Part of the time that a train takes of a queue, in parts of 2^20.
    fn busyness(&self, fresh: &Fresh, queue: u32) -> u64 {
        let spec = &self.net.trains[fresh.train as usize];
        (send_on(spec, queue) << 20) / spec.period.max(1)
    }

    /// Releases a train so that its first packet comes to its hop at `first`, held up at every queue before by a lower-priority
    /// frame and the trains that go elsewhere from there, if the rush is to. Returns those queues and when it comes there.
    fn hold_back(&mut self, leader: &Fresh, queue: u32, first: u64) -> Vec<(u32, u64)> {
        let spec = &self.net.trains[leader.train as usize];
        let mut way = spec.path(leader.hop);
        way.pop();
        let mut holds = Vec::new();
        let first_held = way.len().saturating_sub(self.rush.held_back);
        for (place, hop) in way.into_iter().enumerate() {
            let (at, is_held) = (spec.hops[hop as usize].queue, place >= first_held);
            let strangers = if is_held { self.strangers(at, queue) } else { Vec::new() };
            strangers.iter().for_each(|(train, _, _)| self.is_released[*train as usize] = true);
            let blocker = if is_held { self.net.queues[at as usize].blocker } else { 0 };
            let held = blocker + strangers.iter().map(|(_, _, send)| send).sum::<u64>();
            holds.push((hop, at, strangers, blocker > 0, held));
        }
        let all: u64 = holds.iter().map(|hold| hold.4).sum();
        let release = first.saturating_sub(self.net.undisturbed(spec, leader.hop) + all);
        let (mut so_far, mut stops) = (0, Vec::new());
        for (hop, queue, strangers, is_blocked, held) in holds {
            let at = release + self.net.undisturbed(spec, hop) + so_far;
            so_far += held;
            for (train, hop, _) in strangers {
                let spec = &self.net.trains[train as usize];
                self.releases.push(Release { at: (at - 1).saturating_sub(self.net.undisturbed(spec, hop)), train });
            }
            if is_blocked {
                self.blockers.push(Blocker { at: at.saturating_sub(2), queue });
            }
            stops.push((queue, at));
        }
        self.keep_on(leader.train, release);
        stops.split_off(stops.len() - self.rush.held_back.clamp(1, stops.len()))
    }

    /// Releases a train from `first` on until after the tagged packet.
    fn keep_on(&mut self, train: u32, first: u64) {
        let period = self.net.trains[train as usize].period.max(1);
        let last = START.max(first);
        self.releases.extend((0..=(last - first) / period).map(|n| Release { at: first + n * period, train }));
        self.is_released[train as usize] = true;
    }

    /// Trains not released yet that pass one queue and not the other: train, hop and time there.
    fn strangers(&self, at: u32, not_at: u32) -> Vec<(u32, u32, u64)> {
        let class = self.net.trains[self.train as usize].class;
        let passes = |spec: &Train, queue: u32| spec.hops.iter().position(|hop| hop.queue == queue);
        let mut strangers = Vec::new();
        for (train, spec) in self.net.trains.iter().enumerate().filter(|(_, spec)| spec.class <= class) {
            if let Some(hop) = passes(spec, at).filter(|_| passes(spec, not_at).is_none() && !self.is_released[train]) {
                strangers.push((train as u32, hop as u32, spec.hops[hop].send));
            }
        }
        strangers
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
        let focus = self.path[self.rush.focus];
        let is_before_focus = self.path[..self.rush.focus].contains(&queue);
        let is_for_later = |spec: &Train| is_before_focus && spec.hops.iter().any(|hop| hop.queue == focus);
        let class = self.net.trains[self.train as usize].class;
        for (train, spec) in self.net.trains.iter().enumerate().filter(|(_, spec)| spec.class <= class) {
            let train = train as u32;
            let Some(hop) = spec.hops.iter().position(|hop| hop.queue == queue) else { continue };
            if !self.is_released[train as usize] && !is_for_later(spec) {
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

    /// Seizes `queue` just before the busy spell in which the tagged packet arrives, if it has lower-priority frames.
    fn block(&mut self, queue: u32) {
        if self.net.queues[queue as usize].blocker == 0 {
            return;
        }
        let train = Some(self.train);
        let passages = self.play(queue);
        let own = passages.iter().rposition(|passage| passage.train == train).unwrap_or(0);
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
