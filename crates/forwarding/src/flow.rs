//! Where every packet stream goes.

use crate::fabric::{Direction, Fabric, NetworkIx, NodeIx};
use crate::packets::PacketStreams;
use loomwright_model::{Plan, Wiring};

/// No parent: the first hop of a flow.
pub const NO_PARENT: u32 = u32::MAX;

/// One direction that a flow takes, wanted there or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlowHop {
    /// The cable and direction.
    pub direction: Direction,
    /// The hop before it in [`Flow::hops`], or [`NO_PARENT`].
    pub parent: u32,
    /// Whether a receiver of the stream lies behind it. False for flooding and for copies that only
    /// the querier's port gets.
    pub wanted: bool,
}

/// Where a flow reaches a receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Delivery {
    /// Index in the stream's `to`.
    pub receiver: u32,
    /// Index of the last hop in [`Flow::hops`].
    pub hop: u32,
}

/// One packet stream in one network: a tree of hops, parents before children. A unicast stream has
/// one flow per receiver.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flow {
    /// Index in [`PacketStreams::all`].
    pub packet_stream: u32,
    /// The network.
    pub network: NetworkIx,
    /// Where it starts.
    pub sender: NodeIx,
    /// The tree.
    pub hops: Vec<FlowHop>,
    /// Where it arrives.
    pub deliveries: Vec<Delivery>,
}

/// A loop that nothing breaks: frames circle in it for ever.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Storm {
    /// Cables of one loop, in order.
    pub cables: Vec<crate::fabric::CableIx>,
}

/// What the fabric does with frames.
#[derive(Debug, Clone, Default)]
pub struct Forwarding {
    /// Packet streams of the plan.
    pub packets: PacketStreams,
    /// All flows: packet streams in order, within one the networks in order.
    pub flows: Vec<Flow>,
    /// For each link of the fabric: whether spanning tree blocks it.
    pub blocked: Vec<bool>,
    /// Loops that nothing breaks.
    pub storms: Vec<Storm>,
    /// Layer-2 domains: a number for each node; nodes with the same number hear each other's broadcasts.
    pub domain: Vec<u32>,
    /// Whether a querier asks in each domain.
    pub has_querier: Vec<bool>,
}

/// Decides where everything goes, for `fabric` whole.
pub fn forward(_plan: &Plan, _wiring: &Wiring, _fabric: &Fabric) -> Forwarding {
    Forwarding::default()
}
