//! The chance that something essential is down where streams have two ways that share nothing: two networks of trees.
//!
//! There every box lies on one of two sides, and when boxes of the one side fail, certain boxes of the other have to stay
//! up: all those on the other way of a stream that lost its first. So the chance is a sum over what fails on one side. Boxes
//! that touch everything (cores, the place where most streams end) are taken out by asking whether they are up; what is
//! left falls apart into parts that have nothing in common, whose chances multiply. A part of few boxes is added up whole.
//! A part of many is added up for the failures of few boxes at once, and for more of them together two bounds are known:
//! what must stay up is at most the sum of what each failed box asks for, and at least that sum less what each two ask for
//! both. So a range is left only there, and it is narrow.
//!
//! **Source**: own work; the two bounds are those of Bonferroni 1936 (from memory). Checked against every state.

use super::{Down, box_of_vertex, formulas};
use crate::Survival;
use crate::blocks::Step;
use crate::demand::Leg;
use crate::graph::NONE;
use crate::single::Singles;
use std::collections::{BTreeMap, BTreeSet};

/// Most sets of failed boxes that are added up in one part. Own choice: well below a tenth of a second.
const MOST_SETS: usize = 400_000;

/// A box of one side, and the boxes of the other that have to stay up once it fails, in order.
type Need = (u32, Vec<u32>);

/// What has to stay up when something fails.
pub(crate) struct Sides {
    needs: Vec<Need>,
}

/// Boxes in two colours: those on one way of a demand have one, those on its other way the other.
struct Colours {
    up: Vec<u32>,
    differs: Vec<bool>,
}

impl Colours {
    fn new(count: usize) -> Self {
        Self { up: (0..count as u32).collect(), differs: vec![false; count] }
    }

    /// The box that stands for the group, and whether the colour differs from its.
    fn root(&self, mut at: u32) -> (u32, bool) {
        let mut differs = false;
        while self.up[at as usize] != at {
            differs ^= self.differs[at as usize];
            at = self.up[at as usize];
        }
        (at, differs)
    }

    /// Says that two boxes have the same colour, or not; false if that contradicts what was said before.
    fn join(&mut self, one: u32, two: u32, differ: bool) -> bool {
        let ((one, one_differs), (two, two_differs)) = (self.root(one), self.root(two));
        if one == two {
            return (one_differs ^ two_differs) == differ;
        }
        let (low, high) = (one.min(two), one.max(two));
        self.up[high as usize] = low;
        self.differs[high as usize] = one_differs ^ two_differs ^ differ;
        true
    }
}

/// Reads what each leg needs.
struct Reader<'a> {
    survival: &'a Survival,
    singles: &'a Singles,
    boxes: Vec<u32>,
    can_fail: &'a [bool],
}

impl Reader<'_> {
    /// Boxes that can fail and that a leg needs; `None` where it has several ways, or power from several boxes.
    fn leg(&self, leg: &Leg) -> Option<BTreeSet<u32>> {
        let forest = &self.singles.forest;
        let (mut needed, mut is_plain) = (BTreeSet::new(), true);
        forest.walk(leg.ends[0], leg.ends[1], |step| match step {
            Step::Cut(vertex) => {
                if let Some(at) = box_of_vertex(&self.boxes, vertex) {
                    is_plain &= self.add_box(at, &mut needed);
                }
            }
            Step::Through { block, .. } => is_plain &= !forest.has_cycle(block),
        });
        is_plain.then_some(needed)
    }

    /// Adds a box and the chain of boxes that power it; false where it has a choice.
    fn add_box(&self, mut at: u32, needed: &mut BTreeSet<u32>) -> bool {
        let mut chain = vec![at];
        loop {
            if self.can_fail[at as usize] {
                needed.insert(at);
            }
            at = match self.survival.things.givers_of(at)[..] {
                [] => return true,
                [giver] if chain.contains(&giver) => return true,
                [giver] => giver,
                _ => return false,
            };
            chain.push(at);
        }
    }

    /// The two ways of a demand that can fail; empty where one way cannot.
    fn ways(&self, demand: u32) -> Option<Vec<[BTreeSet<u32>; 2]>> {
        let component = &self.singles.forest.component;
        let standing = self.survival.demands.legs_of(demand).iter().filter(|leg| {
            let [from, to] = leg.ends.map(|end| component[end as usize]);
            from != NONE && from == to
        });
        let mut ways: Vec<BTreeSet<u32>> = standing.map(|leg| self.leg(leg)).collect::<Option<_>>()?;
        if ways.iter().any(BTreeSet::is_empty) {
            return Some(Vec::new());
        }
        let (two, one, is_all) = (ways.pop()?, ways.pop()?, ways.is_empty());
        is_all.then(|| vec![[one, two]])
    }
}

impl Sides {
    /// `None` if a wanted demand has a ring on its way, more than two ways, or a box on the other side than before.
    pub(crate) fn new(survival: &Survival, singles: &Singles, (wanted, can_fail): (&[u32], &[bool])) -> Option<Self> {
        let boxes = survival.things.box_by_vertex(survival.graph.len());
        let reader = Reader { survival, singles, boxes, can_fail };
        let mut pairs: BTreeSet<[BTreeSet<u32>; 2]> = BTreeSet::new();
        for &demand in wanted {
            pairs.extend(reader.ways(demand)?);
        }
        let mut colours = Colours::new(can_fail.len());
        for [one, two] in &pairs {
            let first = *one.first()?;
            let is_told = one.iter().all(|&at| colours.join(first, at, false)) && two.iter().all(|&at| colours.join(first, at, true));
            if !is_told {
                return None;
            }
        }
        let mut needs: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
        for [one, two] in &pairs {
            let is_other = one.first().is_some_and(|&at| colours.root(at).1);
            let (one, two) = if is_other { (two, one) } else { (one, two) };
            for &at in one {
                needs.entry(at).or_default().extend(two);
            }
        }
        Some(Self { needs: needs.into_iter().map(|(at, needed)| (at, needed.into_iter().collect())).collect() })
    }

    /// Every box that matters.
    pub(crate) fn boxes(&self) -> BTreeSet<u32> {
        self.needs.iter().flat_map(|(at, needed)| needed.iter().chain([at])).copied().collect()
    }

    /// Chance that something is down, when box `n` is with chance `down[n]`.
    pub(crate) fn down(&self, down: &[f64]) -> Down {
        Chances { down, most_sets: MOST_SETS }.of(self.needs.clone())
    }
}

struct Chances<'a> {
    down: &'a [f64],
    most_sets: usize,
}

impl Chances<'_> {
    fn of(&self, needs: Vec<Need>) -> Down {
        let can_fail = |at: &u32| self.down[*at as usize] > 0.0;
        let kept = needs.into_iter().filter(|(at, _)| can_fail(at)).map(|(at, needed)| (at, needed.into_iter().filter(can_fail).collect()));
        let needs: Vec<Need> = kept.filter(|(_, needed): &Need| !needed.is_empty()).collect();
        let mut asked: BTreeMap<u32, usize> = BTreeMap::new();
        needs.iter().flat_map(|(_, needed)| needed).for_each(|&at| *asked.entry(at).or_default() += 1);
        let is_wide = |need: &Need| need.1.len() == asked.len();
        if needs.iter().any(is_wide) || asked.values().any(|count| *count == needs.len()) {
            return self.without_the_wide(&needs, &asked);
        }
        let mut parts = parts(needs);
        match parts.len() {
            0 => Down { least: 0.0, most: 0.0 },
            1 => Sum::new(self, turned_if_smaller(parts.remove(0))).down(self.most_sets),
            _ => {
                let parts: Vec<Down> = parts.into_iter().map(|part| self.of(part)).collect();
                let any = |end: fn(&Down) -> f64| formulas::any_down(parts.iter().map(end));
                Down { least: any(|down| down.least), most: any(|down| down.most) }
            }
        }
    }

    fn any_of(&self, boxes: impl Iterator<Item = u32>) -> f64 {
        formulas::any_down(boxes.map(|at| self.down[at as usize]))
    }

    /// Asks first whether those boxes are up that need everything on the other side, or that all of it needs.
    fn without_the_wide(&self, needs: &[Need], asked: &BTreeMap<u32, usize>) -> Down {
        let is_wide = |need: &&Need| need.1.len() == asked.len();
        let is_wanted_by_all = |at: &u32| asked[at] == needs.len();
        let ours = self.any_of(needs.iter().filter(is_wide).map(|need| need.0));
        let our_rest = self.any_of(needs.iter().filter(|need| !is_wide(need)).map(|need| need.0));
        let theirs = self.any_of(asked.keys().copied().filter(is_wanted_by_all));
        let their_rest = self.any_of(asked.keys().copied().filter(|at| !is_wanted_by_all(at)));
        let rest = needs.iter().filter(|need| !is_wide(need));
        let rest = rest.map(|(at, needed)| (*at, needed.iter().copied().filter(|at| !is_wanted_by_all(at)).collect()));
        let rest = self.of(rest.collect());
        let all = |rest: f64| {
            let ours_up = (1.0 - theirs) * rest + theirs * our_rest;
            (1.0 - ours) * ours_up + ours * formulas::any_down([theirs, their_rest])
        };
        Down { least: all(rest.least), most: all(rest.most) }
    }
}

/// Needs that have a box of the other side in common stay together.
fn parts(needs: Vec<Need>) -> Vec<Vec<Need>> {
    let mut group = Colours::new(needs.len());
    let mut first: BTreeMap<u32, u32> = BTreeMap::new();
    for (number, (_, needed)) in (0u32..).zip(&needs) {
        for &at in needed {
            group.join(*first.entry(at).or_insert(number), number, false);
        }
    }
    let mut parts: BTreeMap<u32, Vec<Need>> = BTreeMap::new();
    for (number, need) in (0u32..).zip(needs) {
        parts.entry(group.root(number).0).or_default().push(need);
    }
    parts.into_values().collect()
}

/// The same, told from the side that has fewer boxes.
fn turned_if_smaller(needs: Vec<Need>) -> Vec<Need> {
    let mut turned: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    for (at, needed) in &needs {
        needed.iter().for_each(|&other| turned.entry(other).or_default().push(*at));
    }
    if turned.len() < needs.len() { turned.into_iter().collect() } else { needs }
}

/// A sum over the sets of boxes of one side that fail.
struct Sum {
    /// What each of them needs, one bit for each box of the other side.
    needed: Vec<Vec<u64>>,
    /// Down against up, of each of them.
    odds: Vec<f64>,
    all_up: f64,
    /// Minus the logarithm of the chance of being up, of each box of the other side, and of all of each set `needed`.
    weight: Vec<f64>,
    own_weight: Vec<f64>,
    /// Sets of this many failed boxes are added up, and no larger ones.
    size: usize,
    added: f64,
    /// Odds of each two, times the weight that both need.
    shared: f64,
}

/// What failed so far.
struct Failed {
    next: usize,
    size: usize,
    odds: f64,
    needed: Vec<u64>,
    weight: f64,
}

impl Sum {
    fn new(chances: &Chances<'_>, needs: Vec<Need>) -> Self {
        let others: BTreeSet<u32> = needs.iter().flat_map(|(_, needed)| needed).copied().collect();
        let number: BTreeMap<u32, usize> = others.iter().copied().zip(0..).collect();
        let weight: Vec<f64> = others.iter().map(|&at| -(-chances.down[at as usize]).ln_1p()).collect();
        let bits = |needed: &[u32]| {
            let mut bits = vec![0u64; others.len().div_ceil(64)];
            needed.iter().for_each(|at| bits[number[at] / 64] |= 1 << (number[at] % 64));
            bits
        };
        let down = || needs.iter().map(|(at, _)| chances.down[*at as usize]);
        Self {
            needed: needs.iter().map(|(_, needed)| bits(needed)).collect(),
            odds: down().map(|down| down / (1.0 - down)).collect(),
            all_up: 1.0 - formulas::any_down(down()),
            own_weight: needs.iter().map(|(_, needed)| needed.iter().map(|at| weight[number[at]]).sum()).collect(),
            weight,
            size: 0,
            added: 0.0,
            shared: 0.0,
        }
    }

    fn down(mut self, most_sets: usize) -> Down {
        let count = self.odds.len();
        self.size = size_within(count, most_sets);
        let none = vec![0; self.needed.first().map_or(0, Vec::len)];
        self.grow(&Failed { next: 0, size: 0, odds: 1.0, needed: none, weight: 0.0 });
        if !self.all_up.is_normal() {
            return Down { least: 0.0, most: 1.0 };
        }
        let [least, most] = if self.size >= count { [0.0; 2] } else { self.larger_sets() };
        Down { least: self.all_up * (self.added + least), most: (self.all_up * (self.added + most)).min(1.0) }
    }

    /// Adds every set that is `failed` and at least one more.
    fn grow(&mut self, failed: &Failed) {
        for at in failed.next..self.odds.len() {
            let (mut needed, mut weight) = (failed.needed.clone(), failed.weight);
            for (word, (known, own)) in needed.iter_mut().zip(&self.needed[at]).enumerate() {
                let mut new = own & !*known;
                *known |= own;
                while new != 0 {
                    weight += self.weight[word * 64 + new.trailing_zeros() as usize];
                    new &= new - 1;
                }
            }
            let odds = failed.odds * self.odds[at];
            self.added += odds * -(-weight).exp_m1();
            if failed.size == 1 {
                self.shared += odds * (failed.weight + self.own_weight[at] - weight).max(0.0);
            }
            if failed.size + 1 < self.size {
                self.grow(&Failed { next: at + 1, size: failed.size + 1, odds, needed, weight });
            }
        }
    }

    /// What the larger sets add at least and at most, before `all_up`.
    fn larger_sets(&self) -> [f64; 2] {
        let tails = tails(&self.odds, self.size + 1);
        let whole: f64 = self.weight.iter().sum();
        let any = -(-whole).exp_m1();
        let without = |odds: f64| tails[1..=self.size].iter().fold(tails[0] / (1.0 + odds), |fewer, tail| (tail - odds * fewer).max(0.0));
        // Each set's needs one by one: every box with all sets of `size` or more others.
        let singly: f64 = self.odds.iter().zip(&self.own_weight).map(|(odds, weight)| odds * weight * without(*odds)).sum();
        let twice = self.shared * tails[self.size - 1];
        [(any / whole) * (singly - twice).max(0.0), singly.min(any * tails[self.size + 1])]
    }
}

/// Sum over all sets of `n` or more of the product of their odds, for `n` from 0 to `most`.
fn tails(odds: &[f64], most: usize) -> Vec<f64> {
    let mut exactly = vec![0.0; most + 1];
    exactly[0] = 1.0;
    let mut more = 0.0;
    for &one in odds {
        more += one * (more + exactly[most]);
        for size in (1..=most).rev() {
            exactly[size] += one * exactly[size - 1];
        }
    }
    for tail in exactly.iter_mut().rev() {
        more += *tail;
        *tail = more;
    }
    exactly
}

/// The largest size of sets, of at least two, so that no more than `most` sets of that size or less exist.
fn size_within(count: usize, most: usize) -> usize {
    let (mut size, mut exactly, mut all) = (0, 1usize, 0usize);
    while size < count {
        exactly = exactly.saturating_mul(count - size) / (size + 1);
        all = all.saturating_add(exactly);
        if all > most && size >= 2 {
            return size;
        }
        size += 1;
    }
    size
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A seeded source of numbers (a linear congruence).
    struct Dice(u64);

    impl Dice {
        fn roll(&mut self, below: u64) -> u64 {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) % below
        }
    }

    /// Boxes 0 to 6 on one side, 7 to 13 on the other.
    fn random(seed: u64) -> (Vec<Need>, Vec<f64>) {
        let mut dice = Dice(seed);
        let density = 1 + dice.roll(9);
        let mut needs: Vec<Need> = (0..7)
            .map(|at| (at, (7..14).filter(|_| dice.roll(10) < density).collect()))
            .filter(|(_, needed): &Need| !needed.is_empty())
            .collect();
        if dice.roll(2) == 0 {
            // A core on each side.
            needs.iter_mut().for_each(|(_, needed)| needed.retain(|at| *at != 7));
            needs.iter_mut().for_each(|(_, needed)| needed.insert(0, 7));
            needs.retain(|(at, _)| *at != 0);
            needs.insert(0, (0, (7..14).collect()));
        }
        let down = (0..14).map(|_| [0.0, 0.5, 0.1, 0.01][dice.roll(4) as usize] * (1.0 + dice.roll(9) as f64) / 10.0).collect();
        (needs, down)
    }

    fn every_state(needs: &[Need], down: &[f64]) -> f64 {
        let mut whole = 0.0;
        for state in 0u32..1 << down.len() {
            let is_down = |at: u32| state >> at & 1 == 1;
            let chance: f64 = down.iter().zip(0u32..).map(|(down, at)| if is_down(at) { *down } else { 1.0 - down }).product();
            if needs.iter().any(|(at, needed)| is_down(*at) && needed.iter().any(|at| is_down(*at))) {
                whole += chance;
            }
        }
        whole
    }

    #[test]
    fn agrees_with_adding_up_every_state() {
        let mut ranges = 0;
        for seed in 0..120 {
            let (needs, down) = random(seed);
            let expected = every_state(&needs, &down);
            let found = Chances { down: &down, most_sets: MOST_SETS }.of(needs.clone());
            assert!((found.least - expected).abs() < 1e-13 && found.is_exact(), "seed {seed}: {found:?}, {expected}");
            let rough = Chances { down: &down, most_sets: 1 }.of(needs);
            assert!(rough.least <= expected + 1e-13 && expected <= rough.most + 1e-13, "seed {seed}: {rough:?}, {expected}");
            ranges += usize::from(rough.most > rough.least);
        }
        assert!(ranges > 20, "only {ranges} ranges");
    }

    /// A hub and its spokes, on two networks of one core each: as large as it may be, it is exact.
    #[test]
    fn a_star_of_any_size_is_exact() {
        let places = 400u32;
        // Cores 0 and 1, hubs 2 and 3, then a pair for each place.
        let spoke = |place: u32| 4 + 2 * place;
        let mut needs: Vec<Need> = vec![];
        let theirs = || (0..places).map(move |place| spoke(place) + 1);
        for wide in [0, 2] {
            needs.push((wide, [1, 3].into_iter().chain(theirs()).collect()));
        }
        needs.extend((0..places).map(|place| (spoke(place), vec![1, 3, spoke(place) + 1])));
        let q: f64 = 2e-5;
        let found = Chances { down: &vec![q; 4 + 2 * places as usize], most_sets: MOST_SETS }.of(needs);
        // By hand: cores and hubs up on both sides and a place without both; or one of one side down, and anything of the other.
        let any = |down: f64, count: u32| -(f64::from(count) * (-down).ln_1p()).exp_m1();
        let (wide, side) = (any(q, 2), any(q, places));
        let expected = (1.0 - wide).powi(2) * any(q * q, places) + 2.0 * wide * (1.0 - wide) * side + wide * wide;
        assert!(found.is_exact() && (found.most / expected - 1.0).abs() < 1e-12, "{found:?}, {expected}");
    }

    #[test]
    fn a_dense_random_plan_is_told_closely() {
        let mut dice = Dice(7);
        let places = 300u32;
        let needs: Vec<Need> =
            (0..places).map(|at| (at, (places..2 * places).filter(|other| *other == at + places || dice.roll(4) == 0).collect())).collect();
        let found = Chances { down: &vec![1.6e-5; 2 * places as usize], most_sets: MOST_SETS }.of(needs);
        assert!(found.least > 0.0 && found.most > found.least && (found.most - found.least) / found.most < 1e-5, "{found:?}");
    }
}
