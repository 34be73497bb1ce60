//! Goes over all queues once, feeders first: the worst delay of every class, and what each packet has behind it then.

use crate::curve::Curve;
use crate::inputs::Inputs;
use crate::layout::{Layout, Region};
use crate::lists::Lists;
use crate::nesting::{Gain, Workspace};
use crate::network::{Network, PortSpec};
use crate::overtaken::Overtaken;
use crate::stairs::Stairs;
use crate::stretch::Stretches;

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

/// Worst delay of every class at every queue.
#[derive(Clone, Default)]
pub(crate) struct Classes {
    /// By region of the layout.
    pub(crate) all: Vec<ClassDelay>,
    /// Whether packets of one stream of the class can meet in the queue.
    pub(crate) is_bunched: Vec<bool>,
    /// The longest delay if no higher class came, or [`UNKNOWN`].
    pub(crate) plain: Vec<u64>,
    /// Links whose packets are less late than that.
    pub(crate) gains: Vec<Vec<Gain>>,
}

impl Classes {
    /// By how much packets that came by a link are less late than the latest of their class.
    pub(crate) fn gain(&self, region: usize, feeder: u32) -> Gain {
        let none = Gain { feeder, worst: 0, plain: 0 };
        self.gains[region].iter().find(|gain| gain.feeder == feeder).copied().unwrap_or(none)
    }

    /// Makes a place for every region that has none; not known until its queue is visited.
    pub(crate) fn reach(&mut self, layout: &Layout) {
        let unknown = |region: &Region| ClassDelay { class: region.class, worst: Err(Cause::Upstream), blocking: 0 };
        self.all.extend(layout.regions[self.all.len()..].iter().map(unknown));
        self.is_bunched.resize(self.all.len(), false);
        self.plain.resize(self.all.len(), UNKNOWN);
        self.gains.resize(self.all.len(), Vec::new());
    }
}

/// Delays of all queues.
pub(crate) struct Sweep {
    pub(crate) layout: Layout,
    pub(crate) classes: Classes,
    /// How many queues were worked out, not taken over; one on a circle counts each time.
    pub(crate) visited: usize,
}

/// Memory that one queue after the other uses.
#[derive(Default)]
pub(crate) struct Memory {
    pub(crate) stairs: Stairs,
    pub(crate) curve: Curve,
    pub(crate) space: Workspace,
    pub(crate) inputs: Inputs,
    pub(crate) stretches: Stretches,
    pub(crate) overtaken: Overtaken,
}

/// A queue to be worked out.
#[derive(Clone, Copy)]
pub(crate) struct Given<'a> {
    pub(crate) port: usize,
    pub(crate) spec: &'a PortSpec,
    /// Whether its packets are not listed by the ways they came.
    pub(crate) is_unordered: bool,
    /// Whether queues before are not done yet.
    pub(crate) is_circular: bool,
}

impl Sweep {
    pub(crate) fn new(network: &Network) -> Self {
        let (layout, lists) = Layout::new(network);
        let mut sweep = Self { classes: Classes::default(), layout, visited: 0 };
        sweep.classes.reach(&sweep.layout);
        sweep.run(network, lists, &mut Memory::default());
        sweep
    }

    fn run(&mut self, network: &Network, mut lists: Lists, memory: &mut Memory) {
        while let Some(port) = lists.next(&mut self.layout) {
            lists.close(&mut self.layout, port);
            memory.stairs.gather(&self.layout, port);
            let given = Given { port, spec: &network.ports[port], is_unordered: false, is_circular: false };
            self.serve(given, memory);
            if self.leave(given, memory).is_bunched {
                memory.stretches.pay_once(self, network, port);
            }
            memory.overtaken.pay_once(self, (port, given.spec), &memory.stairs);
            lists.pass_on(&mut self.layout, &memory.stairs);
        }
        if self.layout.acyclic < network.ports.len() {
            lists.list_circles(&mut self.layout);
            self.go_round(network, memory);
        }
    }

    /// Visits the queues that feed each other again and again until nothing changes.
    fn go_round(&mut self, network: &Network, memory: &mut Memory) {
        let circle = self.layout.order[self.layout.acyclic..].to_vec();
        for _ in 0..MOST_SWEEPS {
            let mut is_new = false;
            for port in circle.iter().map(|port| *port as usize) {
                is_new |= self.visit(Given { port, spec: &network.ports[port], is_unordered: true, is_circular: true }, memory);
            }
            if !is_new {
                return;
            }
        }
        for port in circle {
            let range = self.layout.regions_at(port as usize);
            self.classes.all[range].iter_mut().for_each(|delay| delay.worst = delay.worst.and(Err(Cause::Circle)));
            for at in self.layout.list_at(port as usize) {
                self.layout.rows[self.layout.ids[at] as usize].worst = UNKNOWN;
            }
        }
    }

    /// Highest class first.
    pub(crate) fn at_port(&self, port: usize) -> &[ClassDelay] {
        &self.classes.all[self.layout.regions_at(port)]
    }

    /// Of a queue already done; `None` if there is no bound.
    pub(crate) fn worst(&self, port: u32, class: u8) -> Option<u64> {
        self.at_port(port as usize).iter().find(|delay| delay.class == class)?.worst.ok()
    }

    /// Works out one queue of a circle; says whether anything is other than before.
    fn visit(&mut self, given: Given, memory: &mut Memory) -> bool {
        memory.stairs.gather(&self.layout, given.port);
        let is_new = self.serve(given, memory);
        self.leave(given, memory).is_other || is_new
    }
}
