//! Delay bounds of every stream of a [`Network`].

use crate::network::{HopSpec, Network};
use crate::patch::patched;
use crate::sweep::{Cause, ClassDelay, Sweep, UNKNOWN};
use loomwright_model::Time;
use std::cmp::Reverse;

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
}

/// Works out the whole network, queue by queue.
/// O(hops + groups log groups) where every packet of a queue comes at most once while it is busy, as is usual.
pub fn analyse(network: Network) -> Analysis {
    let sweep = Sweep::new(&network);
    Analysis { network, sweep }
}

impl Analysis {
    /// Works out nearly the same network: what was taken away, added or changed reaches only the queues after it, and
    /// only those are done again. The result is that of [`analyse`] to the picosecond. O(hops) to compare.
    #[must_use]
    pub fn with_changes(&self, network: Network) -> Self {
        let sweep = patched(&self.sweep, (&self.network, &network)).unwrap_or_else(|| Sweep::new(&network));
        Self { network, sweep }
    }

    /// How many queues were worked out, not taken over from an earlier analysis. Queues that feed each other in a circle
    /// count each time.
    pub fn visited(&self) -> usize {
        self.sweep.visited
    }

    /// What was worked out.
    pub fn network(&self) -> &Network {
        &self.network
    }

    /// Delay of `stream` from its release to the far end of its hop `hop`.
    pub fn bound(&self, stream: usize, hop: usize) -> Result<Bound, NoBound> {
        let passage = &self.sweep.layout.rows[self.sweep.layout.row(stream, hop)];
        if passage.worst == UNKNOWN
            && let Some(lost) = self.where_lost(stream, hop)
        {
            return Err(lost);
        }
        let [least, worst, reached] = [passage.least, passage.worst, passage.reached].map(Time::from_picoseconds);
        Ok(Bound { least, worst, reached })
    }

    /// The first hop without bound on the way to `hop`.
    fn where_lost(&self, stream: usize, hop: usize) -> Option<NoBound> {
        let way = self.way(stream, hop);
        let lost = |hop: &HopSpec| Some(NoBound { port: hop.port, cause: self.class_delay(stream, hop)?.worst.err()? });
        way.into_iter().rev().find_map(lost)
    }

    /// Hops from `hop` back to the sender.
    fn way(&self, stream: usize, hop: usize) -> Vec<&HopSpec> {
        let hops = &self.network.streams[stream].hops;
        std::iter::successors(hops.get(hop), |hop| hops.get(hop.parent as usize)).collect()
    }

    fn class_delay(&self, stream: usize, hop: &HopSpec) -> Option<&ClassDelay> {
        let class = self.network.streams[stream].class;
        self.at_port(hop.port as usize).iter().find(|delay| delay.class == class)
    }

    /// What each class can expect at a queue, highest class first.
    pub fn at_port(&self, port: usize) -> &[ClassDelay] {
        self.sweep.at_port(port)
    }

    /// Streams that pass a queue, highest class first, then as in the network.
    pub fn streams_at(&self, port: usize) -> impl Iterator<Item = usize> {
        let layout = &self.sweep.layout;
        let mut streams: Vec<usize> =
            layout.ids[layout.list_at(port)].iter().filter_map(|row| layout.stream_of(&self.network, *row)).collect();
        streams.sort_unstable_by_key(|stream| (Reverse(self.network.streams[*stream].class), *stream));
        streams.into_iter()
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
        let way = self.way(stream, hop).into_iter();
        let mut parts: Vec<HopParts> = way.filter_map(|hop| self.hop_parts(hop, self.class_delay(stream, hop)?)).collect();
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

    fn hop_parts(&self, hop: &HopSpec, delay: &ClassDelay) -> Option<HopParts> {
        let wait = Time::from_picoseconds(delay.worst.ok()?) - hop.send;
        let blocked = Time::from_picoseconds(delay.blocking).min(wait);
        let propagate = self.network.ports[hop.port as usize].propagation;
        Some(HopParts { port: hop.port, forward: hop.forward.most, wait, blocked, serialise: hop.send, propagate })
    }
}
