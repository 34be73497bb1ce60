//! Goes over all queues once, feeders first: the worst delay of every class, and what each packet has behind it then.

use crate::curve::Curve;
use crate::earlier::Earlier;
use crate::inputs::Inputs;
use crate::layout::Layout;
use crate::nesting::{Done, Workspace};
use crate::network::{Network, PortSpec};
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

pub(crate) const RELEASE: Passage = Passage { jitter: 0, is_bunched: false, least: 0, worst: 0, reached: 0 };

/// Worst delay of every class at every queue.
pub(crate) struct Classes {
    pub(crate) all: Vec<ClassDelay>,
    /// Whether packets of one stream of the class can meet in the queue.
    pub(crate) is_bunched: Vec<bool>,
    start: Vec<u32>,
}

impl Classes {
    /// A place for every class at every queue; not known until the queue is visited.
    fn of(layout: &Layout) -> Self {
        let mut classes =
            Self { all: Vec::with_capacity(layout.ports()), is_bunched: Vec::new(), start: Vec::with_capacity(layout.ports() + 1) };
        for port in 0..layout.ports() {
            classes.start.push(classes.all.len() as u32);
            for group in layout.entries[layout.at_port(port)].chunk_by(|a, b| a.class == b.class) {
                classes.all.push(ClassDelay { class: group[0].class, worst: Err(Cause::Upstream), blocking: 0 });
            }
        }
        classes.start.push(classes.all.len() as u32);
        classes.is_bunched.resize(classes.all.len(), false);
        classes
    }

    pub(crate) fn range(&self, port: usize) -> Range<usize> {
        self.start[port] as usize..self.start[port + 1] as usize
    }

    /// Takes a queue with the same classes from an earlier analysis.
    pub(crate) fn copy_port(&mut self, earlier: &Self, port: usize) {
        let (here, there) = (self.range(port), earlier.range(port));
        self.all[here.clone()].copy_from_slice(&earlier.all[there.clone()]);
        self.is_bunched[here].copy_from_slice(&earlier.is_bunched[there]);
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
    /// How many queues were worked out, not taken over; one on a circle counts each time.
    pub(crate) visited: usize,
}

/// Memory that one queue after the other uses.
#[derive(Default)]
pub(crate) struct Memory {
    pub(crate) curve: Curve,
    pub(crate) space: Workspace,
    pub(crate) inputs: Inputs,
    stretches: Stretches,
}

impl Sweep {
    /// `earlier`: an analysis of nearly the same network.
    pub(crate) fn new(network: &Network, earlier: Option<Earlier>) -> Self {
        let layout = Layout::new(network);
        let passages = vec![RELEASE; layout.entries.len()];
        let mut sweep = Self { classes: Classes::of(&layout), layout, passages, visited: 0 };
        sweep.run(network, earlier, &mut Memory::default());
        sweep
    }

    fn run(&mut self, network: &Network, mut earlier: Option<Earlier>, memory: &mut Memory) {
        for at in 0..self.layout.acyclic {
            let port = self.layout.order[at] as usize;
            let given = (port, &network.ports[port]);
            if earlier.as_mut().is_some_and(|earlier| earlier.take_over(self, given)) {
                continue;
            }
            self.arrive(port);
            if earlier.as_ref().is_none_or(|earlier| !earlier.take_over_delays(self, given)) {
                self.serve(given, memory);
            }
            self.leave(given, &mut memory.inputs);
            memory.stretches.pay_once(self, network, port);
        }
        let circle = self.layout.order[self.layout.acyclic..].to_vec();
        for _ in 0..MOST_SWEEPS {
            if circle.iter().filter(|port| self.visit((**port as usize, &network.ports[**port as usize]), memory)).count() == 0 {
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
    fn visit(&mut self, given: (usize, &PortSpec), memory: &mut Memory) -> bool {
        self.arrive(given.0);
        let is_new = self.serve(given, memory);
        self.leave(given, &mut memory.inputs) || is_new
    }
}
