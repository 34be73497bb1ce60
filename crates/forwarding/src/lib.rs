//! What switches and chained devices do with frames: VLANs, spanning tree, snooping and querier,
//! loops; and from that, each packet stream's way through each network.
//!
//! Two steps. [`Fabric::new`] compiles plan and wiring into dense indexes once. [`forward`] decides,
//! for the fabric with some items taken away, which ports block and where every packet stream goes.

mod compile;
pub mod fabric;
pub mod flow;
pub mod packets;

pub use fabric::{CableIx, DeviceIx, Direction, Fabric, Join, NetworkIx, Node, NodeIx, NodeKind, SwitchIx};
pub use flow::{Delivery, Flow, FlowHop, Forwarding, Storm, forward};
pub use packets::{PacketStream, PacketStreams};

#[cfg(test)]
mod compile_tests;
#[cfg(test)]
mod rig;
