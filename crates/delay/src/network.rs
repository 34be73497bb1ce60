//! The network as the calculation sees it: queues, streams, nothing else.
//!
//! Plain indexes, so that worked cases load directly and a compiled fabric needs no copy of its names.

use loomwright_model::{LatencyRange, Time};

/// No hop before this one; no link that shapes it.
pub const NONE: u32 = u32::MAX;

/// One egress queue and the link behind it, one direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PortSpec {
    /// How long the largest frame that belongs to no stream can hold the link; zero if there is none.
    /// It is of the lowest class: it can only be there already.
    pub blocking: Time,
    /// How long a bit travels to the other end.
    pub propagation: Time,
    /// Nothing can be promised here: frames circle through it.
    pub is_unbounded: bool,
}

/// One stream passing one queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HopSpec {
    /// Index in [`Network::ports`].
    pub port: u32,
    /// The hop before, as index in [`StreamSpec::hops`], or [`NONE`].
    pub parent: u32,
    /// Time that one of its frames takes on this link, preamble and gap included.
    pub send: Time,
    /// Time in the box between the link before and this queue.
    pub forward: LatencyRange,
}

impl HopSpec {
    /// The hop before this one, which is that at `at`; `None` for one that lies behind it, as for none.
    pub(crate) fn parent_at(&self, at: usize) -> Option<usize> {
        Some(self.parent as usize).filter(|parent| *parent < at)
    }
}

/// One stream: a packet at most every `period`, moved by up to `jitter`, along a tree of hops.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamSpec {
    /// Its class; a higher one goes first, frames of one class in order of arrival.
    pub class: u8,
    /// Least time between nominal releases.
    pub period: Time,
    /// How much later than nominal a release can be.
    pub jitter: Time,
    /// Parents before children.
    pub hops: Vec<HopSpec>,
}

/// Many equal small streams at one queue, known only as a number: clock messages of the devices
/// behind one of its inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bundle {
    /// The queue.
    pub port: u32,
    /// The queue whose link they come in by, or [`NONE`] for the port's own device.
    pub feeder: u32,
    /// Class.
    pub class: u8,
    /// Which messages: of those off one link, bundles of one kind are the same messages further on.
    pub kind: u8,
    /// Their kind on the feeder's link; another where they answer what came by it.
    pub before: u8,
    /// How many.
    pub count: u32,
    /// Time that one frame takes on this link.
    pub send: Time,
    /// Time that one frame takes on the feeder's link.
    pub feeder_send: Time,
    /// Least time between two messages of one device.
    pub period: Time,
    /// Most that the way here can have moved them. Any value that leaves busy spells shorter than
    /// `period - jitter` gives the same result.
    pub jitter: Time,
}

/// Queues and streams.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Network {
    /// Queues.
    pub ports: Vec<PortSpec>,
    /// Streams.
    pub streams: Vec<StreamSpec>,
    /// Aggregates.
    pub bundles: Vec<Bundle>,
}
