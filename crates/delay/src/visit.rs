//! One queue: what comes, how long each class waits, and what every packet has behind it then.

use crate::curve::ONE;
use crate::inputs::Inputs;
use crate::layout::Entry;
use crate::network::{NONE, PortSpec};
use crate::port::{LONGEST, Longest, Meeting};
use crate::sweep::{Cause, ClassDelay, Memory, Passage, RELEASE, Sweep, UNKNOWN};
use std::ops::Range;

/// What the classes of one queue have taken so far, highest first.
struct Taken {
    /// Share of the link asked for.
    load: u128,
    failed: Option<Cause>,
}

impl Sweep {
    /// Jitter of everything that comes to a queue.
    pub(crate) fn arrive(&mut self, port: usize) {
        let here = self.layout.at_port(port);
        for entry in self.layout.entries[here].iter_mut().filter(|entry| entry.parent != NONE) {
            let before = self.passages[entry.parent as usize].jitter;
            entry.jitter = before.saturating_add(entry.forward_most.saturating_sub(entry.forward_least));
        }
    }

    /// The delay of every class; says whether any is other than before.
    pub(crate) fn serve(&mut self, (port, spec): (usize, &PortSpec), memory: &mut Memory) -> bool {
        self.visited += 1;
        let here = self.layout.at_port(port);
        let mut taken = Taken { load: 0, failed: spec.is_unbounded.then_some(Cause::Storm) };
        let (mut from, mut is_new) = (here.start, false);
        for at in self.classes.range(port) {
            let own = self.class_from(from, here.end);
            from = own.end;
            let below = self.layout.entries[own.end..here.end].iter().map(|entry| entry.send).max().unwrap_or(0);
            let blocking = below.max(spec.blocking.picoseconds());
            let longest = self.longest(&mut taken, (here.start, own, blocking), memory);
            let delay = ClassDelay { worst: longest.map(|longest| longest.worst), blocking, ..self.classes.all[at] };
            is_new |= self.classes.all[at] != delay;
            self.classes.all[at] = delay;
            self.classes.is_bunched[at] = longest.is_ok_and(|longest| longest.is_bunched);
        }
        is_new
    }

    /// Entries of the class that begins at `from`.
    fn class_from(&self, from: usize, end: usize) -> Range<usize> {
        let class = self.layout.entries[from].class;
        from..from + self.layout.entries[from..end].partition_point(|entry| entry.class == class)
    }

    /// `start`: first entry of the queue; `own`: those of the class.
    fn longest(
        &self,
        taken: &mut Taken,
        (start, own, blocking): (usize, Range<usize>, u64),
        memory: &mut Memory,
    ) -> Result<Longest, Cause> {
        let entries = &self.layout.entries;
        let mut is_lost = false;
        for entry in &entries[own.clone()] {
            let share = memory.space.ratios.of(entry.send, entry.period);
            taken.load = taken.load.saturating_add(share.saturating_mul(u128::from(entry.count)));
            is_lost |= entry.jitter == UNKNOWN;
        }
        taken.failed = taken.failed.or((taken.load > ONE).then_some(Cause::Overload)).or(is_lost.then_some(Cause::Upstream));
        let higher = &entries[start..own.start];
        let meeting = Meeting { entries, done: &self.classes, own, higher, blocking };
        let longest = match taken.failed {
            Some(cause) => Err(cause),
            None => meeting.worst_delay(&mut memory.curve, &mut memory.space).filter(|it| it.worst <= LONGEST).ok_or(Cause::Overload),
        };
        taken.failed = taken.failed.or(longest.err());
        longest
    }

    /// What everything has behind it once it leaves a queue and its link; says whether any is other than before.
    pub(crate) fn leave(&mut self, (port, spec): (usize, &PortSpec), inputs: &mut Inputs) -> bool {
        let here = self.layout.at_port(port);
        let (mut from, mut is_new) = (here.start, false);
        inputs.clear();
        for at in self.classes.range(port) {
            let own = self.class_from(from, here.end);
            inputs.add_class(&self.layout.entries[own.clone()]);
            for group in self.layout.entries[own].chunk_by(|a, b| a.feeder == b.feeder) {
                let ahead = spec.blocking.picoseconds().saturating_add(inputs.ahead_of(group[0].feeder));
                let queue = Queue { delay: self.classes.all[at].worst.ok(), is_bunched: self.classes.is_bunched[at], ahead, spec };
                for entry in group {
                    let before = self.passages.get(entry.parent as usize).unwrap_or(&RELEASE);
                    let passage = queue.pass(entry, before);
                    is_new |= self.passages[from] != passage;
                    self.passages[from] = passage;
                    from += 1;
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
}

impl Queue<'_> {
    fn pass(&self, entry: &Entry, before: &Passage) -> Passage {
        let sum = |parts: [u64; 4]| parts.into_iter().fold(self.spec.propagation.picoseconds(), u64::saturating_add);
        let ahead = if entry.feeder == NONE { self.ahead.saturating_sub(entry.send) } else { self.ahead };
        let varies = self.delay.map_or(UNKNOWN, |delay| delay.saturating_sub(entry.send));
        Passage {
            jitter: entry.jitter.saturating_add(varies),
            is_bunched: before.is_bunched | self.is_bunched,
            least: sum([before.least, entry.forward_least, entry.send, 0]),
            worst: sum([before.worst, entry.forward_most, self.delay.unwrap_or(UNKNOWN), 0]),
            reached: sum([before.reached, entry.forward_most, ahead, entry.send]),
        }
    }
}
