//! One queue: how long each class waits, and what every packet has behind it then.

use crate::curve::ONE;
use crate::layout::Row;
use crate::network::PortSpec;
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
            let longest = self.longest(&mut taken, (rank, blocking, given), memory);
            let delay = ClassDelay { worst: longest.map(|longest| longest.worst), blocking, ..self.classes.all[at] };
            is_new |= self.classes.all[at] != delay;
            self.classes.all[at] = delay;
            self.classes.is_bunched[at] = longest.is_ok_and(|longest| longest.is_bunched);
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

    /// What everything has behind it once it leaves a queue and its link; says whether any is other than before.
    pub(crate) fn leave(&mut self, given: Given, memory: &mut Memory) -> bool {
        let mut is_new = false;
        let (stairs, inputs) = (&memory.stairs, &mut memory.inputs);
        inputs.clear();
        for (class, at) in stairs.classes.iter().zip(self.layout.regions_at(given.port)) {
            inputs.add_class(&stairs.all[class.start..class.end]);
            let mut members = stairs.all[class.start..class.end].iter().zip(self.layout.regions[at].range());
            for (feeder, work, count) in inputs.last_class() {
                let queue = Queue {
                    delay: self.classes.all[at].worst.ok(),
                    is_bunched: self.classes.is_bunched[at],
                    ahead: given.spec.blocking.picoseconds().saturating_add(inputs.ahead_of(feeder, work)),
                    is_own: is_own(feeder),
                    spec: given.spec,
                };
                for (stair, id) in members.by_ref().take(count) {
                    let shape = self.layout.shapes[stair.shape as usize];
                    let passage = queue.pass(&shape, Passage::behind(self.layout.rows.get(stair.parent as usize)));
                    is_new |= self.layout.rows[self.layout.ids[id] as usize].take(passage);
                }
            }
        }
        is_new
    }
}

/// What a packet of one class that comes by one link finds.
struct Queue<'a> {
    spec: &'a PortSpec,
    /// The longest delay.
    delay: Option<u64>,
    is_bunched: bool,
    /// What can really be ahead of it; with its own frame, if it is the box's own.
    ahead: u64,
    is_own: bool,
}

/// What a packet has behind it.
struct Passage {
    is_bunched: bool,
    least: u64,
    worst: u64,
    reached: u64,
}

impl Passage {
    fn behind(row: Option<&Row>) -> Self {
        row.map_or(Self { is_bunched: false, least: 0, worst: 0, reached: 0 }, |row| {
            let Row { is_bunched, least, worst, reached, .. } = *row;
            Self { is_bunched, least, worst, reached }
        })
    }
}

impl Row {
    /// Notes what its packets have behind them; says whether that is other than before.
    fn take(&mut self, passage: Passage) -> bool {
        let Passage { is_bunched, least, worst, reached } = passage;
        let known = std::mem::replace(self, Self { is_bunched, least, worst, reached, ..*self });
        known != *self
    }
}

impl Queue<'_> {
    fn pass(&self, shape: &Shape, before: Passage) -> Passage {
        let sum = |parts: [u64; 4]| parts.into_iter().fold(self.spec.propagation.picoseconds(), u64::saturating_add);
        let ahead = if self.is_own { self.ahead.saturating_sub(shape.send) } else { self.ahead };
        Passage {
            is_bunched: before.is_bunched | self.is_bunched,
            least: sum([before.least, shape.forward_least, shape.send, 0]),
            worst: sum([before.worst, shape.forward_most, self.delay.unwrap_or(UNKNOWN), 0]),
            reached: sum([before.reached, shape.forward_most, ahead, shape.send]),
        }
    }
}
