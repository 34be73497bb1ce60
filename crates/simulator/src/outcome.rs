//! What goes into a play and what was seen in it.

/// One packet handed to its train's first queues.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Release {
    /// When.
    pub at: u64,
    /// Which train.
    pub train: u32,
}

/// One frame of lower priority handed to one queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Blocker {
    /// When.
    pub at: u64,
    /// Which queue.
    pub queue: u32,
}

/// What was seen.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Longest time from release to the last bit heard at the far end of each hop's cable, by train, then by
    /// hop in the train's list; 0 if no packet came.
    pub latest: Vec<Vec<u64>>,
    /// Packets sent, counted at every hop; blockers are not counted.
    pub packet_hops: u64,
    /// Every packet at the watched queues, blockers too, by queue, then in the order in which they were sent.
    pub passages: Vec<Passage>,
}

/// A frame passing a queue: it stands there from `arrival`, is on the cable from `start` to `end`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Passage {
    /// The queue.
    pub queue: u32,
    /// First bit onto the cable.
    pub start: u64,
    /// Last bit onto the cable.
    pub end: u64,
    /// When it came to stand in the queue.
    pub arrival: u64,
    /// When it was released; for a blocker its arrival.
    pub release: u64,
    /// Which train; `None` for a blocker.
    pub train: Option<u32>,
}
