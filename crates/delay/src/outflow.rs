//! What can leave a queue before in a window of time: less than all its packets could bring if each were as late as it can be.
//!
//! Jitter lets every stream's first packet be held up as long as any. But they are held up together: what the first waited for was sent
//! meanwhile. So of a spell of work at the queue before that began `v` earlier, what was sent in those `v` is taken off again. And where
//! packets come in rushes with gaps between, a link near full load falls idle now and then: after each gap it sends no more than time allows.
//! **Source**: derived; proof in `docs/notes/outflow-bound.md`.

use crate::curve::ONE;
use crate::port::Meeting;
use crate::ratios::ratio;
use crate::stairs::{Stair, cap};
use std::collections::VecDeque;
use std::ops::Range;

/// Staircases at the two queues, multiplied, at most. Own choice: the search is worth it on links of some ten streams near full
/// load, and would take longest where many hundreds share a link that is far from it.
const MOST_PAIRS: usize = 4_096;
/// Moments looked at for one window. Own choice: a spell of work that has more is long over, or its queue near full.
const MOST_MOMENTS: usize = 512;
/// Gaps looked at. Own choice: later ones are left out, which only makes the bound higher.
const MOST_DIPS: usize = 4_096;

/// The queue that a group of packets came from.
pub(crate) struct Outflow {
    /// Staircases of the group there, and all that may go before it: the others of its class, and higher classes.
    own: Vec<Stair>,
    others: Vec<Stair>,
    blocking: u64,
    /// By how much a window there can be longer, and the shortest frame of the group there.
    longer: u64,
    shortest: u64,
    /// Moments just before one more packet of the group fits, and by how much its work is more than the time until then.
    dips: Vec<(u64, i128)>,
    /// Time on the link behind per time on the link there, at most; in fixed point.
    scale: u128,
}

impl Outflow {
    /// `group`: staircases of the meeting that came over one link. `None` where it is not worth it or not known.
    pub(crate) fn new(meeting: &Meeting, group: Range<usize>) -> Option<Self> {
        let sweep = meeting.sweep;
        let group = &meeting.stairs[group];
        let port = group[0].feeder as usize;
        let is_worth_it = |count: usize| count * meeting.own().len() <= MOST_PAIRS;
        if meeting.is_circular || port >= sweep.layout.at_port.len() || !is_worth_it(sweep.layout.list_at(port).len()) {
            return None;
        }
        let (mut shortest, mut longest, mut spread, mut scale) = (u64::MAX, 0, 0, 0);
        for stair in group {
            // Of a bundle it is not known what else of it passes there.
            let there = sweep.layout.shape_of(sweep.layout.rows.get(stair.parent as usize)?).send;
            (shortest, longest) = (shortest.min(there), longest.max(there));
            spread = spread.max(sweep.layout.shapes[stair.shape as usize].spread());
            scale = scale.max(ratio(stair.send, there));
        }
        let own: Vec<Stair> = group.iter().map(|stair| Stair::of(&sweep.layout, stair.parent)).collect();
        let mut parents: Vec<u32> = group.iter().map(|stair| stair.parent).collect();
        parents.sort_unstable();
        let mut others = Vec::new();
        for region in sweep.layout.regions[sweep.layout.regions_at(port)].iter().filter(|region| region.class >= meeting.class.class) {
            let rows = sweep.layout.ids[region.range()].iter().filter(|row| parents.binary_search(row).is_err());
            others.extend(rows.map(|row| Stair::of(&sweep.layout, *row)));
        }
        let blocking = sweep.at_port(port).iter().find(|delay| delay.class == meeting.class.class)?.blocking;
        let longer = longest.saturating_add(spread);
        Some(Self { own, others, blocking, longer, shortest, dips: Vec::new(), scale })
    }

    /// Work that can come over the link in a closed window, as time on the link behind.
    pub(crate) fn most(&mut self, window: u64) -> u64 {
        let window = window.saturating_add(self.longer);
        let until = window.saturating_sub(self.shortest);
        let (mut most, mut since, mut lowest) = (0, 0u64, Lowest::default());
        for _ in 0..MOST_MOMENTS {
            let Some(next) = self.next(until, since) else { break };
            let unsent = self.blocking.saturating_add(work(&self.others, since));
            let all = work(&self.own, until.saturating_add(since)).saturating_sub(since.saturating_sub(unsent));
            // From `since` to just before `next` nothing more comes.
            let before = next - 1;
            self.find_dips(window.saturating_add(since));
            let dip = lowest.between(&self.dips, (before, window.saturating_add(since)));
            let after_gap = dip.map_or(all, |dip| cap_signed(i128::from(window) + i128::from(before.min(unsent)) + dip));
            most = most.max(all.min(after_gap));
            // Just before `next` the spell may be over.
            let come = work(&self.own, before).saturating_add(work(&self.others, before)).saturating_add(self.blocking);
            if come < before {
                return cap((u128::from(most) * self.scale).div_ceil(ONE));
            }
            since = next;
        }
        u64::MAX
    }

    /// Notes all dips until so late.
    fn find_dips(&mut self, until: u64) {
        let mut at = self.dips.last().map_or(0, |(at, _)| at + 1);
        while at <= until && self.dips.len() < MOST_DIPS {
            let Some(jump) = self.own.iter().map(|stair| stair.jump_after(at)).min().filter(|jump| *jump > at) else { return };
            at = jump - 1;
            self.dips.push((at, i128::from(work(&self.own, at)) - i128::from(at)));
            at = jump;
        }
    }

    /// The next moment at which one more packet counts, or one that went before.
    fn next(&self, window: u64, since: u64) -> Option<u64> {
        let own = self.own.iter().map(|stair| stair.jump_after(window.saturating_add(since)) - window);
        let others = self.others.iter().map(|stair| stair.jump_after(since));
        own.chain(others).min().filter(|next| *next > since)
    }
}

/// The lowest of the dips in a stretch of time, for stretches of which each begins and ends no sooner than the one before.
#[derive(Default)]
struct Lowest {
    /// Places of dips that are lower than all before them in the stretch.
    places: VecDeque<usize>,
    next: usize,
}

impl Lowest {
    fn between(&mut self, dips: &[(u64, i128)], (from, to): (u64, u64)) -> Option<i128> {
        while let Some((_, depth)) = dips.get(self.next).filter(|(at, _)| *at <= to) {
            while self.places.back().is_some_and(|place| dips[*place].1 >= *depth) {
                self.places.pop_back();
            }
            self.places.push_back(self.next);
            self.next += 1;
        }
        while self.places.front().is_some_and(|place| dips[*place].0 < from) {
            self.places.pop_front();
        }
        self.places.front().map(|place| dips[*place].1)
    }
}

fn cap_signed(value: i128) -> u64 {
    u64::try_from(value.max(0)).unwrap_or(u64::MAX)
}

fn work(stairs: &[Stair], window: u64) -> u64 {
    stairs.iter().fold(0u64, |sum, stair| sum.saturating_add(stair.work(window)))
}
