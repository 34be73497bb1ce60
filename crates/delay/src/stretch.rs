//! Which stretches of path get the second bound, and what it changes.
//!
//! A stretch can only be better than the sum of its queues where a queue on it may hold several packets of one
//! stream: elsewhere each is counted once at every queue anyway. All stretches that end with a packet's
//! last queue are tried; the least of them and of the sum counts. What is saved, the delay cannot vary by either.

use crate::layout::Entry;
use crate::network::{NONE, Network};
use crate::ratios::Ratios;
use crate::sweep::{Sweep, UNKNOWN};
use crate::tandem::{Meets, Progress, Standing, Sums};

/// How many queues a stretch may have. Own choice: longer ones hardly ever lower the bound.
const MOST_QUEUES: usize = 8;

/// What packets meet at the queues of stretches, worked out once for each queue that is on one.
#[derive(Default)]
pub(crate) struct Stretches {
    meets: Vec<Option<Meets>>,
    is_met: Vec<bool>,
    ratios: Ratios,
}

/// One queue of a stretch.
#[derive(Clone, Copy)]
struct Stop {
    meets: Meets,
    propagation: u64,
}

impl Stretches {
    /// Lowers the bounds of packets at a queue just visited, all queues before it done.
    pub(crate) fn pay_once(&mut self, sweep: &mut Sweep, network: &Network, port: usize) {
        for at in sweep.layout.at_port(port) {
            let passage = sweep.passages[at];
            if !passage.is_bunched || passage.worst == UNKNOWN || passage.worst <= passage.reached {
                continue;
            }
            let propagation = network.ports[port].propagation.picoseconds();
            let Some(worst) = self.least_worst(sweep, network, (at, port)) else { continue };
            let saved = passage.worst.saturating_sub(worst.saturating_add(propagation));
            let passage = &mut sweep.passages[at];
            passage.worst -= saved;
            passage.jitter = passage.jitter.saturating_sub(saved);
        }
    }

    /// The least bound from release to the last bit on the link of an entry, over all stretches of two queues or more.
    fn least_worst(&mut self, sweep: &mut Sweep, network: &Network, (last, port): (usize, usize)) -> Option<u64> {
        let (mut at, mut port) = (last, port);
        let mut stretch: Vec<Stop> = Vec::with_capacity(MOST_QUEUES);
        let mut least: Option<u64> = None;
        while stretch.len() < MOST_QUEUES {
            self.meet(sweep, network, port);
            let entry = sweep.layout.entries[at];
            let Some(meets) = self.meets[entry.meets as usize] else { break };
            stretch.push(Stop { meets, propagation: network.ports[port].propagation.picoseconds() });
            let before = if entry.parent == NONE { 0 } else { sweep.passages[entry.parent as usize].worst };
            if stretch.len() > 1
                && let Some(worst) = through(&stretch)
            {
                let worst = worst.saturating_add(before).saturating_add(entry.forward_most);
                least = Some(least.map_or(worst, |least| least.min(worst)));
            }
            if entry.parent == NONE {
                break;
            }
            (at, port) = (entry.parent as usize, entry.feeder as usize);
        }
        least
    }

    /// Notes what packets meet at a queue, by class and link.
    fn meet(&mut self, sweep: &mut Sweep, network: &Network, port: usize) {
        self.is_met.resize(network.ports.len(), false);
        if std::mem::replace(&mut self.is_met[port], true) {
            return;
        }
        let here = sweep.layout.at_port(port);
        let mut higher = Sums::default();
        let blocking = |class: u8| sweep.classes.at_port(port).iter().find(|delay| delay.class == class).map_or(0, |delay| delay.blocking);
        for class in sweep.layout.entries[here].chunk_by_mut(|a, b| a.class == b.class) {
            let all = Sums::of(class, &mut self.ratios);
            let standing = Standing { all, higher, blocking: blocking(class[0].class) };
            for group in class.chunk_by_mut(|a, b| a.feeder == b.feeder) {
                let meets = self.meets.len() as u32;
                self.meets.push(Meets::new(group, standing, &mut self.ratios));
                group.iter_mut().for_each(|entry: &mut Entry| entry.meets = meets);
            }
            higher = higher.plus(all);
        }
    }
}

/// The stops of a stretch, last first.
fn through(stretch: &[Stop]) -> Option<u64> {
    let mut stops = stretch.iter().rev();
    let first = stops.next()?;
    let mut progress = Progress::begin(&first.meets)?;
    let mut propagation = first.propagation;
    for stop in stops {
        progress = progress.extend(propagation, &stop.meets)?;
        propagation = stop.propagation;
    }
    Some(progress.worst())
}
