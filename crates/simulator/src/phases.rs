//! Periodic trains with chosen phases: what an ordinary day looks like.
//!
//! Releases are made slice by slice as the play goes on, never as one long list.

use crate::net::Net;
use crate::outcome::{Blocker, Outcome, Release};
use crate::player::Player;
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

/// Packets and hops that a slice of time should hold: as many as stay in the processor's cache.
/// **Source**: own choice, near the best of 8,000, 40,000 and 200,000 in `benches/speed.rs`.
const SLICE: u64 = 40_000;

/// Plays every train at its period from a random phase, with lower-priority frames at random times.
pub fn random_phases(net: &Net, trial: Trial) -> Outcome {
    let mut chance = Rand64::new(u128::from(trial.seed));
    let longest = net.trains.iter().map(|train| train.period).max().unwrap_or(0);
    let end = longest.saturating_mul(trial.periods);
    let phases: Vec<u64> = net.trains.iter().map(|train| chance.rand_range(0..train.period.max(1))).collect();
    let mut blockers = Vec::new();
    for (queue, _) in net.queues.iter().enumerate().filter(|(_, queue)| queue.blocker > 0) {
        blockers.extend((0..trial.blockers).map(|_| Blocker { at: chance.rand_range(0..end.max(1)), queue: queue as u32 }));
    }
    let mut player = Player::new(net);
    player.play_periodic(&phases, end, &blockers);
    player.outcome()
}

/// Trains of one period in the order of their phases.
struct Round {
    period: u64,
    /// Next release of each, and the train. The first that is due is at `next`.
    due: Vec<(u64, u32)>,
    next: usize,
}

impl Round {
    /// Calls `release` for all that is due before `until`.
    fn release(&mut self, until: u64, mut release: impl FnMut(Release)) {
        while let Some((at, train)) = self.due.get_mut(self.next).filter(|(at, _)| *at < until) {
            release(Release { at: *at, train: *train });
            *at += self.period;
            self.next = (self.next + 1) % self.due.len();
        }
    }
}

/// Phases beyond one period are kept: such a train begins later, so it goes into a round of its own.
fn rounds(net: &Net, phases: &[u64]) -> Vec<Round> {
    let mut due: Vec<(u64, u64, u32, u64)> = Vec::new();
    for (train, (spec, phase)) in net.trains.iter().zip(phases).enumerate() {
        let period = spec.period.max(1);
        due.push((period, phase / period, train as u32, *phase));
    }
    due.sort_unstable_by_key(|(period, turn, train, phase)| (*period, *turn, *phase, *train));
    let same = due.chunk_by(|one, next| (one.0, one.1) == (next.0, next.1));
    same.map(|same| Round { period: same[0].0, due: same.iter().map(|(_, _, train, phase)| (*phase, *train)).collect(), next: 0 }).collect()
}

impl Player<'_> {
    /// Plays from an empty net: every train at its period from its phase, as long as releases fall before `end`.
    /// Watches no queue.
    pub fn play_periodic(&mut self, phases: &[u64], end: u64, blockers: &[Blocker]) {
        let mut rounds = rounds(self.net(), phases);
        if self.compiled.order.is_none() {
            let mut releases = Vec::new();
            rounds.iter_mut().for_each(|round| round.release(end, |release| releases.push(release)));
            return self.play(&releases, blockers, &[]);
        }
        self.clear();
        self.block(blockers);
        let slice = self.slice(end);
        let mut now = 0;
        while now < end {
            now = end.min(now + slice);
            rounds.iter_mut().for_each(|round| round.release(now, |release| self.release(release)));
            self.advance(now);
        }
        self.advance(u64::MAX);
    }

    /// Length of a slice of time that holds about [`SLICE`] packets and hops.
    fn slice(&self, end: u64) -> u64 {
        let in_all = self.net().trains.iter().map(|train| u128::from(end / train.period.max(1) + 1) * train.hops.len() as u128);
        let slices = in_all.sum::<u128>() / u128::from(SLICE) + 1;
        u64::try_from(u128::from(end) / slices + 1).unwrap_or(u64::MAX)
    }
}
