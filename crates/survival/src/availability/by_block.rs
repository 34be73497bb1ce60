//! That something essential is down where every demand has one way: block by block.
//!
//! What every demand needs alone is asked first. What is left can only part them inside blocks with a cycle, each for
//! itself: chances of blocks that share no box multiply. In a plain ring, two failures part a demand if and only if one
//! lies on each of its two arcs. So failures fall into classes, those that have the same demands on the same side; two
//! of one class part nothing, two of different classes part something, and the chance is that boxes of two classes fail.
//!
//! **Source**: own work. Checked against every state and against functions of boxes.

use super::engine::Engine;
use super::{Down, box_of_vertex, formulas};
use crate::Survival;
use crate::blocks::Step;
use crate::graph::NONE;
use crate::ring::round;
use crate::single::Singles;
use std::collections::{BTreeMap, BTreeSet};

/// Entry and exit of the demands that pass through each block with a cycle.
type Passages = BTreeMap<u32, BTreeSet<[u32; 2]>>;

/// Finds the chance block by block.
pub(crate) struct ByBlock<'a> {
    survival: &'a Survival,
    singles: &'a Singles,
    boxes: Vec<u32>,
    can_fail: &'a [bool],
}

impl<'a> ByBlock<'a> {
    pub(crate) fn new(survival: &'a Survival, singles: &'a Singles, can_fail: &'a [bool]) -> Self {
        Self { survival, singles, boxes: survival.things.box_by_vertex(survival.graph.len()), can_fail }
    }

    /// For each case the chance that one of `wanted` is down; boxes that one of them needs alone cannot fail here. `None`
    /// if one has several ways, or power from several boxes, or a block is too much.
    pub(crate) fn down(&self, wanted: &[u32], cases: &[Vec<f64>]) -> Option<Vec<Down>> {
        let passages = self.passages(wanted)?;
        let mut engine = Engine::new(self.survival, self.singles, self.can_fail.to_vec());
        let in_order: Vec<Vec<f64>> = cases.iter().map(|down| engine.in_order(down)).collect();
        let mut weights = vec![[0.0f64; 2]; cases.len()];
        for blocks in self.groups(&passages) {
            let found: Vec<Down> = match self.ring(&blocks, &passages) {
                Some(classes) => {
                    cases.iter().map(|down| classes_down(&classes, down)).map(|down| Down { least: down, most: down }).collect()
                }
                None => {
                    engine.make_room();
                    let wanted = blocks.iter().flat_map(|block| passages[block].iter().map(|ends| (*block, *ends)));
                    let all = engine.all_through(&wanted.collect::<Vec<_>>())?;
                    in_order.iter().map(|down| engine.chance(all, down)).collect()
                }
            };
            for (sum, down) in weights.iter_mut().zip(found) {
                *sum = [sum[0] - (-down.least).ln_1p(), sum[1] - (-down.most).ln_1p()];
            }
        }
        Some(weights.into_iter().map(|[least, most]| Down { least: -(-least).exp_m1(), most: -(-most).exp_m1() }).collect())
    }

    fn passages(&self, wanted: &[u32]) -> Option<Passages> {
        let forest = &self.singles.forest;
        let mut found = Passages::new();
        for &demand in wanted {
            let standing = self.survival.demands.legs_of(demand).iter().map(|leg| leg.ends);
            let mut standing = standing.filter(|ends| {
                let [from, to] = ends.map(|end| forest.component[end as usize]);
                from != NONE && from == to
            });
            let ([from, to], None) = (standing.next()?, standing.next()) else { return None };
            let mut has_choice = false;
            forest.walk(from, to, |step| match step {
                Step::Cut(vertex) => has_choice |= box_of_vertex(&self.boxes, vertex).is_some_and(|at| self.has_choice(at)),
                Step::Through { block, from, to } if forest.has_cycle(block) => {
                    found.entry(block).or_default().insert([from.min(to), from.max(to)]);
                }
                Step::Through { .. } => {}
            });
            if has_choice {
                return None;
            }
        }
        Some(found)
    }

    /// Whether a box, or one of those that power it, is powered by several.
    fn has_choice(&self, at: u32) -> bool {
        let mut chain = vec![at];
        while let Some(&last) = chain.last() {
            match self.survival.things.givers_of(last)[..] {
                [] => return false,
                [giver] if chain.contains(&giver) => return false,
                [giver] => chain.push(giver),
                _ => return true,
            }
        }
        false
    }

    /// Blocks that share a box which can fail go together.
    fn groups(&self, passages: &Passages) -> Vec<Vec<u32>> {
        let blocks: Vec<u32> = passages.keys().copied().collect();
        let mut up: Vec<usize> = (0..blocks.len()).collect();
        let root = |up: &[usize], mut at: usize| {
            while up[at] != at {
                at = up[at];
            }
            at
        };
        let mut first: BTreeMap<u32, usize> = BTreeMap::new();
        for (number, &block) in blocks.iter().enumerate() {
            for at in self.needed_inside(block) {
                let [one, two] = [root(&up, *first.entry(at).or_insert(number)), root(&up, number)];
                up[one.max(two)] = one.min(two);
            }
        }
        let mut groups: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
        for (number, &block) in blocks.iter().enumerate() {
            groups.entry(root(&up, number)).or_default().push(block);
        }
        groups.into_values().collect()
    }

    /// Boxes of a block that can fail, and all that power its boxes and can.
    fn needed_inside(&self, block: u32) -> BTreeSet<u32> {
        let mut seen: BTreeSet<u32> = self.vertices(block).filter_map(|vertex| box_of_vertex(&self.boxes, vertex)).collect();
        let mut todo: Vec<u32> = seen.iter().copied().collect();
        while let Some(at) = todo.pop() {
            todo.extend(self.survival.things.givers_of(at).into_iter().filter(|&giver| seen.insert(giver)));
        }
        seen.retain(|at| self.can_fail[*at as usize]);
        seen
    }

    fn vertices(&self, block: u32) -> impl Iterator<Item = u32> {
        let forest = &self.singles.forest;
        forest.below_top(block).iter().copied().chain([forest.top[block as usize]])
    }

    /// Classes of boxes of one plain ring; `None` if it is something else, or a box has two places in it, or power that
    /// can fail through a cable.
    fn ring(&self, blocks: &[u32], passages: &Passages) -> Option<Vec<Vec<u32>>> {
        let &[block] = blocks else { return None };
        let forest = &self.singles.forest;
        let (graph, vertices) = forest.alone(&self.survival.graph, block);
        let around = round(&graph)?;
        let failing = |vertex: u32| box_of_vertex(&self.boxes, vertex).filter(|at| self.can_fail[*at as usize]);
        let mut seen = BTreeSet::new();
        let is_plain = |at: u32| self.survival.things.givers_of(at).is_empty();
        let every_box = vertices.iter().filter_map(|&vertex| box_of_vertex(&self.boxes, vertex));
        if !every_box.into_iter().all(|at| is_plain(at) && (!self.can_fail[at as usize] || seen.insert(at))) {
            return None;
        }
        let mut turns: BTreeMap<u32, u128> = BTreeMap::new();
        for ([from, to], number) in passages[&block].iter().zip(1u128..) {
            [from, to].into_iter().for_each(|&end| *turns.entry(end).or_default() ^= mark(number));
        }
        let mut classes: BTreeMap<u128, Vec<u32>> = BTreeMap::new();
        let mut side = 0;
        for position in around {
            let vertex = vertices[position as usize];
            side ^= turns.get(&vertex).copied().unwrap_or(0);
            if let Some(at) = failing(vertex) {
                classes.entry(side).or_default().push(at);
            }
        }
        Some(classes.into_values().collect())
    }
}

/// A number that stands for a demand in the sum of those on one side. **Shape**: two different sides have equal sums with a
/// chance of 1 in 2^127; steps and factors are those of SplitMix64 (Steele, Lea and Flood 2014, from memory).
fn mark(number: u128) -> u128 {
    let half = |seed: u64| {
        let mut at = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15);
        at = (at ^ at >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        at = (at ^ at >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        u128::from(at ^ at >> 31)
    };
    let seed = 2 * number as u64;
    half(seed) << 64 | half(seed + 1)
}

/// Chance that boxes of two classes or more fail.
fn classes_down(classes: &[Vec<u32>], down: &[f64]) -> f64 {
    let (mut none, mut one, mut more) = (1.0, 0.0, 0.0);
    for class in classes {
        let failing = formulas::any_down(class.iter().map(|&at| down[at as usize]));
        more += one * failing;
        one = one * (1.0 - failing) + none * failing;
        none *= 1.0 - failing;
    }
    more
}
