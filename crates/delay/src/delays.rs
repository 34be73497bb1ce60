//! Delays of a whole system: every packet stream at every receiver, every cable in every direction.

use crate::analysis::{Analysis, Bound, NoBound, analyse};
use crate::class::{CLOCK, REST};
use crate::clockwork::message_time;
use crate::sweep::Cause;
use crate::system::{Assumptions, System};
use loomwright_forwarding::{Direction, Fabric};
use loomwright_model::{BitRate, ByteCount, Time};

/// One cable in one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DirectionLoad {
    /// All packet streams on it, on the wire, tags included.
    pub load: BitRate,
    /// How many packet streams.
    pub streams: u32,
    /// Load that nobody behind it asked for.
    pub unwanted: BitRate,
}

/// One hop's part of a worst case. Serialise, wait, forward and propagate add up to the hop, the hops to
/// the whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HopDelay {
    /// The cable and direction: its queue, its bits, its length.
    pub direction: Direction,
    /// Own bits onto the cable.
    pub serialise: Time,
    /// Waiting behind others, one lower frame included.
    pub wait: Time,
    /// The part of the wait that is one lower frame already on the cable.
    pub blocked: Time,
    /// Inside the box at the far end, before its next queue; zero at the receiver.
    pub forward: Time,
    /// Along the cable.
    pub propagate: Time,
    /// Packet streams of the same class and above that it may wait behind, in order.
    pub behind: Vec<u32>,
}

/// Delays and loads.
pub struct Delays {
    analysis: Analysis,
    loads: Vec<DirectionLoad>,
    /// The packet stream of each flow.
    packet_stream: Vec<u32>,
    /// Time between its packets.
    period: Vec<Time>,
    /// One clock message on each direction, and the cable's speed.
    message: Vec<Time>,
    speed: Vec<BitRate>,
    /// Whether the cables in use form a tree, which the delays said to be reached rely on.
    is_tree: bool,
}

impl Delays {
    /// Works out everything. Cost as [`analyse`].
    pub fn new(system: &System, assumptions: &Assumptions) -> Self {
        Self::of(system, analyse(system.network(assumptions)))
    }

    /// Works out nearly the same system, of the same fabric or one with the same cables first: only queues after
    /// something that changed. The result is that of [`Delays::new`]; [`Analysis::visited`] says how many queues it took.
    #[must_use]
    pub fn with_changes(&self, system: &System, assumptions: &Assumptions) -> Self {
        Self::of(system, self.analysis.with_changes(system.network(assumptions)))
    }

    fn of(system: &System, analysis: Analysis) -> Self {
        let directions = (0..system.fabric.cables.len() as u32 * 2).map(Direction);
        Self {
            analysis,
            loads: loads(system),
            packet_stream: system.forwarding.flows.iter().map(|flow| flow.packet_stream).collect(),
            period: system.forwarding.flows.iter().map(|flow| system.packets(flow).period).collect(),
            message: directions.clone().map(|direction| message_time(system.fabric, direction)).collect(),
            speed: directions.map(|direction| system.fabric.cables[direction.cable().0 as usize].speed).collect(),
            is_tree: is_tree(system.fabric, &system.forwarding.passes),
        }
    }

    /// Delay of a flow from release to the far end of one of its hops. For a delivery, its last hop.
    pub fn bound(&self, flow: usize, hop: u32) -> Result<Bound, NoBound> {
        let spec = &self.analysis.network().streams[flow];
        if spec.class == REST {
            return Err(NoBound { port: spec.hops[hop as usize].port, cause: Cause::Unprotected });
        }
        self.analysis.bound(flow, hop as usize)
    }

    /// Whether a packet that late can be constructed.
    pub fn is_known_tight(&self, flow: usize, hop: u32) -> bool {
        self.is_tree && self.bound(flow, hop).is_ok_and(|bound| bound.is_known_tight())
    }

    /// Hop by hop to the far end of `hop`; empty if there is no bound.
    pub fn hops(&self, flow: usize, hop: u32) -> Vec<HopDelay> {
        if self.bound(flow, hop).is_err() {
            return Vec::new();
        }
        let parts = self.analysis.parts(flow, hop as usize);
        let forward = parts.iter().skip(1).map(|part| part.forward).chain([Time::ZERO]);
        let hops = parts.iter().zip(forward).map(|(part, forward)| HopDelay {
            direction: Direction(part.port),
            serialise: part.serialise,
            wait: part.wait,
            blocked: part.blocked,
            forward,
            propagate: part.propagate,
            behind: self.behind(flow, Direction(part.port)),
        });
        hops.collect()
    }

    /// Packet streams of the same class and above at a queue, other than the flow's own.
    pub fn behind(&self, flow: usize, direction: Direction) -> Vec<u32> {
        let streams = &self.analysis.network().streams;
        let others =
            self.analysis.streams_at(direction.0 as usize).filter(|other| *other != flow && streams[*other].class >= streams[flow].class);
        let mut others: Vec<u32> = others.map(|other| self.packet_stream[other]).collect();
        others.sort_unstable();
        others.dedup();
        others
    }

    /// What a receiver should hold ready so that no late packet is missed; see [`crate::Hold::buffer`].
    pub fn receiver_buffer(&self, flow: usize, hop: u32) -> Option<Time> {
        self.hold(flow, hop).ok().map(|hold| hold.buffer())
    }

    /// A delay that a packet of a flow can really have at one of its hops; `None` without a bound, and where the
    /// cables in use form no tree, as the construction relies on one.
    pub fn reached(&self, flow: usize, hop: u32) -> Option<Time> {
        self.bound(flow, hop).ok().filter(|_| self.is_tree).map(|bound| bound.reached.min(bound.worst))
    }

    /// Time between two packets of a flow.
    pub(crate) fn period(&self, flow: usize) -> Time {
        self.period[flow]
    }

    /// Load of a cable in one direction.
    pub fn load(&self, direction: Direction) -> DirectionLoad {
        self.loads[direction.0 as usize]
    }

    /// Most that planned streams can have waiting at a queue at once; `None` if there is no bound.
    pub fn backlog(&self, direction: Direction) -> Option<ByteCount> {
        let at = direction.0 as usize;
        let time = u128::from(self.analysis.backlog(at)?.picoseconds());
        let bytes = (time * u128::from(self.speed[at].bits_per_second())).div_ceil(8 * 1_000_000_000_000);
        Some(ByteCount::from_bytes(u64::try_from(bytes).unwrap_or(u64::MAX)))
    }

    /// Longest time that a clock event message can wait in a queue: its delay variation there.
    pub fn clock_wait(&self, direction: Direction) -> Result<Time, Cause> {
        let at = direction.0 as usize;
        let delays = self.analysis.at_port(at);
        if let Some(delay) = delays.iter().find(|delay| delay.class == CLOCK) {
            return delay.worst.map(|worst| Time::from_picoseconds(worst) - self.message[at]);
        }
        let streams = &self.analysis.network().streams;
        let sends = self.analysis.streams_at(at).flat_map(|stream| &streams[stream].hops).filter(|hop| hop.port as usize == at);
        let port = &self.analysis.network().ports[at];
        let largest = sends.map(|hop| hop.send).max().unwrap_or(Time::ZERO).max(port.blocking);
        if port.is_unbounded { Err(Cause::Storm) } else { Ok(largest) }
    }

    /// The calculation below names.
    pub fn analysis(&self) -> &Analysis {
        &self.analysis
    }
}

fn loads(system: &System) -> Vec<DirectionLoad> {
    let mut loads = vec![DirectionLoad::default(); system.fabric.cables.len() * 2];
    for flow in &system.forwarding.flows {
        let packets = system.packets(flow);
        let rate = system.plan.streams[packets.stream as usize].format.sample_rate;
        let rates = [packets.wire_rate(0, rate), packets.wire_rate(1, rate)];
        for hop in &flow.hops {
            let is_tagged = system.fabric.cables[hop.direction.cable().0 as usize].is_tagged();
            let rate = rates[usize::from(is_tagged)];
            let load = &mut loads[hop.direction.0 as usize];
            load.load = load.load + rate;
            load.streams += 1;
            if !hop.wanted {
                load.unwanted = load.unwanted + rate;
            }
        }
    }
    loads
}

/// Whether boxes and cables in use, whatever network they carry, form no circle. Interfaces of one
/// device pass nothing to each other, so they count as boxes of their own.
fn is_tree(fabric: &Fabric, passes: &[bool]) -> bool {
    let mut joined: Vec<usize> = (0..fabric.nodes.len()).collect();
    for switch in fabric.switch_start.windows(2) {
        joined[switch[0] as usize..switch[1] as usize].fill(switch[0] as usize);
    }
    for cable in 0..fabric.cables.len() {
        let mut links = fabric.links_of(loomwright_forwarding::CableIx(cable as u32)).filter(|link| passes[*link]);
        let Some(link) = links.next() else { continue };
        let [a, b] = fabric.links[link].nodes.map(|node| root(&mut joined, node.0 as usize));
        if a == b {
            return false;
        }
        joined[a.max(b)] = a.min(b);
    }
    true
}

fn root(joined: &mut [usize], mut at: usize) -> usize {
    while joined[at] != at {
        joined[at] = joined[joined[at]];
        at = joined[at];
    }
    at
}
