//! The event loop.
//!
//! Two kinds of event: a packet stands in a queue, and a queue has sent its frame. At equal times the
//! sent frame comes first, so that a waiting lower-priority frame gets away just before a packet that
//! arrives at that instant: the unlucky order. Cost: two heap operations for each packet and hop.

use crate::net::Net;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

/// One packet handed to its train's first queues.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Release {
    /// When.
    pub at: u64,
    /// Which train.
    pub train: u32,
}

/// One frame of lower priority handed to one queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Blocker {
    /// When.
    pub at: u64,
    /// Which queue.
    pub queue: u32,
}

/// What was seen. Indexed by train, then by hop in the train's list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Longest time from release to the last bit heard at the far end of each hop's cable; 0 if no packet came.
    pub latest: Vec<Vec<u64>>,
    /// Frames sent, blockers not counted.
    pub packet_hops: u64,
    /// When packets of the watched train stood in each queue, as `(queue, release, arrival, bits, train)`.
    pub arrivals: Vec<Arrival>,
}

/// A packet that came to stand in a queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arrival {
    /// The queue.
    pub queue: u32,
    /// Which train.
    pub train: u32,
    /// When it was released.
    pub release: u64,
    /// When it stood there.
    pub at: u64,
}

/// Whose packet a frame is; `train` is [`BLOCKER`] for a lower-priority frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Packet {
    release: u64,
    train: u32,
    hop: u32,
}

const BLOCKER: u32 = u32::MAX;

/// Ordered by time, then sent frames before arrivals, then the order in which they came up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Event {
    at: u64,
    kind: Kind,
    order: u64,
    queue: u32,
    packet: Packet,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Sent,
    Blocker,
    Arrival,
}

#[derive(Debug, Clone, Default)]
struct Waiting {
    by_class: Vec<VecDeque<Packet>>,
    blockers: u32,
    is_busy: bool,
}

/// Plays `releases` and `blockers`. Records arrivals at every queue in `watched` only.
pub fn run(net: &Net, releases: &[Release], blockers: &[Blocker], watched: &[u32]) -> Outcome {
    let mut loom = Loop::new(net, watched);
    for release in releases {
        loom.release(*release);
    }
    for blocker in blockers {
        let packet = Packet { release: blocker.at, train: BLOCKER, hop: 0 };
        loom.push(blocker.at, Kind::Blocker, blocker.queue, packet);
    }
    while let Some(Reverse(event)) = loom.events.pop() {
        loom.step(event);
    }
    loom.outcome
}

struct Loop<'a> {
    net: &'a Net,
    events: BinaryHeap<Reverse<Event>>,
    queues: Vec<Waiting>,
    children: Vec<Vec<Vec<u32>>>,
    is_watched: Vec<bool>,
    order: u64,
    outcome: Outcome,
}

impl<'a> Loop<'a> {
    fn new(net: &'a Net, watched: &[u32]) -> Self {
        let classes = net.trains.iter().map(|train| usize::from(train.class) + 1).max().unwrap_or(1);
        let mut is_watched = vec![false; net.queues.len()];
        for queue in watched {
            is_watched[*queue as usize] = true;
        }
        Self {
            net,
            events: BinaryHeap::new(),
            queues: vec![Waiting { by_class: vec![VecDeque::new(); classes], ..Waiting::default() }; net.queues.len()],
            children: net.trains.iter().map(|train| children(&train.hops)).collect(),
            is_watched,
            order: 0,
            outcome: Outcome { latest: net.trains.iter().map(|train| vec![0; train.hops.len()]).collect(), ..Outcome::default() },
        }
    }

    fn push(&mut self, at: u64, kind: Kind, queue: u32, packet: Packet) {
        self.order += 1;
        self.events.push(Reverse(Event { at, kind, order: self.order, queue, packet }));
    }

    fn release(&mut self, release: Release) {
        let net = self.net;
        let hops = net.trains[release.train as usize].hops.iter().enumerate();
        for (hop, first) in hops.filter(|(_, hop)| hop.parent.is_none()) {
            let packet = Packet { release: release.at, train: release.train, hop: hop as u32 };
            self.push(release.at, Kind::Arrival, first.queue, packet);
        }
    }

    fn step(&mut self, event: Event) {
        let queue = event.queue as usize;
        match event.kind {
            Kind::Blocker => self.queues[queue].blockers += 1,
            Kind::Arrival => self.arrive(event),
            Kind::Sent => {
                self.queues[queue].is_busy = false;
                if event.packet.train != BLOCKER {
                    self.deliver(event);
                }
            }
        }
        if !self.queues[queue].is_busy {
            self.start(event.queue, event.at);
        }
    }

    fn arrive(&mut self, event: Event) {
        let packet = event.packet;
        let class = self.net.trains[packet.train as usize].class;
        self.queues[event.queue as usize].by_class[usize::from(class)].push_back(packet);
        if self.is_watched[event.queue as usize] {
            self.outcome.arrivals.push(Arrival { queue: event.queue, train: packet.train, release: packet.release, at: event.at });
        }
    }

    fn deliver(&mut self, event: Event) {
        let Packet { release, train, hop } = event.packet;
        let net = self.net;
        let onward = net.queues[event.queue as usize].onward;
        let latest = &mut self.outcome.latest[train as usize][hop as usize];
        *latest = (*latest).max(event.at - release);
        self.outcome.packet_hops += 1;
        for n in 0..self.children[train as usize][hop as usize].len() {
            let child = self.children[train as usize][hop as usize][n];
            let queue = net.trains[train as usize].hops[child as usize].queue;
            self.push(event.at + onward, Kind::Arrival, queue, Packet { release, train, hop: child });
        }
    }

    fn start(&mut self, queue: u32, now: u64) {
        let waiting = &mut self.queues[queue as usize];
        let spec = self.net.queues[queue as usize];
        let next = waiting.by_class.iter_mut().find_map(VecDeque::pop_front);
        let (packet, bits) = match next {
            Some(packet) => (packet, self.net.trains[packet.train as usize].bits),
            None if waiting.blockers > 0 => {
                waiting.blockers -= 1;
                (Packet { release: now, train: BLOCKER, hop: 0 }, spec.blocker_bits)
            }
            None => return,
        };
        waiting.is_busy = true;
        self.push(now + bits * spec.picoseconds_per_bit, Kind::Sent, queue, packet);
    }
}

fn children(hops: &[crate::net::Hop]) -> Vec<Vec<u32>> {
    let mut children = vec![Vec::new(); hops.len()];
    for (at, hop) in hops.iter().enumerate() {
        if let Some(parent) = hop.parent {
            children[parent as usize].push(at as u32);
        }
    }
    children
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::net::{Hop, Queue, Train};

    fn one_queue(classes: &[u8]) -> Net {
        let hop = Hop { queue: 0, parent: None, is_heard: true };
        let trains = classes.iter().map(|class| Train { bits: 1_000, period: 1_000_000, class: *class, hops: vec![hop] }).collect();
        Net { queues: vec![Queue { picoseconds_per_bit: 10, onward: 0, blocker_bits: 500 }], trains }
    }

    #[test]
    fn waits_its_turn_within_a_class() {
        let net = one_queue(&[0, 0]);
        let outcome = run(&net, &[Release { at: 0, train: 0 }, Release { at: 1, train: 1 }], &[], &[]);
        assert_eq!(outcome.latest, vec![vec![10_000], vec![19_999]]);
    }

    #[test]
    fn a_frame_on_the_wire_is_not_interrupted_but_higher_classes_go_next() {
        let net = one_queue(&[1, 1, 0]);
        let releases = [Release { at: 0, train: 0 }, Release { at: 1, train: 1 }, Release { at: 2, train: 2 }];
        let outcome = run(&net, &releases, &[], &[]);
        assert_eq!(outcome.latest, vec![vec![10_000], vec![29_999], vec![19_998]]);
    }

    #[test]
    fn a_blocker_starts_only_when_nothing_else_waits() {
        let net = one_queue(&[0, 0]);
        let releases = [Release { at: 10, train: 0 }, Release { at: 11, train: 1 }];
        let early = run(&net, &releases, &[Blocker { at: 9, queue: 0 }], &[]);
        assert_eq!(early.latest, vec![vec![14_999], vec![24_998]]);
        let late = run(&net, &releases, &[Blocker { at: 11, queue: 0 }], &[]);
        assert_eq!(late.latest, vec![vec![10_000], vec![19_999]]);
    }
}
