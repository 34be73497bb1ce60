//! Pairs of failures that silence an essential demand though neither does alone.
//!
//! For each failure, its own graph is cut once more: a second failure completes a pair for a demand if it
//! cuts every leg that still stands. The graph is searched again only where the first failure lies in a
//! block with a cycle; everywhere else the forest of the intact graph still tells the truth, so two networks
//! that share nothing cost no more than the product of their two lists.
//!
//! Most failures take one vertex, or several of one ring, and most demands inside rings have one leg. For these, pairs
//! are counted block by block and for all demands together (`rows`, `ring`); a pair with a failure that reaches further is
//! counted from that one.
//!
//! Two failures can also take more together than each takes alone: an item on two feeds runs on one of them.
//! Such pairs are few; each is tried by plain flood fill.

use crate::Survival;
use crate::blocks::Forest;
use crate::cut::{Cutter, Tally};
use crate::graph::{Lists, NONE};
use crate::importance::Pairing;
use crate::loss::{Loss, Wreck};
use crate::rows::Rows;
use crate::single::Singles;
use loomwright_model::Item;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// All pairs, counted, and the worst of them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Doubles {
    /// Pairs of failures that silence at least one essential demand that neither silences alone. Frozen
    /// switches count as the switch without power, once.
    pub count: u64,
    /// Those that silence most, worst first.
    pub worst: Vec<DoubleFailure>,
}

/// Two failures together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DoubleFailure {
    /// What is lost.
    pub losses: [Loss; 2],
    /// How many essential demands fall silent that neither failure silences alone.
    pub silenced: u32,
}

/// What every round needs.
struct Round<'a> {
    singles: &'a Singles,
    /// Failures that silence each demand alone.
    alone: Lists,
    /// Essential demands with a leg through each block with a cycle, and those of them with several legs.
    through: [Lists; 2],
    /// What those of one leg do in each of these blocks.
    rows: BTreeMap<u32, Rows>,
    /// How far each failure reaches.
    reach: Vec<Reach>,
    intact: Cutter<'a>,
    /// Pairs that take more together than each alone: not for this way of counting.
    entangled: BTreeSet<(u32, u32)>,
    tally: Tally,
    /// Essential demands that each second failure silences, and which are not zero.
    count: Vec<u32>,
    counted: Vec<u32>,
}

/// How far a failure reaches: the further, the sooner its pairs are counted from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reach {
    /// It takes one vertex.
    One(u32),
    /// It takes several vertices of this block, a ring, and no others.
    Ring(u32),
    /// Anything else.
    Far,
}

impl Reach {
    fn rank(self) -> u8 {
        match self {
            Self::One(_) => 0,
            Self::Ring(_) => 1,
            Self::Far => 2,
        }
    }
}

impl Round<'_> {
    /// Whether the pair is counted from `first`: from the failure that reaches further, else from the one that comes
    /// first. Frozen switches and entangled pairs are not counted here.
    fn pairs_with(&self, first: u32, second: u32) -> bool {
        let [one, two] = [first, second].map(|failure| self.reach[failure as usize].rank());
        let is_turn = if one == two { second > first } else { one > two };
        let is_plain = self.entangled.is_empty() || !self.entangled.contains(&(first.min(second), first.max(second)));
        is_turn && is_plain && first != second && !self.singles.losses()[second as usize].is_frozen()
    }

    fn add(&mut self, second: u32, demands: u32) {
        if self.count[second as usize] == 0 {
            self.counted.push(second);
        }
        self.count[second as usize] += demands;
    }

    /// Adds the demands of one leg that `first`, which lies in `block` as far as it matters, parts there together with a
    /// second one.
    fn add_row(&mut self, first: u32, block: u32) {
        let singles = self.singles;
        let Some(row) = self.rows.get(&block) else { return };
        let lost: Vec<usize> = singles.members.of(first).iter().filter_map(|&vertex| singles.forest.position_in(vertex, block)).collect();
        let many = match (row.ring(), self.reach[first as usize]) {
            (Some(ring), Reach::Ring(_)) => ring.count_many(&lost),
            _ => Vec::new(),
        };
        for (vertex, demands) in row.count(&lost) {
            for &second in singles.at_vertex.of(vertex) {
                if matches!(self.reach[second as usize], Reach::One(_)) && self.pairs_with(first, second) {
                    self.add(second, demands);
                }
            }
        }
        for (second, demands) in many {
            if self.pairs_with(first, second) {
                self.add(second, demands);
            }
        }
    }
}

/// The worst pairs so far, worst first.
struct Worst {
    keep: usize,
    pairs: Vec<(Reverse<u32>, u32, u32)>,
}

impl Worst {
    fn offer(&mut self, pair: (Reverse<u32>, u32, u32)) {
        if self.pairs.len() >= self.keep && self.pairs.last().is_none_or(|last| *last <= pair) {
            return;
        }
        let at = self.pairs.partition_point(|other| *other < pair);
        self.pairs.insert(at, pair);
        self.pairs.truncate(self.keep);
    }
}

impl Survival {
    /// Counts all pairs and keeps the `keep` worst. Exact. O(failures x (block + passages)) in rings, and
    /// O(graph) for each failure that takes vertices of several blocks; meant for up to some thousand devices.
    pub fn double_failures(&self, singles: &Singles, keep: usize) -> Doubles {
        self.weighed_double_failures(singles, keep, Vec::new()).0
    }

    /// The same, and with each failure the sum of `weight` over all that complete a pair with it.
    pub fn weighed_double_failures(&self, singles: &Singles, keep: usize, weight: Vec<f64>) -> (Doubles, Pairing) {
        let mut pairing = Pairing { completing: vec![0.0; weight.len()], weight };
        let mut round = self.round(singles);
        let mut count = 0u64;
        let mut worst = Worst { keep, pairs: Vec::new() };
        for first in (0..singles.losses().len() as u32).filter(|&first| !singles.losses()[first as usize].is_frozen()) {
            self.second_failures(first, &mut round);
            count += round.counted.len() as u64;
            let both = |second: u32| (Reverse(round.count[second as usize]), first.min(second), first.max(second));
            round.counted.iter().for_each(|&second| worst.offer(both(second)));
            round.counted.iter().for_each(|&second| pairing.add(first, second));
        }
        for &(one, two) in &round.entangled {
            let silenced = self.silenced_together(singles, one, two);
            if silenced > 0 {
                count += 1;
                pairing.add(one, two);
                worst.offer((Reverse(silenced), one, two));
            }
        }
        let name = |at: u32| singles.losses()[at as usize].clone();
        let worst =
            worst.pairs.into_iter().map(|(silenced, one, two)| DoubleFailure { losses: [name(one), name(two)], silenced: silenced.0 });
        (Doubles { count, worst: worst.collect() }, pairing)
    }

    fn round<'a>(&'a self, singles: &'a Singles) -> Round<'a> {
        let mut rows = self.rows(singles);
        let reach = self.reaches(singles, &mut rows);
        Round {
            singles,
            alone: singles.by_demand(self.demands.all.len()),
            through: self.through_blocks(singles),
            rows,
            reach,
            intact: Cutter::new((&self.graph, &singles.forest), &singles.members, &singles.at_vertex),
            entangled: self.entangled_pairs(singles),
            tally: Tally::new(singles.losses().len()),
            count: vec![0; singles.losses().len()],
            counted: Vec::new(),
        }
    }

    /// Pairs of boxes that silence an essential demand together though neither does alone. Only boxes that `counts`.
    pub(crate) fn pairs_of_boxes(&self, singles: &Singles, counts: &[bool]) -> Vec<[u32; 2]> {
        let boxed = |loss: &Loss| match loss {
            Loss::Gone(Item::Switch(id) | Item::Device(id)) => self.things.box_of(id).filter(|at| counts[*at as usize]).unwrap_or(NONE),
            _ => NONE,
        };
        let box_of: Vec<u32> = singles.losses().iter().map(boxed).collect();
        let mut round = self.round(singles);
        let mut pairs = Vec::new();
        for first in (0..box_of.len() as u32).filter(|&first| box_of[first as usize] != NONE) {
            self.second_failures(first, &mut round);
            let seconds = round.counted.iter().map(|&second| box_of[second as usize]).filter(|at| *at != NONE);
            pairs.extend(seconds.map(|second| [box_of[first as usize], second]));
        }
        let both = round.entangled.iter().filter(|(one, two)| box_of[*one as usize] != NONE && box_of[*two as usize] != NONE);
        let silence = both.filter(|(one, two)| self.silenced_together(singles, *one, *two) > 0);
        pairs.extend(silence.map(|(one, two)| [box_of[*one as usize], box_of[*two as usize]]));
        pairs
    }

    /// Counts, for every second failure that `first` is to be paired with, the essential demands that only both silence.
    fn second_failures(&self, first: u32, round: &mut Round<'_>) {
        for second in round.counted.drain(..) {
            round.count[second as usize] = 0;
        }
        let (demands, blocks) = self.concerned(first, round);
        let is_in_cycle = !blocks.is_empty();
        if round.reach[first as usize] != Reach::Far {
            blocks.into_iter().for_each(|block| round.add_row(first, block));
        }
        if demands.is_empty() {
            return;
        }
        let mut gone = vec![false; self.graph.len()];
        round.singles.members.of(first).iter().for_each(|&vertex| gone[vertex as usize] = true);
        if is_in_cycle {
            let forest = Forest::new(&self.graph, &gone);
            let cutter = Cutter::new((&self.graph, &forest), &round.singles.members, &round.singles.at_vertex);
            demands.iter().for_each(|&demand| self.complete((first, demand), (&cutter, &gone), round));
        } else {
            let intact = std::mem::replace(&mut round.intact, Cutter::none(&round.singles.forest, &round.singles.at_vertex));
            demands.iter().for_each(|&demand| self.complete((first, demand), (&intact, &gone), round));
            round.intact = intact;
        }
    }

    /// Whether exactly one leg of a demand stands with nothing lost.
    fn has_one_leg(&self, demand: u32) -> bool {
        self.legs_standing(demand, &self.component) == 1
    }

    /// How far each failure reaches. Those of several vertices of one ring are told to its row.
    fn reaches(&self, singles: &Singles, rows: &mut BTreeMap<u32, Rows>) -> Vec<Reach> {
        let reach = |failure: u32| match singles.members.of(failure) {
            [vertex] => Reach::One(*vertex),
            members => {
                let blocks = self.cyclic_blocks(&singles.forest, members);
                let mut ring = blocks.first().and_then(|block| rows.get_mut(block)).and_then(Rows::ring_mut);
                let places: Option<Vec<usize>> =
                    members.iter().map(|&vertex| singles.forest.position_in(vertex, *blocks.first()?)).collect();
                match (&blocks[..], &mut ring, places) {
                    ([block], Some(ring), Some(places)) if !singles.losses()[failure as usize].is_frozen() => {
                        ring.add_many(failure, places.into_iter());
                        Reach::Ring(*block)
                    }
                    _ => Reach::Far,
                }
            }
        };
        (0..singles.losses().len() as u32).map(reach).collect()
    }

    /// Blocks with a cycle that some vertices lie in, in order.
    fn cyclic_blocks(&self, forest: &Forest, vertices: &[u32]) -> Vec<u32> {
        let mut blocks: Vec<u32> = Vec::new();
        for &vertex in vertices {
            blocks.push(forest.block[vertex as usize]);
            let next = self.graph.next_to(vertex).iter().map(|&next| forest.block[next as usize]);
            blocks.extend(next.filter(|&block| block != NONE && forest.top[block as usize] == vertex));
        }
        blocks.sort_unstable();
        blocks.dedup();
        blocks.retain(|&block| block != NONE && forest.has_cycle(block));
        blocks
    }

    /// Essential demands that `first` weakens without silencing, but those that rows count, and the blocks with a cycle
    /// that it lies in.
    fn concerned(&self, first: u32, round: &Round<'_>) -> (Vec<u32>, Vec<u32>) {
        let mut demands: Vec<u32> = round.singles.one_leg_left(first as usize).to_vec();
        let blocks = self.cyclic_blocks(&round.singles.forest, round.singles.members.of(first));
        let through = &round.through[usize::from(round.reach[first as usize] != Reach::Far)];
        blocks.iter().for_each(|&block| demands.extend_from_slice(through.of(block)));
        demands.sort_unstable();
        demands.dedup();
        let own = round.singles.device[first as usize];
        demands.retain(|&demand| {
            let demand_ends = &self.demands.all[demand as usize];
            demand_ends.essential && !demand_ends.ends.contains(&own) && !round.alone.of(demand).contains(&first)
        });
        (demands, blocks)
    }

    /// Adds the second failures that silence `demand` after `first`.
    fn complete(&self, (first, demand): (u32, u32), (cutter, gone): (&Cutter<'_>, &[bool]), round: &mut Round<'_>) {
        let standing = cutter.cut(self.demands.legs_of(demand), &mut round.tally, Some(gone));
        let ends = self.demands.all[demand as usize].ends;
        for at in 0..round.tally.touched.len() {
            let second = round.tally.touched[at];
            let completes = round.tally.legs_cut(second) == standing && !ends.contains(&round.singles.device[second as usize]);
            if completes && round.pairs_with(first, second) && round.alone.of(demand).binary_search(&second).is_err() {
                round.add(second, 1);
            }
        }
    }

    /// Pairs, first below second, that each take a supply of one item which either alone leaves running.
    fn entangled_pairs(&self, singles: &Singles) -> BTreeSet<(u32, u32)> {
        let mut wreck = Wreck::default();
        let mut weakening: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for (failure, _) in singles.losses().iter().enumerate().filter(|(_, loss)| !loss.is_frozen()) {
            self.things.lose_from([singles.steps[failure]], &mut wreck);
            for taker in self.things.weakened(&wreck) {
                weakening.entry(taker).or_default().push(failure as u32);
            }
        }
        let mut pairs = BTreeSet::new();
        for failures in weakening.values() {
            for (at, &one) in failures.iter().enumerate() {
                pairs.extend(failures[at + 1..].iter().map(|&two| (one, two)));
            }
        }
        pairs
    }

    /// Essential demands that two failures silence together though neither does alone, by flood fill.
    fn silenced_together(&self, singles: &Singles, one: u32, two: u32) -> u32 {
        let losses = [one, two].map(|failure| singles.losses()[failure as usize].clone());
        let both = self.whatif(&losses).silent;
        let is_new = |demand: &&u32| {
            let alone = [one, two].iter().any(|&failure| singles.silent(failure as usize).binary_search(demand).is_ok());
            self.demands.all[**demand as usize].essential && !alone
        };
        both.iter().filter(is_new).count() as u32
    }

    /// Essential demands of one leg in each block with a cycle that they pass through.
    fn rows(&self, singles: &Singles) -> BTreeMap<u32, Rows> {
        let forest = &singles.forest;
        let mut passages: BTreeMap<u32, Vec<[u32; 2]>> = BTreeMap::new();
        let wanted =
            (0..self.demands.all.len() as u32).filter(|&demand| self.demands.all[demand as usize].essential && self.has_one_leg(demand));
        for leg in wanted.flat_map(|demand| self.demands.legs_of(demand)) {
            let [from, to] = leg.ends;
            if forest.component[from as usize] == NONE || forest.component[from as usize] != forest.component[to as usize] {
                continue;
            }
            forest.walk(from, to, |step| match step {
                crate::blocks::Step::Through { block, from, to } if forest.has_cycle(block) => {
                    passages.entry(block).or_default().push([from, to]);
                }
                _ => {}
            });
        }
        passages.iter().map(|(&block, passages)| (block, Rows::new((&self.graph, forest), block, passages))).collect()
    }

    /// Essential demands with a leg through each block with a cycle, and those of them with several legs.
    fn through_blocks(&self, singles: &Singles) -> [Lists; 2] {
        let forest = &singles.forest;
        let mut found = Vec::new();
        for demand in (0..self.demands.all.len() as u32).filter(|&demand| self.demands.all[demand as usize].essential) {
            for leg in self.demands.legs_of(demand) {
                let [from, to] = leg.ends;
                if forest.component[from as usize] != forest.component[to as usize] {
                    continue;
                }
                forest.walk(from, to, |step| match step {
                    crate::blocks::Step::Through { block, .. } if forest.has_cycle(block) => found.push((block, demand)),
                    _ => {}
                });
            }
        }
        let mut several = found.clone();
        several.retain(|(_, demand)| !self.has_one_leg(*demand));
        [found, several].map(|found| Lists::group(forest.top.len(), &found))
    }
}
