//! What an analysis takes over from an earlier one of nearly the same network.
//!
//! Two rules, both exact. A queue is **untouched** if it and its streams are as before and so is everything before it: all of it
//! is copied. A queue where other things changed before it, but to which the same staircases come, keeps its delays; only
//! the sums of paths are new. Anything else is worked out. See `docs/decisions/0005-delay-layout.md`.

use crate::layout::{Entry, Layout};
use crate::network::{NONE, PortSpec};
use crate::sweep::{Cause, Sweep};

/// The earlier analysis, and how much of it still holds.
pub(crate) struct Earlier<'a> {
    ports: &'a [PortSpec],
    sweep: &'a Sweep,
    /// By queue, of those visited so far.
    is_untouched: Vec<bool>,
}

impl<'a> Earlier<'a> {
    pub(crate) fn new(ports: &'a [PortSpec], sweep: &'a Sweep) -> Self {
        Self { ports, sweep, is_untouched: vec![false; ports.len()] }
    }

    /// Copies the queue if nothing at it or before it has changed; says whether so.
    pub(crate) fn take_over(&mut self, sweep: &mut Sweep, (port, spec): (usize, &PortSpec)) -> bool {
        if !self.is_alike(&sweep.layout, (port, spec), |new, old| self.comes_the_same_way(&sweep.layout, new, old)) {
            return false;
        }
        let (here, there) = (sweep.layout.at_port(port), self.sweep.layout.at_port(port));
        sweep.passages[here.clone()].copy_from_slice(&self.sweep.passages[there.clone()]);
        for (new, old) in sweep.layout.entries[here].iter_mut().zip(&self.sweep.layout.entries[there]) {
            new.jitter = old.jitter;
        }
        sweep.classes.copy_port(&self.sweep.classes, port);
        self.is_untouched[port] = true;
        true
    }

    /// Copies the delays of a queue if the same staircases come to it, their jitter already known; says whether so.
    pub(crate) fn take_over_delays(&self, sweep: &mut Sweep, (port, spec): (usize, &PortSpec)) -> bool {
        let is_same = |new: &Entry, old: &Entry| {
            new.jitter == old.jitter && (!new.is_feeder_behind_slower || self.comes_the_same_way(&sweep.layout, new, old))
        };
        let is_lost = |port| self.sweep.classes.at_port(port).iter().any(|delay| delay.worst == Err(Cause::Circle));
        if !self.is_alike(&sweep.layout, (port, spec), is_same) || is_lost(port) {
            return false;
        }
        sweep.classes.copy_port(&self.sweep.classes, port);
        true
    }

    fn is_alike(&self, layout: &Layout, (port, spec): (usize, &PortSpec), is_same: impl Fn(&Entry, &Entry) -> bool) -> bool {
        if self.ports.get(port) != Some(spec) {
            return false;
        }
        let (new, old) = (&layout.entries[layout.at_port(port)], &self.sweep.layout.entries[self.sweep.layout.at_port(port)]);
        new.len() == old.len() && new.iter().zip(old).all(|(new, old)| new.is_like(old) && is_same(new, old))
    }

    /// Whether the entry before has its old place at an untouched queue; for first hops, whether the release is the same.
    fn comes_the_same_way(&self, layout: &Layout, new: &Entry, old: &Entry) -> bool {
        if new.parent == NONE || old.parent == NONE {
            return new.parent == old.parent && new.jitter == old.jitter;
        }
        let place = |layout: &Layout, entry: &Entry| entry.parent as usize - layout.at_port(entry.feeder as usize).start;
        self.is_untouched.get(new.feeder as usize) == Some(&true) && place(layout, new) == place(&self.sweep.layout, old)
    }
}

impl Entry {
    /// Equal but for what depends on queues before and on numbering.
    fn is_like(&self, old: &Self) -> bool {
        let Self { parent, stream, meets, jitter, .. } = *self;
        *self == Self { parent, stream, meets, jitter, ..*old }
    }
}
