//! What is simulated: queues and the trains of packets that pass through them.

/// One direction of a cable: the queue at the port it leaves from, served by strict priority without
/// interrupting a frame on the wire, first come first served within a class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Queue {
    /// Time one bit takes.
    pub picoseconds_per_bit: u64,
    /// From the last bit on the cable to the packet standing in the next queue: cable and box.
    pub onward: u64,
    /// Largest lower-priority frame that may be in the way; 0 for none.
    pub blocker_bits: u64,
}

/// One hop of a train's tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hop {
    /// The queue.
    pub queue: u32,
    /// The hop before it in the train's list; `None` for the first.
    pub parent: Option<u32>,
    /// Whether a receiver hears what comes out of it.
    pub is_heard: bool,
}

/// Equal packets, one each period, along a tree of queues.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Train {
    /// Size of a packet.
    pub bits: u64,
    /// Time between packets.
    pub period: u64,
    /// Priority class: 0 goes first.
    pub class: u8,
    /// The tree, parents before children.
    pub hops: Vec<Hop>,
}

/// Queues and trains. **Invariant**: hops name queues that are there, parents come first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Net {
    /// All queues.
    pub queues: Vec<Queue>,
    /// All trains.
    pub trains: Vec<Train>,
}

impl Net {
    /// How long a packet takes from release to standing in the queue of hop `hop`, with nothing in its way.
    pub(crate) fn undisturbed(&self, train: &Train, hop: u32) -> u64 {
        let mut total = 0;
        let mut at = train.hops[hop as usize].parent;
        while let Some(parent) = at {
            let queue = self.queues[train.hops[parent as usize].queue as usize];
            total += train.bits * queue.picoseconds_per_bit + queue.onward;
            at = train.hops[parent as usize].parent;
        }
        total
    }

    /// The hops from the first to `hop`.
    pub(crate) fn path(&self, train: &Train, hop: u32) -> Vec<u32> {
        let mut path = vec![hop];
        while let Some(parent) = train.hops[path[path.len() - 1] as usize].parent {
            path.push(parent);
        }
        path.reverse();
        path
    }
}
