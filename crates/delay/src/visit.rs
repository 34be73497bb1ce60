//! One queue: how long each class waits, and what every packet has behind it then.

use crate::curve::ONE;
use crate::layout::{Layout, Row};
use crate::port::{LONGEST, Longest, Meeting};
use crate::shape::Shape;
use crate::stairs::is_own;
use crate::sweep::{Cause, ClassDelay, Given, Memory, Sweep, UNKNOWN};

/// What the classes of one queue have taken so far, highest first.
struct Taken {
    /// Share of the link asked for.
    load: u128,
    failed: Option<Cause>,
}

impl Sweep {
    /// The delay of every class of what was gathered; says whether any is other than before.
    pub(crate) fn serve(&mut self, given: Given, memory: &mut Memory) -> bool {
        self.visited += 1;
        let mut taken = Taken { load: 0, failed: given.spec.is_unbounded.then_some(Cause::Storm) };
        let mut is_new = false;
        for (rank, at) in self.layout.regions_at(given.port).enumerate() {
            let below = memory.stairs.classes[rank + 1..].iter().map(|class| class.longest).max().unwrap_or(0);
            let blocking = below.max(given.spec.blocking.picoseconds());
            memory.space.gains.clear();
            let longest = self.longest(&mut taken, (rank, blocking, given), memory);
            let delay = ClassDelay { worst: longest.map(|longest| longest.worst), blocking, ..self.classes.all[at] };
            is_new |= self.classes.all[at] != delay;
            self.classes.all[at] = delay;
            self.classes.is_bunched[at] = longest.is_ok_and(|longest| longest.is_bunched);
            self.classes.plain[at] = longest.map_or(UNKNOWN, |longest| longest.plain);
            if memory.space.gains != self.classes.gains[at] {
                self.classes.gains[at].clone_from(&memory.space.gains);
                is_new = true;
            }
        }
        is_new
    }

    fn longest(&self, taken: &mut Taken, (rank, blocking, given): (usize, u64, Given), memory: &mut Memory) -> Result<Longest, Cause> {
        let class = memory.stairs.classes[rank];
        taken.load = taken.load.saturating_add(class.load);
        taken.failed = taken.failed.or((taken.load > ONE).then_some(Cause::Overload)).or(class.is_lost.then_some(Cause::Upstream));
        let Given { is_unordered, is_circular, .. } = given;
        let meeting = Meeting { sweep: self, stairs: &memory.stairs.all, class, blocking, is_unordered, is_circular };
        let longest = match taken.failed {
            Some(cause) => Err(cause),
            None => meeting.worst_delay(&mut memory.curve, &mut memory.space).filter(|it| it.worst <= LONGEST).ok_or(Cause::Overload),
        };
        taken.failed = taken.failed.or(longest.err());
        longest
    }

    /// What everything has behind it once it leaves a queue and its link; says what of it is new.
    pub(crate) fn leave(&mut self, given: Given, memory: &mut Memory) -> Left {
        let (stairs, inputs) = (&memory.stairs, &mut memory.inputs);
        let mut left = Left { is_other: false, is_bunched: false };
        inputs.clear();
        for (class, at) in stairs.classes.iter().zip(self.layout.regions_at(given.port)) {
            inputs.add_class(&stairs.all[class.start..class.end]);
            let mut members = (class.start, self.layout.regions[at].range().start);
            let propagation = given.spec.propagation.picoseconds();
            let delay = self.classes.all[at].worst.unwrap_or(UNKNOWN).saturating_add(propagation);
            for (feeder, work, count) in inputs.last_class() {
                let ahead = given.spec.blocking.picoseconds().saturating_add(inputs.ahead_of(feeder, work));
                let is_bunched = self.classes.is_bunched[at];
                let delay = if delay == UNKNOWN { UNKNOWN } else { delay - self.classes.gain(at, feeder).worst };
                let queue = Queue { delay, is_bunched, ahead, is_own: is_own(feeder), propagation };
                let Layout { rows, shapes, ids, .. } = &mut self.layout;
                for (stair, id) in stairs.all[members.0..members.0 + count].iter().zip(&ids[members.1..members.1 + count]) {
                    let passage = queue.pass(&shapes[stair.shape as usize], Passage::behind(rows.get(stair.parent as usize)));
                    left.is_bunched |= passage.is_bunched;
                    left.is_other |= rows[*id as usize].take(passage);
                }
                members = (members.0 + count, members.1 + count);
            }
        }
        left
    }
}

/// What became of the packets of a queue.
pub(crate) struct Left {
    /// Whether any has other things behind it than before.
    pub(crate) is_other: bool,
    /// Whether any was, on its way, in a queue that can hold several packets of one stream.
    pub(crate) is_bunched: bool,
}

/// What a packet of one class that comes by one link finds.
struct Queue {
    /// The longest delay, link included, or [`UNKNOWN`].
    delay: u64,
    is_bunched: bool,
    /// What can really be ahead of it; it counts itself if it is the box's own.
    ahead: u64,
    is_own: bool,
    propagation: u64,
}

/// What a packet has behind it.
#[derive(PartialEq)]
struct Passage {
    is_bunched: bool,
    least: u64,
    worst: u64,
    reached: u64,
}

impl Passage {
    fn of(row: &Row) -> Self {
        let Row { is_bunched, least, worst, reached, .. } = *row;
        Self { is_bunched, least, worst, reached }
    }

    fn behind(row: Option<&Row>) -> Self {
        row.map_or(Self { is_bunched: false, least: 0, worst: 0, reached: 0 }, Self::of)
    }
}

impl Row {
    /// Notes what its packets have behind them; says whether that is other than before.
    fn take(&mut self, passage: Passage) -> bool {
        let is_other = passage != Passage::of(self);
        let Passage { is_bunched, least, worst, reached } = passage;
        (self.is_bunched, self.least, self.worst, self.reached) = (is_bunched, least, worst, reached);
        is_other
    }
}

impl Queue {
    fn pass(&self, shape: &Shape, before: Passage) -> Passage {
        // Among what the box itself has ahead of a packet of its own is the packet.
        let ahead = if self.is_own { self.ahead.max(shape.send) } else { self.ahead.saturating_add(shape.send) };
        let inside = |before: u64| before.saturating_add(shape.forward_most);
        Passage {
            is_bunched: before.is_bunched | self.is_bunched,
            least: before.least.saturating_add(shape.least).saturating_add(self.propagation),
            worst: inside(before.worst).saturating_add(self.delay),
            reached: inside(before.reached).saturating_add(ahead).saturating_add(self.propagation),
        }
    }
}
