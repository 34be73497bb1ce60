//! A second bound for paths on which everybody stays to the end: each burst is paid once.
//!
//! Holds where all queues of the path have links of one speed, nobody of a higher class is there,
//! and every stream of a queue goes on to the next queue of the path. With `s` the work that fresh
//! streams bring at once (their staircases drawn as straight lines) and `r` their share of the link, the
//! waiting so far grows by `r` of itself and by `s` at every queue; on top come one lower frame at every
//! queue, one largest frame at every queue but the last, and the ways between.
//! **Source**: the idea is that of Lenzini, Martorini, Mingozzi and Stea, Performance Evaluation 2006
//! (sink trees, first in first out; abstract read). The recursion is derived, and for equal speeds it gives
//! the value of an exact linear program on a worked case. For unequal speeds it is not proved, so it is not used.

use crate::curve::{ONE, ratio, up};
use crate::network::NONE;
use crate::port::cap;
use crate::sweep::Sweep;

/// Work and share of some streams, in fixed point.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    count: u64,
    burst: u128,
    share: u128,
}

/// What a queue needs to take part.
#[derive(Debug, Clone, Copy, Default)]
struct Queue {
    all: Sums,
    largest: u64,
    is_single_class: bool,
    /// The queue that all its streams go on to at the same speed, and their sums there.
    onward: Option<(u32, Sums)>,
}

/// The bound so far along a path.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Progress {
    port: u32,
    waiting: u128,
    fixed: u64,
}

pub(crate) struct Tandems {
    queues: Vec<Queue>,
}

impl Tandems {
    /// O(entries).
    pub(crate) fn new(sweep: &Sweep) -> Self {
        let layout = &sweep.layout;
        let mut queues = vec![Queue::default(); sweep.queues()];
        let mut onward: Vec<Option<(u32, Sums, bool)>> = vec![None; queues.len()];
        for (at, entry) in layout.entries.iter().enumerate() {
            let sums = sums(entry, sweep.jitter[at]);
            let queue = &mut queues[entry.port as usize];
            queue.all = queue.all.plus(sums);
            queue.largest = queue.largest.max(entry.send);
            if entry.parent != NONE {
                let (to, before, is_fit) = onward[entry.feeder as usize].unwrap_or((entry.port, Sums::default(), true));
                let is_fit = is_fit && to == entry.port && entry.send == entry.feeder_send;
                onward[entry.feeder as usize] = Some((to, before.plus(sums), is_fit));
            }
        }
        for (port, queue) in queues.iter_mut().enumerate() {
            queue.is_single_class = sweep.at_port(port).len() == 1;
            let all = queue.all.count;
            queue.onward = onward[port].filter(|(_, sums, is_fit)| *is_fit && sums.count == all).map(|(to, sums, _)| (to, sums));
        }
        Self { queues }
    }

    /// A path that begins at `port`, where a lower frame can hold the link for `blocking`.
    pub(crate) fn begin(&self, port: u32, blocking: u64) -> Option<Progress> {
        let queue = &self.queues[port as usize];
        queue.is_single_class.then_some(Progress { port, waiting: queue.all.burst, fixed: blocking })
    }

    /// The path goes on to `port`.
    pub(crate) fn extend(&self, progress: Progress, port: u32, between: Between) -> Option<Progress> {
        let (last, queue) = (&self.queues[progress.port as usize], &self.queues[port as usize]);
        let (_, known) = last.onward.filter(|(to, _)| *to == port && queue.is_single_class)?;
        let (burst, share) = (queue.all.burst.saturating_sub(known.burst), queue.all.share.saturating_sub(known.share));
        let grown = progress.waiting.checked_mul(share)?.div_ceil(ONE);
        let waiting = progress.waiting.checked_add(grown)?.checked_add(burst)?;
        let fixed = progress.fixed.saturating_add(last.largest).saturating_add(between.way).saturating_add(between.blocking);
        Some(Progress { port, waiting, fixed })
    }
}

/// What lies between a queue and the last bit on the next one's link, apart from waiting for streams.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Between {
    /// Along the link before and through the box.
    pub(crate) way: u64,
    /// One lower frame.
    pub(crate) blocking: u64,
}

impl Progress {
    pub(crate) fn port(&self) -> u32 {
        self.port
    }

    /// From release to the last bit on the last link.
    pub(crate) fn worst(&self) -> u64 {
        self.fixed.saturating_add(u64::try_from(up(self.waiting)).unwrap_or(u64::MAX))
    }
}

impl Sums {
    fn plus(self, other: Self) -> Self {
        Self {
            count: self.count + other.count,
            burst: self.burst.saturating_add(other.burst),
            share: self.share.saturating_add(other.share),
        }
    }
}

fn sums(entry: &crate::layout::Entry, jitter: u64) -> Sums {
    let work = u128::from(entry.send) * u128::from(entry.count);
    let moved = u128::from(cap(work)).saturating_mul(ratio(jitter, entry.period));
    Sums {
        count: 1,
        burst: work.saturating_mul(ONE).saturating_add(moved),
        share: ratio(entry.send, entry.period).saturating_mul(u128::from(entry.count)),
    }
}
