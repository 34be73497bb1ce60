//! Pairs of failures that silence an essential demand though neither does alone.
//!
//! For each failure, its own graph is cut once more: a second failure completes a pair for a demand if it
//! cuts every leg that still stands. The graph is searched again only where the first failure lies in a
//! block with a cycle; everywhere else the forest of the intact graph still tells the truth, so two networks
//! that share nothing cost no more than the product of their two lists.
//!
//! Most failures take one vertex, and most demands inside rings have one leg. For these, pairs are counted block by block
//! and for all demands together (`rows`); a pair with a failure of several vertices is counted from that one.
//!
//! Two failures can also take more together than each takes alone: an item on two feeds runs on one of them.
//! Such pairs are few; each is tried by plain flood fill.

use crate::Survival;
use crate::blocks::Forest;
use crate::cut::{Cutter, Tally};
use crate::graph::{Lists, NONE};
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
    /// Essential demands with a leg through each block with a cycle.
    through: Lists,
    /// What those of one leg do in each of these blocks.
    rows: BTreeMap<u32, Rows>,
    /// The vertex of each failure that takes only one; [`NONE`] for all others.
    vertex: Vec<u32>,
    intact: Cutter<'a>,
    /// Pairs that take more together than each alone: not for this way of counting.
    entangled: BTreeSet<(u32, u32)>,
    tally: Tally,
    /// Essential demands that each second failure silences, and which are not zero.
    count: Vec<u32>,
    counted: Vec<u32>,
}

/// The only one of `members`; [`NONE`] if there are more or none.
fn only(members: &[u32]) -> u32 {
    if let [vertex] = members { *vertex } else { NONE }
}

impl Round<'_> {
    /// Whether the pair is counted from `first`: from the failure of several vertices if the other takes one, else from
    /// the one that comes first. Frozen switches and entangled pairs are not counted here.
    fn pairs_with(&self, first: u32, second: u32) -> bool {
        let [one, two] = [first, second].map(|failure| self.vertex[failure as usize] != NONE);
        let is_turn = if one == two { second > first } else { two };
        let is_plain = self.entangled.is_empty() || !self.entangled.contains(&(first.min(second), first.max(second)));
        is_turn && is_plain && first != second && !self.singles.losses()[second as usize].is_frozen()
    }

    fn add(&mut self, second: u32, demands: u32) {
        if self.count[second as usize] == 0 {
            self.counted.push(second);
        }
        self.count[second as usize] += demands;
    }

    /// Adds the demands of one leg that `first`, of one vertex, parts inside `block` together with a second one.
    fn add_row(&mut self, first: u32, block: u32) {
        let Some(row) = self.rows.get(&block) else { return };
        let Some(at) = self.singles.forest.position_in(self.vertex[first as usize], block) else { return };
        let singles = self.singles;
        for (vertex, demands) in row.count(at) {
            for &second in singles.at_vertex.of(vertex) {
                if self.vertex[second as usize] != NONE && self.pairs_with(first, second) {
                    self.add(second, demands);
                }
            }
        }
    }
}

impl Survival {
    /// Counts all pairs and keeps the `keep` worst. Exact. O(failures x block) in rings, and
    /// O(graph) for each failure that takes several vertices of one; meant for up to some thousand devices.
    pub fn double_failures(&self, singles: &Singles, keep: usize) -> Doubles {
        let mut round = self.round(singles);
        let mut count = 0u64;
        let mut worst: Vec<(Reverse<u32>, u32, u32)> = Vec::new();
        for first in (0..singles.losses().len() as u32).filter(|&first| !singles.losses()[first as usize].is_frozen()) {
            self.second_failures(first, &mut round);
            count += round.counted.len() as u64;
            let both = |second: u32| (Reverse(round.count[second as usize]), first.min(second), first.max(second));
            worst.extend(round.counted.iter().map(|&second| both(second)));
            worst.sort_unstable();
            worst.truncate(keep);
        }
        for &(one, two) in &round.entangled {
            let silenced = self.silenced_together(singles, one, two);
            count += u64::from(silenced > 0);
            worst.extend((silenced > 0).then_some((Reverse(silenced), one, two)));
        }
        worst.sort_unstable();
        worst.truncate(keep);
        let name = |at: u32| singles.losses()[at as usize].clone();
        let worst = worst.into_iter().map(|(silenced, one, two)| DoubleFailure { losses: [name(one), name(two)], silenced: silenced.0 });
        Doubles { count, worst: worst.collect() }
    }

    fn round<'a>(&'a self, singles: &'a Singles) -> Round<'a> {
        Round {
            singles,
            alone: singles.silent.turned(self.demands.all.len()),
            through: self.through_blocks(singles),
            rows: self.rows(singles),
            vertex: (0..singles.losses().len() as u32).map(|at| only(singles.members.of(at))).collect(),
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
        let (mut demands, blocks) = self.concerned(first, round);
        let is_in_cycle = !blocks.is_empty();
        if round.vertex[first as usize] != NONE {
            demands.retain(|&demand| !self.has_one_leg(demand));
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

    /// Essential demands that `first` weakens without silencing, and the blocks with a cycle that it lies in.
    fn concerned(&self, first: u32, round: &Round<'_>) -> (Vec<u32>, Vec<u32>) {
        let forest = &round.singles.forest;
        let mut demands: Vec<u32> = round.singles.one_leg_left.of(first).to_vec();
        let mut blocks: Vec<u32> = Vec::new();
        for &vertex in round.singles.members.of(first) {
            blocks.push(forest.block[vertex as usize]);
            blocks.extend(
                self.graph
                    .next_to(vertex)
                    .iter()
                    .map(|&next| forest.block[next as usize])
                    .filter(|&block| block != NONE && forest.top[block as usize] == vertex),
            );
        }
        blocks.sort_unstable();
        blocks.dedup();
        blocks.retain(|&block| block != NONE && forest.has_cycle(block));
        blocks.iter().for_each(|&block| demands.extend_from_slice(round.through.of(block)));
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
        for (failure, loss) in singles.losses().iter().enumerate().filter(|(_, loss)| !loss.is_frozen()) {
            self.things.lose(std::slice::from_ref(loss), &mut wreck);
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
            let alone = [one, two].iter().any(|&failure| singles.silent.of(failure).binary_search(demand).is_ok());
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

    /// Essential demands with a leg through each block with a cycle.
    fn through_blocks(&self, singles: &Singles) -> Lists {
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
        Lists::group(forest.top.len(), &found)
    }
}
