//! What happens to one packet, as plain data.

use crate::excerpt::Excerpt;
use loomwright_model::Time;
use loomwright_simulator::{Passage, Player};

/// One packet's way through its queues when all goes as badly as could be built. Times count from the first thing that
/// happens in any of its queues or from its release, whichever is first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Replay {
    /// From release to the last bit at the far end.
    pub reached: Time,
    /// When the packet is released.
    pub released: Time,
    /// When its last bit is at the far end.
    pub heard: Time,
    /// Its queues, first to last.
    pub queues: Vec<QueueTimeline>,
    /// Where and when most stands in a queue that the packet stands in.
    pub fullest: Fullest,
}

/// One queue on the packet's path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QueueTimeline {
    /// The port: index in the network's ports; for a plan, the direction.
    pub port: u32,
    /// All packets that leave by it up to and with the packet itself, in the order in which they leave.
    pub packets: Vec<Passing>,
}

impl QueueTimeline {
    /// The packet itself.
    pub fn own(&self) -> Option<&Passing> {
        self.packets.iter().find(|packet| packet.whose == Whose::Own)
    }

    /// How many packets stand in the queue or are on their way out of it at `at`.
    pub fn packets_at(&self, at: Time) -> usize {
        self.packets.iter().filter(|packet| packet.arrives <= at && at < packet.ends).count()
    }

    /// How long the cable needs from `at` for all that stands in the queue then.
    pub fn work_at(&self, at: Time) -> Time {
        let standing = self.packets.iter().filter(|packet| packet.arrives <= at && at < packet.ends);
        standing.map(|packet| packet.ends - packet.starts.max(at)).sum()
    }
}

/// A packet at a queue: it stands there from `arrives`, is on the cable from `starts` to `ends`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passing {
    /// Whose packet it is.
    pub whose: Whose,
    /// It stands in the queue.
    pub arrives: Time,
    /// Its first bit goes onto the cable.
    pub starts: Time,
    /// Its last bit is on the cable.
    pub ends: Time,
}

/// Whose packet it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// The packet that is followed (or, if it comes more than once, another of its stream).
    Own,
    /// Another stream: index in the network's streams; for a plan, the flow.
    Stream(u32),
    /// A clock message.
    Clock,
    /// The largest frame of what is not planned: it was on the cable just before.
    Other,
}

/// A moment at a queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Fullest {
    /// Index in [`Replay::queues`].
    pub queue: usize,
    /// When.
    pub at: Time,
    /// Packets that stand there, the one on its way out included.
    pub packets: usize,
    /// How long the cable needs for them.
    pub work: Time,
}

impl Replay {
    pub(crate) fn new(excerpt: &Excerpt, player: &Player, reached: u64) -> Self {
        let queues: Vec<Vec<Passage>> = (0..excerpt.path_length as u32).map(|queue| up_to_own(player, (queue, excerpt, reached))).collect();
        let own = queues.last().and_then(|queue| queue.last().copied());
        let release = own.map_or(0, |own| own.release);
        let begin = queues.iter().flatten().map(|passage| passage.arrival).chain([release]).min().unwrap_or(0);
        let time = |at: u64| Time::from_picoseconds(at - begin);
        let passing = |passage: &Passage| Passing {
            whose: passage.train.map_or(Whose::Other, |train| excerpt.whose[train as usize]),
            arrives: time(passage.arrival),
            starts: time(passage.start),
            ends: time(passage.end),
        };
        let queues: Vec<QueueTimeline> = queues
            .iter()
            .zip(&excerpt.ports)
            .map(|(passages, port)| QueueTimeline { port: *port, packets: passages.iter().map(passing).collect() })
            .collect();
        let (released, heard) = (time(release), time(release + reached));
        Self { reached: Time::from_picoseconds(reached), released, heard, fullest: fullest(&queues), queues }
    }
}

/// What leaves a queue up to and with the packet that is as late as `reached`.
fn up_to_own(player: &Player, (queue, excerpt, reached): (u32, &Excerpt, u64)) -> Vec<Passage> {
    let at = |queue: u32| player.passages().iter().filter(move |passage| passage.queue == queue).copied();
    let last = excerpt.path_length as u32 - 1;
    let propagation = excerpt.net.queues[last as usize].propagation;
    let latest = at(last).find(|passage| passage.train == Some(0) && passage.end + propagation - passage.release == reached);
    let release = latest.map_or(0, |latest| latest.release);
    let mut passages: Vec<Passage> = at(queue).collect();
    let own = passages.iter().position(|passage| passage.train == Some(0) && passage.release == release);
    passages.truncate(own.map_or(0, |own| own + 1));
    passages
}

/// Looks at every arrival while the packet stands in a queue; of equal moments the first.
fn fullest(queues: &[QueueTimeline]) -> Fullest {
    let mut fullest = Fullest::default();
    for (queue, timeline) in queues.iter().enumerate() {
        let Some(own) = timeline.packets.last().copied() else { continue };
        let mut moments: Vec<Time> = timeline.packets.iter().map(|packet| packet.arrives).filter(|at| *at >= own.arrives).collect();
        moments.sort_unstable();
        moments.dedup();
        for at in moments {
            let work = timeline.work_at(at);
            if work > fullest.work {
                fullest = Fullest { queue, at, packets: timeline.packets_at(at), work };
            }
        }
    }
    fullest
}
