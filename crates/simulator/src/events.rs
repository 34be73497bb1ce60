//! The obvious way to play: one list of events in the order of time, for any net.
//!
//! Two kinds of event for a packet: it comes to stand in a queue, and a queue has sent its frame. At equal
//! times the sent frame comes first, so that a waiting lower-priority frame gets away just before a packet
//! that arrives at that instant: the unlucky order. Cost: two heap operations for each packet and hop.

use crate::net::Net;
use crate::outcome::{Blocker, Outcome, Passage, Release};
use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

/// A packet, or a blocker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Packet {
    /// [`BLOCKER`] for a lower-priority frame.
    train: u32,
    hop: u32,
    release: u64,
    arrival: u64,
}

const BLOCKER: u32 = u32::MAX;

/// Ordered by time, then sent frames before arrivals, then by train.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Event {
    at: u64,
    kind: Kind,
    packet: Packet,
    queue: u32,
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
    blockers: VecDeque<Packet>,
    is_busy: bool,
    is_watched: bool,
}

/// Plays `releases` and `blockers`. Records passages at the queues in `watched` only.
pub fn play_events(net: &Net, (releases, blockers): (&[Release], &[Blocker]), watched: &[u32]) -> Outcome {
    let mut events = Events::new(net, watched);
    for release in releases {
        for (hop, first) in net.trains[release.train as usize].hops.iter().enumerate().filter(|(_, hop)| hop.parent.is_none()) {
            let packet = Packet { train: release.train, hop: hop as u32, release: release.at, arrival: release.at };
            events.push(release.at, Kind::Arrival, first.queue, packet);
        }
    }
    for blocker in blockers {
        let packet = Packet { train: BLOCKER, hop: 0, release: blocker.at, arrival: blocker.at };
        events.push(blocker.at, Kind::Blocker, blocker.queue, packet);
    }
    while let Some(Reverse(event)) = events.list.pop() {
        events.step(event);
    }
    events.outcome.passages.sort_unstable();
    events.outcome
}

struct Events<'a> {
    net: &'a Net,
    list: BinaryHeap<Reverse<Event>>,
    queues: Vec<Waiting>,
    outcome: Outcome,
}

impl<'a> Events<'a> {
    fn new(net: &'a Net, watched: &[u32]) -> Self {
        let classes = net.trains.iter().map(|train| usize::from(train.class) + 1).max().unwrap_or(1);
        let mut queues = vec![Waiting { by_class: vec![VecDeque::new(); classes], ..Waiting::default() }; net.queues.len()];
        for queue in watched {
            queues[*queue as usize].is_watched = true;
        }
        let latest = net.trains.iter().map(|train| vec![0; train.hops.len()]).collect();
        Self { net, list: BinaryHeap::new(), queues, outcome: Outcome { latest, ..Outcome::default() } }
    }

    fn push(&mut self, at: u64, kind: Kind, queue: u32, packet: Packet) {
        self.list.push(Reverse(Event { at, kind, packet, queue }));
    }

    fn step(&mut self, event: Event) {
        let Event { at, kind, packet, queue } = event;
        let waiting = &mut self.queues[queue as usize];
        match kind {
            Kind::Blocker => waiting.blockers.push_back(packet),
            Kind::Arrival => waiting.by_class[usize::from(self.net.trains[packet.train as usize].class)].push_back(packet),
            Kind::Sent => {
                waiting.is_busy = false;
                if packet.train != BLOCKER {
                    self.deliver(at, packet);
                }
            }
        }
        if !self.queues[queue as usize].is_busy {
            self.start(queue, at);
        }
    }

    fn deliver(&mut self, sent: u64, packet: Packet) {
        let hops = &self.net.trains[packet.train as usize].hops;
        let heard = sent + self.net.queues[hops[packet.hop as usize].queue as usize].propagation;
        let latest = &mut self.outcome.latest[packet.train as usize][packet.hop as usize];
        *latest = (*latest).max(heard - packet.release);
        self.outcome.packet_hops += 1;
        for (next, hop) in hops.iter().enumerate().filter(|(_, hop)| hop.parent == Some(packet.hop)) {
            let arrival = heard + hop.before;
            self.push(arrival, Kind::Arrival, hop.queue, Packet { hop: next as u32, arrival, ..packet });
        }
    }

    fn start(&mut self, queue: u32, now: u64) {
        let waiting = &mut self.queues[queue as usize];
        let next = waiting.by_class.iter_mut().find_map(VecDeque::pop_front).or_else(|| waiting.blockers.pop_front());
        let Some(packet) = next else { return };
        waiting.is_busy = true;
        let send = match packet.train {
            BLOCKER => self.net.queues[queue as usize].blocker,
            train => self.net.trains[train as usize].hops[packet.hop as usize].send,
        };
        if waiting.is_watched {
            let Packet { release, arrival, train, .. } = packet;
            let train = (train != BLOCKER).then_some(train);
            self.outcome.passages.push(Passage { queue, start: now, end: now + send, arrival, release, train });
        }
        self.push(now + send, Kind::Sent, queue, packet);
    }
}
