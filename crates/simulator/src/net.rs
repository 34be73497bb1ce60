//! What is simulated: queues and the trains of packets that pass through them. All times in picoseconds.

/// One direction of a cable: the queue at the port it leaves from, served by strict priority without
/// interrupting a frame on the wire, first come first served within a class. Of packets that come at the same
/// instant the one of the first train in the list counts as first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Queue {
    /// From leaving this end of the cable to arriving at the other.
    pub propagation: u64,
    /// Time on the cable of the largest lower-priority frame that may be in the way; 0 for none.
    pub blocker: u64,
}

/// One hop of a train's tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hop {
    /// The queue.
    pub queue: u32,
    /// The hop before it in the train's list; `None` for the first.
    pub parent: Option<u32>,
    /// Time of one packet on this cable, preamble and gap included; more than 0.
    pub send: u64,
    /// In the box between the cable before and this queue; not used at a first hop.
    pub before: u64,
}

/// Equal packets, one each period, along a tree of queues.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Train {
    /// Time between packets.
    pub period: u64,
    /// Priority class: 0 goes first.
    pub class: u8,
    /// The tree, parents before children, no queue twice.
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
        let mut at = train.hops[hop as usize];
        while let Some(parent) = at.parent {
            let before = at.before;
            at = train.hops[parent as usize];
            total += before + at.send + self.queues[at.queue as usize].propagation;
        }
        total
    }
}

impl Train {
    /// The hops from the first to `hop`, as indexes.
    pub fn path(&self, hop: u32) -> Vec<u32> {
        let mut path = vec![hop];
        let mut at = self.hops[hop as usize].parent;
        while let Some(parent) = at {
            path.push(parent);
            at = self.hops[parent as usize].parent;
        }
        path.reverse();
        path
    }
}
