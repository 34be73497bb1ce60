//! What switches and chained devices do with frames: VLANs, spanning tree, snooping and querier,
//! loops; and from that, each packet stream's way through each network.
//!
//! Two steps. [`Fabric::new`] compiles plan and wiring into dense indexes once. [`forward`] decides,
//! for the fabric with some items taken away, which ports block and where every packet stream goes.

mod compile;
mod domain;
pub mod fabric;
pub mod flow;
pub mod membership;
pub mod packets;
mod removed;
mod trace;
mod tree;

pub use domain::{CutByTree, Storm};
pub use fabric::{Bridge, CableIx, DeviceIx, Direction, Fabric, Join, NetworkIx, Node, NodeIx, NodeKind, SwitchIx};
pub use flow::{Delivery, Flow, FlowHop, Forwarding, forward, forward_without, is_always_flooded, tree_without};
pub use packets::{PacketStream, PacketStreams};
pub use removed::Removed;
pub use tree::Tree;
