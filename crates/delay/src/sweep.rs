//! Goes over all queues once, feeders first: the worst delay of every class, and what each packet has behind it then.

use crate::curve::{Curve, ONE};
use crate::inputs::Inputs;
use crate::layout::{Entry, Layout};
use crate::nesting::{Done, Workspace};
use crate::network::{NONE, Network, PortSpec};
use crate::port::{LONGEST, Meeting};
use crate::stretch::Stretches;
use std::ops::Range;

/// Why a queue promises nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// Streams of this class and above want more than the link carries.
    Overload,
    /// Frames circle through it.
    Storm,
    /// A stream comes in with no bound from elsewhere.
    Upstream,
    /// Queues feed each other in a circle, and the delays grow without end.
    Circle,
    /// It shares its queue with traffic that is not planned.
    Unprotected,
}

/// What one class can expect at one queue, from last bit in to last bit out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassDelay {
    /// The class.
    pub class: u8,
    /// Longest delay, in picoseconds, or why there is none.
    pub worst: Result<u64, Cause>,
    /// The part of it that is one frame of a lower class, already on the link, in picoseconds.
    pub blocking: u64,
}

/// Sweeps over circles before giving up. Own choice: those of a ring settle within as many as a path has hops.
const MOST_SWEEPS: usize = 256;
/// What is not bounded so far.
pub(crate) const UNKNOWN: u64 = u64::MAX;

/// A stream once it has passed a queue and the link behind it, counted from its release.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Passage {
    /// Jitter on the link, or [`UNKNOWN`].
    pub(crate) jitter: u64,
    /// Whether on the way several packets of one stream can be in one queue.
    pub(crate) is_bunched: bool,
    /// Least, worst (or [`UNKNOWN`]) and reached delay.
    pub(crate) least: u64,
    pub(crate) worst: u64,
    pub(crate) reached: u64,
}

const RELEASE: Passage = Passage { jitter: 0, is_bunched: false, least: 0, worst: 0, reached: 0 };

/// Worst delay of every class at every queue.
pub(crate) struct Classes {
    all: Vec<ClassDelay>,
    start: Vec<u32>,
}

impl Classes {
    /// A place for every class at every queue; not known until the queue is visited.
    fn of(layout: &Layout) -> Self {
        let mut classes = Self { all: Vec::with_capacity(layout.ports()), start: Vec::with_capacity(layout.ports() + 1) };
        for port in 0..layout.ports() {
            classes.start.push(classes.all.len() as u32);
            for group in layout.entries[layout.at_port(port)].chunk_by(|a, b| a.class == b.class) {
                classes.all.push(ClassDelay { class: group[0].class, worst: Err(Cause::Upstream), blocking: 0 });
            }
        }
        classes.start.push(classes.all.len() as u32);
        classes
    }

    fn range(&self, port: usize) -> Range<usize> {
        self.start[port] as usize..self.start[port + 1] as usize
    }

    /// Highest class first.
    pub(crate) fn at_port(&self, port: usize) -> &[ClassDelay] {
        &self.all[self.range(port)]
    }
}

impl Done for Classes {
    fn worst(&self, port: u32, class: u8) -> Option<u64> {
        self.at_port(port as usize).iter().find(|delay| delay.class == class)?.worst.ok()
    }
}

/// Delays of all queues.
pub(crate) struct Sweep {
    pub(crate) layout: Layout,
    pub(crate) classes: Classes,
    /// By entry.
    pub(crate) passages: Vec<Passage>,
}

#[derive(Default)]
struct Memory {
    stretches: Stretches,
    curve: Curve,
    space: Workspace,
    inputs: Inputs,
}

/// What one queue has let through so far, class by class.
struct Visit<'a> {
    port: &'a PortSpec,
    /// Share of the link asked for.
    load: u128,
    failed: Option<Cause>,
    /// Whether packets of one stream of the last class can meet in it.
    is_bunched: bool,
}

impl Sweep {
    pub(crate) fn new(network: &Network) -> Self {
        let layout = Layout::new(network);
        let passages = vec![RELEASE; layout.entries.len()];
        let mut sweep = Self { classes: Classes::of(&layout), layout, passages };
        sweep.run(network, &mut Memory::default());
        sweep
    }

    fn run(&mut self, network: &Network, memory: &mut Memory) {
        for at in 0..self.layout.acyclic {
            let port = self.layout.order[at] as usize;
            self.visit(network, port, memory);
            memory.stretches.pay_once(self, network, port);
        }
        let circle = self.layout.order[self.layout.acyclic..].to_vec();
        for _ in 0..MOST_SWEEPS {
            if circle.iter().filter(|port| self.visit(network, **port as usize, memory)).count() == 0 {
                return;
            }
        }
        for port in circle {
            let range = self.classes.range(port as usize);
            self.classes.all[range].iter_mut().for_each(|delay| delay.worst = delay.worst.and(Err(Cause::Circle)));
            self.passages[self.layout.at_port(port as usize)].iter_mut().for_each(|passage| passage.worst = UNKNOWN);
        }
    }

    /// Works out one queue; says whether anything is other than before.
    fn visit(&mut self, network: &Network, port: usize, memory: &mut Memory) -> bool {
        let spec = &network.ports[port];
        let here = self.layout.at_port(port);
        self.arrive(here.clone());
        memory.inputs.clear();
        let mut visit = Visit { port: spec, load: 0, failed: spec.is_unbounded.then_some(Cause::Storm), is_bunched: false };
        let (mut from, mut is_new) = (here.start, false);
        for at in self.classes.range(port) {
            let class = self.classes.all[at].class;
            let length = self.layout.entries[from..here.end].partition_point(|entry| entry.class == class);
            let own = from..from + length;
            from = own.end;
            let delay = self.class_delay(&mut visit, (here.clone(), own.clone()), memory);
            is_new |= self.classes.all[at] != delay;
            self.classes.all[at] = delay;
            is_new |= self.leave(own, (&visit, delay), &mut memory.inputs);
        }
        is_new
    }

    /// Jitter of everything that comes to a queue.
    fn arrive(&mut self, here: Range<usize>) {
        for entry in self.layout.entries[here].iter_mut().filter(|entry| entry.parent != NONE) {
            let before = self.passages[entry.parent as usize].jitter;
            entry.jitter = before.saturating_add(entry.forward_most.saturating_sub(entry.forward_least));
        }
    }

    /// `here`: all entries of the queue; `own`: those of the class.
    fn class_delay(&self, visit: &mut Visit, (here, own): (Range<usize>, Range<usize>), memory: &mut Memory) -> ClassDelay {
        let entries = &self.layout.entries;
        let mut is_lost = false;
        for entry in &entries[own.clone()] {
            let share = memory.space.ratios.of(entry.send, entry.period);
            visit.load = visit.load.saturating_add(share.saturating_mul(u128::from(entry.count)));
            is_lost |= entry.jitter == UNKNOWN;
        }
        let below = entries[own.end..here.end].iter().map(|entry| entry.send).max().unwrap_or(0);
        let blocking = below.max(visit.port.blocking.picoseconds());
        visit.failed = visit.failed.or((visit.load > ONE).then_some(Cause::Overload)).or(is_lost.then_some(Cause::Upstream));
        let higher = &entries[here.start..own.start];
        let class = entries[own.start].class;
        let meeting = Meeting { entries, done: &self.classes, own, higher, blocking };
        let longest = match visit.failed {
            Some(cause) => Err(cause),
            None => meeting.worst_delay(&mut memory.curve, &mut memory.space).filter(|it| it.worst <= LONGEST).ok_or(Cause::Overload),
        };
        visit.is_bunched = longest.is_ok_and(|longest| longest.is_bunched);
        let worst = longest.map(|longest| longest.worst);
        visit.failed = visit.failed.or(worst.err());
        ClassDelay { class, worst, blocking }
    }

    /// What everything of a class has behind it once it leaves the queue and its link; whether that is new.
    fn leave(&mut self, own: Range<usize>, (visit, delay): (&Visit, ClassDelay), inputs: &mut Inputs) -> bool {
        let (port, mut is_new) = (visit.port, false);
        inputs.add_class(&self.layout.entries[own.clone()]);
        let mut from = own.start;
        for group in self.layout.entries[own].chunk_by(|a, b| a.feeder == b.feeder) {
            let ahead = port.blocking.picoseconds().saturating_add(inputs.ahead_of(group[0].feeder));
            let propagation = port.propagation.picoseconds();
            for entry in group {
                let before = self.passages.get(entry.parent as usize).copied().unwrap_or(RELEASE);
                let ahead = if entry.feeder == NONE { ahead.saturating_sub(entry.send) } else { ahead };
                let before = Passage { is_bunched: before.is_bunched | visit.is_bunched, ..before };
                let passage = entry.passage(before, (delay.worst.ok(), ahead, propagation));
                is_new |= self.passages[from] != passage;
                self.passages[from] = passage;
                from += 1;
            }
        }
        is_new
    }
}

impl Entry {
    /// `worst` and `ahead`: longest delay of its class at the queue, and what can really be ahead of a packet.
    fn passage(&self, before: Passage, (worst, ahead, propagation): (Option<u64>, u64, u64)) -> Passage {
        let sum = |parts: [u64; 4]| parts.into_iter().fold(0u64, u64::saturating_add);
        let (jitter, delay) = match worst {
            Some(worst) => (self.jitter.saturating_add(worst.saturating_sub(self.send)), worst),
            None => (UNKNOWN, UNKNOWN),
        };
        Passage {
            jitter,
            is_bunched: before.is_bunched,
            least: sum([before.least, self.forward_least, self.send, propagation]),
            worst: sum([before.worst, self.forward_most, delay, propagation]),
            reached: sum([before.reached, self.forward_most, ahead, self.send]).saturating_add(propagation),
        }
    }
}
