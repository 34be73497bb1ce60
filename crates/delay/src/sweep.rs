//! Goes over all queues once, feeders first, and keeps the worst delay of every class at each.

use crate::curve::{Curve, ONE, ratio};
use crate::layout::Layout;
use crate::nesting::{Done, Nesting, jitter_behind};
use crate::network::{NONE, Network};
use crate::port::{LONGEST, Meeting, Stairs};

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

/// Sweeps over circles before giving up. Own choice: fixed points of small rings settle within a few.
const MOST_SWEEPS: usize = 64;
/// Jitter of a stream that has no bound so far.
const UNKNOWN: u64 = u64::MAX;

/// Delays of all queues.
pub(crate) struct Sweep {
    pub(crate) layout: Layout,
    /// Classes of every queue, highest first; see [`Self::at_port`].
    classes: Vec<ClassDelay>,
    class_start: Vec<u32>,
    /// Jitter of every entry on arrival, then what it leaves with.
    pub(crate) jitter: Vec<u64>,
    leaves_with: Vec<u64>,
    memory: Memory,
}

#[derive(Default)]
struct Memory {
    curve: Curve,
    own: Vec<Stairs>,
    higher: Vec<Stairs>,
    work: Vec<(u32, u32)>,
}

/// Delays of the queues done so far.
struct SoFar<'a> {
    classes: &'a [ClassDelay],
    start: &'a [u32],
}

impl SoFar<'_> {
    fn at_port(&self, port: usize) -> &[ClassDelay] {
        &self.classes[self.start[port] as usize..self.start[port + 1] as usize]
    }
}

impl Done for SoFar<'_> {
    fn worst(&self, port: u32, class: u8) -> Option<u64> {
        self.at_port(port as usize).iter().find(|delay| delay.class == class)?.worst.ok()
    }
}

impl Sweep {
    pub(crate) fn new(network: &Network) -> Self {
        let layout = Layout::new(network);
        let count = layout.entries.len();
        let mut sweep = Self {
            layout,
            classes: Vec::new(),
            class_start: vec![0],
            jitter: vec![0; count],
            leaves_with: vec![0; count],
            memory: Memory::default(),
        };
        sweep.reserve_classes(network.ports.len());
        sweep.run(network);
        sweep
    }

    /// What each class can expect at a queue, highest first.
    pub(crate) fn at_port(&self, port: usize) -> &[ClassDelay] {
        &self.classes[self.class_start[port] as usize..self.class_start[port + 1] as usize]
    }

    /// How many queues there are.
    pub(crate) fn queues(&self) -> usize {
        self.class_start.len() - 1
    }

    /// A place for every class at every queue; not known until the queue is visited.
    fn reserve_classes(&mut self, ports: usize) {
        for port in 0..ports {
            let members = self.layout.at_port(port).iter().map(|at| self.layout.entries[*at as usize].class);
            for class in members {
                let first = self.class_start[port] as usize;
                if self.classes[first..].last().is_none_or(|last| last.class != class) {
                    self.classes.push(ClassDelay { class, worst: Err(Cause::Upstream), blocking: 0 });
                }
            }
            self.class_start.push(self.classes.len() as u32);
        }
    }

    fn run(&mut self, network: &Network) {
        for at in 0..self.layout.acyclic {
            self.visit(network, self.layout.order[at] as usize);
        }
        let circle = self.layout.order[self.layout.acyclic..].to_vec();
        for _ in 0..MOST_SWEEPS {
            let mut has_changed = false;
            for port in &circle {
                has_changed |= self.visit(network, *port as usize);
            }
            if !has_changed {
                return;
            }
        }
        for port in circle {
            let (from, to) = (self.class_start[port as usize] as usize, self.class_start[port as usize + 1] as usize);
            for delay in &mut self.classes[from..to] {
                delay.worst = delay.worst.and(Err(Cause::Circle));
            }
        }
    }

    /// Works out one queue; says whether anything is other than before.
    fn visit(&mut self, network: &Network, port: usize) -> bool {
        let members = self.layout.at_port(port).to_vec();
        for at in &members {
            let entry = &self.layout.entries[*at as usize];
            let before = if entry.parent == NONE { 0 } else { self.leaves_with[entry.parent as usize] };
            self.jitter[*at as usize] = before.saturating_add(entry.spread);
        }
        let mut delays = Vec::new();
        let mut load = 0u128;
        self.memory.higher.clear();
        let mut failed = network.ports[port].is_unbounded.then_some(Cause::Storm);
        let mut from = 0;
        let entries = &self.layout.entries;
        while from < members.len() {
            let class = entries[members[from] as usize].class;
            let to = from + members[from..].partition_point(|at| entries[*at as usize].class == class);
            let own = &members[from..to];
            load = own.iter().fold(load, |load, at| load.saturating_add(share(&entries[*at as usize])));
            let is_lost = own.iter().any(|at| self.jitter[*at as usize] == UNKNOWN);
            let below = members[to..].iter().map(|at| entries[*at as usize].send).max().unwrap_or(0);
            let blocking = below.max(network.ports[port].blocking.picoseconds());
            failed = failed.or((load > ONE).then_some(Cause::Overload)).or(is_lost.then_some(Cause::Upstream));
            let worst = match failed {
                Some(cause) => Err(cause),
                None => Self::worst(
                    &self.layout,
                    Given { jitter: &self.jitter, done: SoFar { classes: &self.classes, start: &self.class_start }, own, blocking },
                    &mut self.memory,
                ),
            };
            failed = failed.or(worst.err());
            delays.push(ClassDelay { class, worst, blocking });
            from = to;
        }
        self.leave(&members, &delays);
        let kept = &mut self.classes[self.class_start[port] as usize..self.class_start[port + 1] as usize];
        let is_new = *kept != delays[..];
        kept.copy_from_slice(&delays);
        is_new
    }

    fn worst(layout: &Layout, given: Given, memory: &mut Memory) -> Result<u64, Cause> {
        let Memory { curve, own, higher, work } = memory;
        Nesting { layout, jitter: given.jitter, done: &given.done, curve, own, work }.fill(given.own);
        let worst = Meeting { own, higher, blocking: given.blocking }.worst_delay(curve);
        higher.append(own);
        worst.filter(|worst| *worst <= LONGEST).ok_or(Cause::Overload)
    }

    fn leave(&mut self, members: &[u32], delays: &[ClassDelay]) {
        for at in members {
            let entry = &self.layout.entries[*at as usize];
            let worst = delays.iter().find(|delay| delay.class == entry.class).and_then(|delay| delay.worst.ok());
            self.leaves_with[*at as usize] = worst.map_or(UNKNOWN, |worst| jitter_behind(self.jitter[*at as usize], worst, entry.send));
        }
    }
}

struct Given<'a> {
    jitter: &'a [u64],
    done: SoFar<'a>,
    own: &'a [u32],
    blocking: u64,
}

/// The share of the link that an entry takes, in fixed point, rounded up.
fn share(entry: &crate::layout::Entry) -> u128 {
    ratio(entry.send, entry.period).saturating_mul(u128::from(entry.count))
}
