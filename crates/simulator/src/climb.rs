//! Changing a schedule bit by bit, keeping what makes its packet later.
//!
//! Every train that takes part keeps its period: it has a last packet and those before it, so packets of one train can bunch
//! where they are held up. A move shifts a train, lines it up with the tagged packet in a queue that both pass, puts it in the way of
//! any other packet somewhere (which may bring that one closer to those behind it), lets two trains
//! change places, leaves one out or takes it in again, or moves, adds or takes away a lower-priority frame, mostly just before a
//! packet that would not have had to wait. Moves that change nothing are kept too, so that the search can go sideways.

use crate::net::Net;
use crate::outcome::{Blocker, Passage, Release};
use crate::player::Player;
use crate::worst::Reached;
use oorandom::Rand64;

/// Packets of one train before its last, at most. **Source**: own choice; a busy spell of three of the longest common periods at the shortest.
const EARLIER: u64 = 48;

/// What part of a busy spell counts. **Source**: own choice, tried on the networks of `tightness` that were furthest apart.
const BUSY_SHARE: u64 = 16;

/// How to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Search {
    /// How many changes are tried.
    pub moves: u32,
    /// Chooses them.
    pub seed: u64,
    /// Stop when the packet is as late as this: the bound that cannot be broken.
    pub enough: u64,
}

/// Tries small changes of `from`, the schedule of `train`'s packet at hop `hop`. Never worse than `from`.
/// **Cost**: one play a move, of up to seven packets of each train.
pub fn climb(player: &mut Player, (train, hop): (u32, u32), from: Reached, search: Search) -> Reached {
    let mut climber = Climber::new(player, (train, hop), &from, search.seed);
    let mut best = climber.play();
    let (mut here, mut found) = (climber.promise(best), climber.schedule.clone());
    for left in (0..search.moves).rev() {
        if best >= search.enough {
            break;
        }
        let kept = climber.schedule.clone();
        for _ in 0..1 + climber.below(3) {
            climber.change();
        }
        let delay = climber.play();
        // Early on, a step down by up to a twentieth is taken now and then.
        let slack = if climber.below(8) == 0 { best / 20 * u64::from(left) / u64::from(search.moves) } else { 0 };
        let promise = climber.promise(delay);
        if promise < here.saturating_sub(slack) {
            climber.schedule = kept;
            continue;
        }
        here = promise;
        if delay > best {
            (best, found) = (delay, climber.schedule.clone());
        }
    }
    climber.schedule = found;
    climber.play();
    if best <= from.delay { from } else { Reached { delay: best, releases: climber.releases, blockers: climber.schedule.blockers } }
}

/// Last packets of the trains that take part, and lower-priority frames.
#[derive(Clone)]
struct Schedule {
    last: Vec<Option<u64>>,
    blockers: Vec<Blocker>,
}

struct Climber<'a, 'n> {
    player: &'a mut Player<'n>,
    net: &'n Net,
    tagged: (u32, u32),
    chance: Rand64,
    schedule: Schedule,
    releases: Vec<Release>,
    /// Trains that share a queue with the tagged packet.
    others: Vec<u32>,
    /// Those, and trains that share a queue with one of them.
    around: Vec<u32>,
    /// All queues.
    watched: Vec<u32>,
    /// Passages of the last play.
    passages: Vec<Passage>,
    /// Earlier packets reach back so far.
    reach: u64,
    steps: Vec<u64>,
}

/// Trains that share a queue with one of `others`, and those themselves; not `tagged`.
fn around(net: &Net, others: &[u32], tagged: u32) -> Vec<u32> {
    let mut is_near = vec![false; net.queues.len()];
    for train in others {
        net.trains[*train as usize].hops.iter().for_each(|hop| is_near[hop.queue as usize] = true);
    }
    let meets = |train: &u32| *train != tagged && net.trains[*train as usize].hops.iter().any(|hop| is_near[hop.queue as usize]);
    (0..net.trains.len() as u32).filter(meets).collect()
}

impl<'a, 'n> Climber<'a, 'n> {
    fn new(player: &'a mut Player<'n>, tagged: (u32, u32), from: &Reached, seed: u64) -> Self {
        let net = player.net();
        let own = &net.trains[tagged.0 as usize];
        let path: Vec<u32> = own.path(tagged.1).into_iter().map(|hop| own.hops[hop as usize].queue).collect();
        let meets = |train: &u32| {
            let spec = &net.trains[*train as usize];
            *train != tagged.0 && spec.class <= own.class && spec.hops.iter().any(|hop| path.contains(&hop.queue))
        };
        let others: Vec<u32> = (0..net.trains.len() as u32).filter(meets).collect();
        let around = around(net, &others, tagged.0);
        let mut last = vec![None; net.trains.len()];
        for release in &from.releases {
            let at = &mut last[release.train as usize];
            *at = (*at).max(Some(release.at));
        }
        let mut steps = vec![1, 1_000];
        for train in around.iter().chain([&tagged.0]) {
            let spec = &net.trains[*train as usize];
            steps.extend(spec.hops.iter().map(|hop| hop.send));
            steps.extend([spec.period, spec.period / 2]);
        }
        steps.extend(net.queues.iter().map(|queue| queue.blocker).filter(|blocker| *blocker > 0));
        steps.sort_unstable();
        steps.dedup();
        let schedule = Schedule { last, blockers: from.blockers.clone() };
        let watched = (0..net.queues.len() as u32).collect();
        let longest = others.iter().map(|train| net.trains[*train as usize].period).max().unwrap_or(0).max(own.period);
        let begin = |releases: &[Release]| releases.iter().map(|release| release.at).min();
        let own_last = schedule.last[tagged.0 as usize].unwrap_or(0);
        let spell = own_last.saturating_sub(begin(&from.releases).unwrap_or(own_last));
        let (chance, reach) = (Rand64::new(u128::from(seed)), (from.delay + 2 * longest).max(spell));
        Self { player, net, tagged, chance, schedule, releases: Vec::new(), others, around, watched, passages: Vec::new(), reach, steps }
    }

    fn below(&mut self, sides: usize) -> usize {
        self.chance.rand_range(0..sides.max(1) as u64) as usize
    }

    fn play(&mut self) -> u64 {
        self.releases.clear();
        for (train, last) in self.schedule.last.iter().enumerate().filter_map(|(train, last)| last.map(|last| (train, last))) {
            let period = self.net.trains[train].period.max(1);
            for earlier in 0..=(self.reach / period).min(EARLIER) {
                self.releases.push(Release { at: last.saturating_sub(earlier * period), train: train as u32 });
            }
        }
        self.player.play(&self.releases, &self.schedule.blockers, &self.watched);
        self.passages.clear();
        self.passages.extend_from_slice(self.player.passages());
        self.player.latest(self.tagged.0, self.tagged.1)
    }

    /// What is compared: the delay, and a little for how long the tagged packet's queues have been busy before it leaves
    /// them, as only long busy spells hold more than one packet of a train.
    fn promise(&self, delay: u64) -> u64 {
        let mut busy = 0;
        let mut begin = 0;
        let mut before: Option<&Passage> = None;
        for passage in &self.passages {
            if before.is_none_or(|before| before.queue != passage.queue || before.end < passage.start) {
                begin = passage.start;
            }
            if passage.train == Some(self.tagged.0) {
                busy = busy.max(passage.end - begin);
            }
            before = Some(passage);
        }
        delay + busy / BUSY_SHARE
    }

    fn change(&mut self) {
        match self.below(17) {
            14.. => self.hold_up(),
            0..2 => self.shift(),
            2..5 => self.line_up(),
            5..8 => self.close_gap(),
            8 => self.shift_together(),
            9 => self.change_places(),
            10 => self.leave_out_or_take_in(),
            11 => self.move_blocker(),
            _ => self.add_blocker(),
        }
    }

    fn step(&mut self, at: u64) -> u64 {
        let pick = self.below(self.steps.len());
        let step = self.steps[pick];
        if self.below(2) == 0 { at.saturating_add(step) } else { at.saturating_sub(step) }
    }

    fn other(&mut self) -> Option<u32> {
        let pick = self.below(self.others.len());
        self.others.get(pick).copied()
    }

    fn shift(&mut self) {
        let Some(train) = self.other() else { return };
        if let Some(at) = self.schedule.last[train as usize] {
            self.schedule.last[train as usize] = Some(self.step(at));
        }
    }

    /// Moves a train so that one of its packets would come to a queue just before the tagged one.
    fn line_up(&mut self) {
        let own: Vec<Passage> = self.passages.iter().filter(|passage| passage.train == Some(self.tagged.0)).copied().collect();
        let pick = self.below(own.len());
        let Some(own) = own.get(pick) else { return };
        let there = self.passages.iter().filter(|passage| passage.queue == own.queue && passage.train.is_some());
        let there: Vec<Passage> = there.filter(|passage| passage.train != own.train).copied().collect();
        let pick = self.below(there.len());
        let Some(other) = there.get(pick) else { return };
        let Some(last) = other.train.and_then(|train| self.schedule.last[train as usize].as_mut()) else { return };
        *last = last.saturating_add(own.arrival.saturating_sub(1)).saturating_sub(other.arrival);
    }

    /// Moves a train so that its last packet would come to a queue just before some other packet, and hold it up.
    fn hold_up(&mut self) {
        let pick = self.below(self.passages.len());
        let Some(held) = self.passages.get(pick).copied() else { return };
        let passes = |train: &&u32| Some(**train) != held.train && self.hop_at(**train, held.queue).is_some();
        let could: Vec<u32> = self.around.iter().filter(passes).copied().collect();
        let pick = self.below(could.len());
        let Some((train, hop)) = could.get(pick).and_then(|train| Some((*train, self.hop_at(*train, held.queue)?))) else { return };
        let spec = &self.net.trains[train as usize];
        self.schedule.last[train as usize] = Some(held.arrival.saturating_sub(1 + self.net.undisturbed(spec, hop)));
    }

    fn hop_at(&self, train: u32, queue: u32) -> Option<u32> {
        self.net.trains[train as usize].hops.iter().position(|hop| hop.queue == queue).map(|hop| hop as u32)
    }

    /// Moves a train up to the packet before it in some queue, so that the queue does not fall idle between them.
    fn close_gap(&mut self) {
        let pairs = self.passages.windows(2).filter(|pair| pair[0].queue == pair[1].queue && pair[0].end < pair[1].start);
        let gaps: Vec<(u32, u64)> = pairs.filter_map(|pair| Some((pair[1].train?, pair[1].start - pair[0].end))).collect();
        let pick = self.below(gaps.len());
        let Some((train, gap)) = gaps.get(pick).copied().filter(|(train, _)| *train != self.tagged.0) else { return };
        if let Some(at) = &mut self.schedule.last[train as usize] {
            *at = at.saturating_sub(gap);
        }
    }

    /// Moves all trains that pass some queue by the same time, so that they stay lined up.
    fn shift_together(&mut self) {
        let pick = self.below(self.net.queues.len()) as u32;
        let by = self.step(1 << 60);
        for train in self.others.clone() {
            let passes = self.net.trains[train as usize].hops.iter().any(|hop| hop.queue == pick);
            if let Some(at) = self.schedule.last[train as usize].as_mut().filter(|_| passes) {
                *at = at.saturating_add(by).saturating_sub(1 << 60);
            }
        }
    }

    fn change_places(&mut self) {
        let (Some(one), Some(two)) = (self.other(), self.other()) else { return };
        self.schedule.last.swap(one as usize, two as usize);
    }

    fn leave_out_or_take_in(&mut self) {
        let pick = self.below(self.around.len());
        let Some(train) = self.around.get(pick).copied() else { return };
        let own = self.schedule.last[self.tagged.0 as usize];
        let at = &mut self.schedule.last[train as usize];
        *at = if at.is_some() { None } else { own };
    }

    fn move_blocker(&mut self) {
        let pick = self.below(self.schedule.blockers.len());
        let Some(at) = self.schedule.blockers.get(pick).map(|blocker| blocker.at) else { return };
        if self.below(3) == 0 {
            self.schedule.blockers.swap_remove(pick);
        } else {
            self.schedule.blockers[pick].at = self.step(at);
        }
    }

    /// One more lower-priority frame just before a packet that did not have to wait.
    fn add_blocker(&mut self) {
        let is_free = |passage: &&Passage| passage.start == passage.arrival && passage.train.is_some();
        let could = self.passages.iter().filter(is_free).filter(|passage| self.net.queues[passage.queue as usize].blocker > 0);
        let could: Vec<Blocker> = could.map(|passage| Blocker { at: passage.arrival.saturating_sub(1), queue: passage.queue }).collect();
        let pick = self.below(could.len());
        self.schedule.blockers.extend(could.get(pick));
    }
}
