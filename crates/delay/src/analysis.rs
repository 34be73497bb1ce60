//! Delay bounds of every stream of a [`Network`].

use crate::network::{HopSpec, NONE, Network};
use crate::reach::{Arriving, Reach};
use crate::sweep::{Cause, ClassDelay, Sweep};
use crate::tandem::{Between, Progress, Tandems};
use loomwright_model::Time;

/// Delay of one stream up to and with one of its hops.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// Never sooner: release to last bit at the far end.
    pub least: Time,
    /// Never later.
    pub worst: Time,
    /// A delay that a packet can really have, in a tree: at every queue one packet from every other input,
    /// all of its own device, and one lower frame are just ahead of it.
    pub reached: Time,
}

impl Bound {
    /// Whether the worst case is known to occur.
    pub fn is_known_tight(&self) -> bool {
        self.reached >= self.worst
    }

    /// How much the delay can vary.
    pub fn variation(&self) -> Time {
        self.worst - self.least
    }
}

/// Where a stream's bound was lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoBound {
    /// The queue.
    pub port: u32,
    /// Why.
    pub cause: Cause,
}

/// One hop's part of the worst case. The parts add up to the hop, the hops to the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HopParts {
    /// The queue.
    pub port: u32,
    /// In the box before the queue.
    pub forward: Time,
    /// Behind others, one lower frame included.
    pub wait: Time,
    /// The part of the wait that is one lower frame already on the link.
    pub blocked: Time,
    /// Own bits onto the link.
    pub serialise: Time,
    /// Along the link.
    pub propagate: Time,
}

impl HopParts {
    /// The hop as a whole.
    pub fn whole(&self) -> Time {
        self.forward + self.wait + self.serialise + self.propagate
    }
}

/// The result.
pub struct Analysis {
    network: Network,
    sweep: Sweep,
    bounds: Vec<Result<Bound, NoBound>>,
}

/// Works out the whole network: queue by queue, then for every path on which everybody stays to the
/// end the lesser of the sum of its queues and of the bound that pays each burst once.
/// O(hops + groups log groups) where every packet of a queue comes at most once while it is busy, as is usual.
pub fn analyse(network: Network) -> Analysis {
    let sweep = Sweep::new(&network);
    let tandems = Tandems::new(&sweep);
    let reach = Reach::new(&sweep);
    let mut bounds: Vec<Result<Bound, NoBound>> = Vec::with_capacity(sweep.layout.entries.len());
    let mut progress: Vec<Option<Progress>> = Vec::new();
    for (stream, spec) in network.streams.iter().enumerate() {
        let first = sweep.layout.stream_start[stream] as usize;
        progress.clear();
        for hop in &spec.hops {
            let so_far = if hop.parent == NONE { Ok(START) } else { bounds[first + hop.parent as usize] };
            let step = Step::new(&network, &sweep, (spec.class, hop));
            let tandem = step.tandem(&tandems, hop.parent != NONE, progress.get(hop.parent as usize).copied().flatten());
            let feeder = spec.hops.get(hop.parent as usize).map_or(NONE, |before| before.port);
            let reached = reach.at(hop.port as usize, Arriving { class: spec.class, feeder, send: hop.send.picoseconds() });
            bounds.push(so_far.and_then(|so_far| step.bound(so_far, tandem, reached)));
            progress.push(tandem);
        }
    }
    Analysis { network, sweep, bounds }
}

const START: Bound = Bound { least: Time::ZERO, worst: Time::ZERO, reached: Time::ZERO };

/// One hop of one stream.
struct Step<'a> {
    network: &'a Network,
    delay: Option<&'a ClassDelay>,
    hop: &'a HopSpec,
}

impl<'a> Step<'a> {
    fn new(network: &'a Network, sweep: &'a Sweep, (class, hop): (u8, &'a HopSpec)) -> Self {
        let delay = sweep.at_port(hop.port as usize).iter().find(|delay| delay.class == class);
        Self { network, delay, hop }
    }

    fn parts(&self) -> Option<HopParts> {
        let delay = self.delay?;
        let wait = Time::from_picoseconds(delay.worst.ok()?) - self.hop.send;
        let blocked = Time::from_picoseconds(delay.blocking).min(wait);
        let propagate = self.network.ports[self.hop.port as usize].propagation;
        Some(HopParts { port: self.hop.port, forward: self.hop.forward.most, wait, blocked, serialise: self.hop.send, propagate })
    }

    fn tandem(&self, tandems: &Tandems, has_parent: bool, before: Option<Progress>) -> Option<Progress> {
        let blocking = self.delay?.blocking;
        if !has_parent {
            return tandems.begin(self.hop.port, blocking);
        }
        let before = before?;
        let way = self.network.ports[before.port() as usize].propagation + self.hop.forward.most;
        tandems.extend(before, self.hop.port, Between { way: way.picoseconds(), blocking })
    }

    fn bound(&self, so_far: Bound, tandem: Option<Progress>, ahead: u64) -> Result<Bound, NoBound> {
        let (port, propagation) = (self.hop.port, self.network.ports[self.hop.port as usize].propagation);
        let worst = self.delay.map_or(Ok(0), |delay| delay.worst).map_err(|cause| NoBound { port, cause })?;
        let sum = so_far.worst + self.hop.forward.most + Time::from_picoseconds(worst);
        let once = tandem.map_or(Time::MAX, |tandem| Time::from_picoseconds(tandem.worst()));
        let least = so_far.least + self.hop.forward.least + self.hop.send + propagation;
        let ahead = self.network.ports[port as usize].blocking + Time::from_picoseconds(ahead);
        let reached = so_far.reached + self.hop.forward.most + ahead + self.hop.send + propagation;
        Ok(Bound { least, worst: sum.min(once) + propagation, reached })
    }
}

impl Analysis {
    /// What was worked out.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Delay of `stream` from its release to the far end of its hop `hop`.
    pub fn bound(&self, stream: usize, hop: usize) -> Result<Bound, NoBound> {
        self.bounds[self.sweep.layout.stream_start[stream] as usize + hop]
    }

    /// What each class can expect at a queue, highest class first.
    pub fn at_port(&self, port: usize) -> &[ClassDelay] {
        self.sweep.at_port(port)
    }

    /// Streams that pass a queue, highest class first.
    pub fn streams_at(&self, port: usize) -> impl Iterator<Item = usize> {
        let hops = *self.sweep.layout.stream_start.last().unwrap_or(&0);
        let members = self.sweep.layout.at_port(port).iter().filter(move |at| **at < hops);
        members.map(|at| self.sweep.layout.stream_start.partition_point(|start| start <= at) - 1)
    }

    /// How much may have to wait at a queue at once, all classes together, as time on its link:
    /// what cannot be sent before the last packet of the lowest class. `None` if there is no bound.
    pub fn backlog(&self, port: usize) -> Option<Time> {
        match self.sweep.at_port(port).last() {
            None => Some(Time::ZERO),
            Some(lowest) => lowest.worst.ok().map(Time::from_picoseconds),
        }
    }

    /// Parts of the worst case of `stream` up to and with its hop `hop`, first hop first; empty if
    /// there is no bound. Where the path's bound is less than the sum of its queues', the last waits
    /// are shortened by the difference.
    pub fn parts(&self, stream: usize, hop: usize) -> Vec<HopParts> {
        let Ok(bound) = self.bound(stream, hop) else { return Vec::new() };
        let spec = &self.network.streams[stream];
        let mut parts = Vec::new();
        let mut at = hop as u32;
        while at != NONE {
            let step = Step::new(&self.network, &self.sweep, (spec.class, &spec.hops[at as usize]));
            parts.extend(step.parts());
            at = step.hop.parent;
        }
        let mut surplus = parts.iter().map(HopParts::whole).sum::<Time>() - bound.worst;
        for part in &mut parts {
            let saved = surplus.min(part.wait);
            part.wait = part.wait - saved;
            part.blocked = part.blocked.min(part.wait);
            surplus = surplus - saved;
        }
        parts.reverse();
        parts
    }
}
