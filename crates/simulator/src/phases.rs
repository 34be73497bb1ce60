//! Periodic trains with phases from a seed: what an ordinary day looks like.

use crate::engine::{Blocker, Outcome, Release, run};
use crate::net::Net;
use oorandom::Rand64;

/// How to try.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trial {
    /// Chooses the phases.
    pub seed: u64,
    /// Packets of the slowest train.
    pub periods: u64,
    /// Lower-priority frames for each queue that can have them.
    pub blockers: u32,
}

/// Plays every train at its period from a random phase, with lower-priority frames at random times.
pub fn random_phases(net: &Net, trial: Trial) -> Outcome {
    let mut chance = Rand64::new(u128::from(trial.seed));
    let longest = net.trains.iter().map(|train| train.period).max().unwrap_or(0);
    let end = longest.saturating_mul(trial.periods);
    let mut releases = Vec::new();
    for (train, spec) in net.trains.iter().enumerate() {
        let mut at = chance.rand_range(0..spec.period.max(1));
        while at < end {
            releases.push(Release { at, train: train as u32 });
            at += spec.period.max(1);
        }
    }
    let mut blockers = Vec::new();
    for (queue, _) in net.queues.iter().enumerate().filter(|(_, queue)| queue.blocker_bits > 0) {
        blockers.extend((0..trial.blockers).map(|_| Blocker { at: chance.rand_range(0..end.max(1)), queue: queue as u32 }));
    }
    run(net, &releases, &blockers, &[])
}
