//! Which stretches of path get the second bound, and what it changes.
//!
//! A stretch can only be better than the sum of its queues where a queue on it may hold several packets of one
//! stream: elsewhere each is counted once at every queue anyway. All stretches that end with a packet's
//! last queue are tried; the least of them and of the sum counts. What is saved, the delay cannot vary by either.

use crate::network::{NONE, Network};
use crate::stairs::Stairs;
use crate::sweep::{Sweep, UNKNOWN};
use crate::tandem::{Meets, Progress, Standing, Sums};

/// How many queues a stretch may have. Own choice: longer ones hardly ever lower the bound.
const MOST_QUEUES: usize = 8;

/// What packets meet at the queues of stretches, worked out once for each queue that is on one.
#[derive(Default)]
pub(crate) struct Stretches {
    meets: Vec<Option<Meets>>,
    /// By row: place in `meets`.
    met: Vec<u32>,
    is_met: Vec<bool>,
    stairs: Stairs,
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
        for at in sweep.layout.list_at(port) {
            let at = sweep.layout.ids[at] as usize;
            let passage = sweep.layout.rows[at];
            if !passage.is_bunched || passage.worst == UNKNOWN || passage.worst <= passage.reached {
                continue;
            }
            let propagation = network.ports[port].propagation.picoseconds();
            let Some(worst) = self.least_worst(sweep, network, (at, port)) else { continue };
            let saved = passage.worst.saturating_sub(worst.saturating_add(propagation));
            sweep.layout.rows[at].worst -= saved;
        }
    }

    /// The least bound from release to the last bit on the link of an entry, over all stretches of two queues or more.
    fn least_worst(&mut self, sweep: &Sweep, network: &Network, (last, port): (usize, usize)) -> Option<u64> {
        let (mut at, mut port) = (last, port);
        let mut stretch: Vec<Stop> = Vec::with_capacity(MOST_QUEUES);
        let mut least: Option<u64> = None;
        while stretch.len() < MOST_QUEUES {
            self.meet(sweep, network, port);
            let row = sweep.layout.rows[at];
            let Some(meets) = self.meets[self.met[at] as usize] else { break };
            stretch.push(Stop { meets, propagation: network.ports[port].propagation.picoseconds() });
            let before = sweep.layout.rows.get(row.parent as usize).map_or(0, |before| before.worst);
            if stretch.len() > 1
                && let Some(worst) = through(&stretch)
            {
                let worst = worst.saturating_add(before).saturating_add(sweep.layout.shape_of(&row).forward_most);
                least = Some(least.map_or(worst, |least| least.min(worst)));
            }
            if row.parent == NONE {
                break;
            }
            (at, port) = (row.parent as usize, row.feeder as usize);
        }
        least
    }

    /// Notes what packets meet at a queue, by class and link.
    fn meet(&mut self, sweep: &Sweep, network: &Network, port: usize) {
        self.is_met.resize(network.ports.len(), false);
        if std::mem::replace(&mut self.is_met[port], true) {
            return;
        }
        self.met.resize(sweep.layout.rows.len(), NONE);
        self.stairs.gather(&sweep.layout, port);
        let mut ids = sweep.layout.ids[sweep.layout.list_at(port)].iter();
        let mut higher = Sums::default();
        for (class, delay) in self.stairs.classes.iter().zip(sweep.at_port(port)) {
            let stairs = &self.stairs.all[class.start..class.end];
            let all = Sums::of(stairs, &sweep.layout.shapes);
            let standing = Standing { all, higher, blocking: delay.blocking };
            for group in stairs.chunk_by(|a, b| a.feeder == b.feeder) {
                let meets = self.meets.len() as u32;
                self.meets.push(Meets::new(group, standing, &sweep.layout.shapes));
                ids.by_ref().take(group.len()).for_each(|row| self.met[*row as usize] = meets);
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
