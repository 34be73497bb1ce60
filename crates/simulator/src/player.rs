//! The quick way to play: queue by queue, not event by event.
//!
//! Where queues feed each other in one direction only (every tree, every ring with a blocked cable), all that comes to a
//! queue is known once the queues before it are done. So each queue is served by itself: sort what came, go through it once.
//! In a queue of one class a packet leaves at the later of its arrival and the moment when the one before it is gone,
//! plus its own time on the cable. Long plays go in slices of time, each through all queues; nothing is kept of a slice
//! but what is still on its way. Cost: a few tens of nanoseconds for each packet and hop.
//! Nets with a circle are left to [`play_events`], with the same results.

use crate::compiled::Compiled;
use crate::events::play_events;
use crate::net::{Net, Train};
use crate::outcome::{Blocker, Outcome, Passage, Release};
use std::collections::VecDeque;

/// A net made ready to be played again and again.
pub struct Player<'a> {
    net: &'a Net,
    pub(crate) compiled: Compiled,
    queues: Vec<State>,
    /// What has come to each queue.
    inboxes: Vec<Vec<Packet>>,
    /// Longest delay by step.
    latest: Vec<u64>,
    packet_hops: u64,
    passages: Vec<Passage>,
}

/// A packet that has come to a queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Packet {
    at: u64,
    step: u32,
    release: u64,
}

/// A queue in the middle of a play.
#[derive(Debug, Clone, Default)]
struct State {
    /// The cable is free from here on.
    free: u64,
    /// Times of lower-priority frames, and how many of them are gone.
    blockers: Vec<u64>,
    blockers_gone: usize,
    /// Waiting packets by class, where classes meet.
    by_class: Vec<VecDeque<Packet>>,
    is_watched: bool,
}

impl<'a> Player<'a> {
    /// O(hops).
    pub fn new(net: &'a Net) -> Self {
        let compiled = Compiled::new(net);
        let classes = net.trains.iter().map(|train| usize::from(train.class) + 1).max().unwrap_or(1);
        let state = |is_mixed: &bool| State { by_class: vec![VecDeque::new(); if *is_mixed { classes } else { 0 }], ..State::default() };
        let queues = compiled.is_mixed.iter().map(state).collect();
        let latest = vec![0; compiled.steps.len()];
        Self { net, compiled, queues, latest, packet_hops: 0, passages: Vec::new(), inboxes: vec![Vec::new(); net.queues.len()] }
    }

    /// Plays from an empty net. Records passages at the queues in `watched` only.
    pub fn play(&mut self, releases: &[Release], blockers: &[Blocker], watched: &[u32]) {
        self.clear();
        if self.compiled.order.is_none() {
            let outcome = play_events(self.net, (releases, blockers), watched);
            for (hop, latest) in outcome.latest.into_iter().flatten().enumerate() {
                self.latest[self.compiled.step_of[hop] as usize] = latest;
            }
            (self.packet_hops, self.passages) = (outcome.packet_hops, outcome.passages);
            return;
        }
        watched.iter().for_each(|queue| self.queues[*queue as usize].is_watched = true);
        releases.iter().for_each(|release| self.release(*release));
        self.block(blockers);
        self.advance(u64::MAX);
        for queue in watched {
            let mut state = std::mem::take(&mut self.queues[*queue as usize]);
            self.let_blockers_go(*queue, &mut state, u64::MAX);
            self.queues[*queue as usize] = state;
        }
        self.passages.sort_unstable();
    }

    /// Longest delay of `train`'s packets to the far end of its hop `hop` in the last play; 0 if none came.
    pub fn latest(&self, train: u32, hop: u32) -> u64 {
        self.latest[self.step(train, hop) as usize]
    }

    /// Packets sent in the last play, counted at every hop.
    pub fn packet_hops(&self) -> u64 {
        self.packet_hops
    }

    /// Every packet at the watched queues, blockers too, by queue, then as sent.
    pub fn passages(&self) -> &[Passage] {
        &self.passages
    }

    pub(crate) fn net(&self) -> &'a Net {
        self.net
    }

    /// What the last play showed.
    pub fn outcome(&self) -> Outcome {
        let hops = |train: &Train| 0..train.hops.len() as u32;
        let trains = self.net.trains.iter().zip(0u32..);
        let latest = trains.map(|(spec, train)| hops(spec).map(|hop| self.latest(train, hop)).collect()).collect();
        Outcome { latest, packet_hops: self.packet_hops, passages: self.passages.clone() }
    }

    pub(crate) fn clear(&mut self) {
        self.inboxes.iter_mut().for_each(Vec::clear);
        for queue in &mut self.queues {
            queue.blockers.clear();
            (queue.free, queue.blockers_gone, queue.is_watched) = (0, 0, false);
        }
        self.latest.fill(0);
        self.packet_hops = 0;
        self.passages.clear();
    }

    pub(crate) fn release(&mut self, Release { at, train }: Release) {
        for (at_hop, hop) in self.net.trains[train as usize].hops.iter().enumerate().filter(|(_, hop)| hop.parent.is_none()) {
            let step = self.step(train, at_hop as u32);
            self.inboxes[hop.queue as usize].push(Packet { at, step, release: at });
        }
    }

    fn step(&self, train: u32, hop: u32) -> u32 {
        self.compiled.step_of[(self.compiled.train_start[train as usize] + hop) as usize]
    }

    pub(crate) fn block(&mut self, blockers: &[Blocker]) {
        for Blocker { at, queue } in blockers {
            self.queues[*queue as usize].blockers.push(*at);
        }
        self.queues.iter_mut().for_each(|queue| queue.blockers.sort_unstable());
    }

    /// Serves every queue as far as what comes before `until` decides; all of it if that is the end of time.
    pub(crate) fn advance(&mut self, until: u64) {
        let order = self.compiled.order.take().unwrap_or_default();
        for queue in &order {
            let at = *queue as usize;
            if self.inboxes[at].is_empty() && self.queues[at].by_class.iter().all(VecDeque::is_empty) {
                continue;
            }
            let mut state = std::mem::take(&mut self.queues[at]);
            let mut inbox = std::mem::take(&mut self.inboxes[at]);
            inbox.sort_unstable();
            let count = if until == u64::MAX { inbox.len() } else { inbox.partition_point(|packet| packet.at < until) };
            if state.by_class.is_empty() {
                self.serve(*queue, &mut state, &inbox[..count]);
            } else {
                self.choose(*queue, &mut state, (&inbox[..count], until));
            }
            inbox.drain(..count);
            self.inboxes[at] = inbox;
            self.queues[at] = state;
        }
        self.compiled.order = Some(order);
    }

    /// One class: first come, first served.
    fn serve(&mut self, queue: u32, state: &mut State, packets: &[Packet]) {
        for packet in packets.iter().copied() {
            self.let_blockers_go(queue, state, packet.at);
            self.send(queue, state, packet);
        }
    }

    /// Several classes: whenever the cable is free, the first of the highest class. A choice falls only if all that
    /// comes before it is known.
    fn choose(&mut self, queue: u32, state: &mut State, (packets, until): (&[Packet], u64)) {
        let mut came = 0;
        loop {
            let next = packets.get(came).copied();
            let is_waiting = state.by_class.iter().any(|class| !class.is_empty());
            match next.filter(|next| !is_waiting || next.at < state.free) {
                Some(packet) => {
                    came += 1;
                    if !is_waiting {
                        self.let_blockers_go(queue, state, packet.at);
                    }
                    if !is_waiting && state.free <= packet.at {
                        self.send(queue, state, packet);
                    } else {
                        state.by_class[usize::from(self.compiled.steps[packet.step as usize].class)].push_back(packet);
                    }
                }
                None if state.free > until => return,
                None => match state.by_class.iter_mut().find_map(VecDeque::pop_front) {
                    Some(packet) => self.send(queue, state, packet),
                    None => return,
                },
            }
        }
    }

    /// Lets lower-priority frames go that find nothing else waiting up to and with `now`.
    fn let_blockers_go(&mut self, queue: u32, state: &mut State, now: u64) {
        while let Some(at) = state.blockers.get(state.blockers_gone).copied().filter(|at| state.free.max(*at) <= now) {
            let start = state.free.max(at);
            state.free = start + self.net.queues[queue as usize].blocker;
            state.blockers_gone += 1;
            if state.is_watched {
                self.passages.push(Passage { queue, start, end: state.free, arrival: at, release: at, train: None });
            }
        }
    }

    fn send(&mut self, queue: u32, state: &mut State, packet: Packet) {
        let step = self.compiled.steps[packet.step as usize];
        let start = state.free.max(packet.at);
        let end = start + step.send;
        state.free = end;
        let Packet { at, step: index, release } = packet;
        if state.is_watched {
            self.passages.push(Passage { queue, start, end, arrival: at, release, train: Some(step.train) });
        }
        let heard = end + self.net.queues[queue as usize].propagation - release;
        let latest = &mut self.latest[index as usize];
        *latest = (*latest).max(heard);
        self.packet_hops += 1;
        for next in self.compiled.onward_of(&step) {
            self.inboxes[next.queue as usize].push(Packet { at: end + next.after, step: next.hop, release });
        }
    }
}
