//! The chance of one demand in numbers alone, where what its ways need fails box by box and nothing twice.
//!
//! A leg needs every box on its way of the block-cut forest and what powers them, and each block with a cycle joined.
//! Where the inside of such a block is made of boxes that lie nowhere else and that nothing powers through a cable, the
//! chances of blocks and boxes multiply. Two legs of two networks share only boxes that both need: asked first.
//! `None` wherever that is not certain; then functions of boxes tell ([`super::engine`]).

use super::box_of_vertex;
use super::skeleton::Skeleton;
use crate::Survival;
use crate::blocks::{Forest, Step};
use crate::demand::Leg;
use crate::graph::NONE;
use std::collections::BTreeMap;

/// A box that several others power.
const SEVERAL: u32 = NONE - 1;

/// One block with a cycle.
struct Inside {
    skeleton: Skeleton,
    /// Vertices whose box can fail and lies elsewhere too, or is powered through a cable.
    not_own: Vec<u32>,
}

/// What one leg needs.
#[derive(Default)]
struct Way {
    /// Boxes, each once, in order.
    boxes: Vec<u32>,
    /// Of the boxes on the way, those that power them.
    powering: Vec<u32>,
    passages: Vec<[u32; 3]>,
    component: u32,
}

/// Works out chances of demands.
pub(crate) struct Apart<'a> {
    survival: &'a Survival,
    forest: &'a Forest,
    /// Box of each vertex.
    boxes: Vec<u32>,
    /// Minus the logarithm of the chance of each box to be up.
    weight: Vec<f64>,
    /// The box that powers each; [`NONE`] if none does, [`SEVERAL`] if there is a choice.
    giver: Vec<u32>,
    insides: BTreeMap<u32, Inside>,
    joins: BTreeMap<[u32; 3], Option<f64>>,
}

impl<'a> Apart<'a> {
    /// `None` if a box is certain to be down.
    pub(crate) fn new(survival: &'a Survival, forest: &'a Forest, down: &[f64]) -> Option<Self> {
        if down.iter().any(|down| *down >= 1.0) {
            return None;
        }
        let givers = |at: u32| match survival.things.givers_of(at)[..] {
            [] => NONE,
            [one] => one,
            _ => SEVERAL,
        };
        Some(Self {
            survival,
            forest,
            boxes: survival.things.box_by_vertex(survival.graph.len()),
            weight: down.iter().map(|down| -(-down).ln_1p()).collect(),
            giver: (0..down.len() as u32).map(givers).collect(),
            insides: BTreeMap::new(),
            joins: BTreeMap::new(),
        })
    }

    /// Chance that a demand is down.
    pub(crate) fn demand(&mut self, demand: u32) -> Option<f64> {
        let component = &self.forest.component;
        let standing = self.survival.demands.legs_of(demand).iter().filter(|leg| {
            let [from, to] = leg.ends.map(|end| component[end as usize]);
            from != NONE && from == to
        });
        let ways: Vec<Way> = standing.map(|leg| self.way(leg)).collect::<Option<_>>()?;
        if ways.iter().any(|way| self.powers_an_inside(way, &ways)) {
            return None;
        }
        let mut ends = Way::default();
        let ends_known = self.survival.demands.all[demand as usize].ends.iter().all(|&end| self.add_box(end, &mut ends));
        ends.boxes.sort_unstable();
        ends.boxes.dedup();
        match (&ways[..], ends_known) {
            ([], _) => Some(1.0),
            ([way], true) => {
                let rest = self.rest(way, &ends.boxes)?;
                Some(-(-self.sum(&ends.boxes) - rest).exp_m1())
            }
            ([one, two], true) if one.component != two.component => self.either(one, two, &ends.boxes),
            _ => None,
        }
    }

    fn sum(&self, boxes: &[u32]) -> f64 {
        boxes.iter().map(|&at| self.weight[at as usize]).sum()
    }

    /// Two legs: what both need, and that one of them has the rest.
    fn either(&mut self, one: &Way, two: &Way, ends: &[u32]) -> Option<f64> {
        let mut shared: Vec<u32> = one.boxes.iter().filter(|at| two.boxes.binary_search(at).is_ok()).chain(ends).copied().collect();
        shared.sort_unstable();
        shared.dedup();
        let [one, two] = [self.rest(one, &shared)?, self.rest(two, &shared)?].map(|weight| -(-weight).exp_m1());
        Some(-(-self.sum(&shared) + (-one * two).ln_1p()).exp_m1())
    }

    /// Weight of a leg but for the boxes in `known`.
    fn rest(&mut self, way: &Way, known: &[u32]) -> Option<f64> {
        let boxes = way.boxes.iter().filter(|at| known.binary_search(at).is_err());
        let mut weight: f64 = boxes.map(|&at| self.weight[at as usize]).sum();
        for &passage in &way.passages {
            weight -= (-self.join(passage)?).ln_1p();
        }
        Some(weight)
    }

    /// What a leg needs; `None` if power comes from several boxes.
    fn way(&self, leg: &Leg) -> Option<Way> {
        let mut way = Way { component: self.forest.component[leg.ends[0] as usize], ..Way::default() };
        let mut is_plain = true;
        self.forest.walk(leg.ends[0], leg.ends[1], |step| match step {
            Step::Cut(vertex) => {
                if let Some(at) = box_of_vertex(&self.boxes, vertex) {
                    is_plain &= self.add_box(at, &mut way);
                }
            }
            Step::Through { block, from, to } if self.forest.has_cycle(block) => way.passages.push([block, from.min(to), from.max(to)]),
            Step::Through { .. } => {}
        });
        way.boxes.sort_unstable();
        way.boxes.dedup();
        is_plain.then_some(way)
    }

    /// Adds a box and the chain of boxes that power it; false where there is a choice.
    fn add_box(&self, mut at: u32, way: &mut Way) -> bool {
        let first = way.boxes.len();
        way.boxes.push(at);
        loop {
            at = match self.giver[at as usize] {
                NONE => return true,
                SEVERAL => return false,
                giver if way.boxes[first..].contains(&giver) => return true,
                giver => giver,
            };
            way.boxes.push(at);
            way.powering.push(at);
        }
    }

    /// Whether a box that powers this way lies inside a block that any of the ways passes.
    fn powers_an_inside(&self, way: &Way, ways: &[Way]) -> bool {
        let vertices = || way.powering.iter().flat_map(|&at| self.survival.things.vertices_of_box(at));
        let passages = || ways.iter().flat_map(|way| &way.passages);
        let is_inside = |vertex: u32| {
            passages().any(|&[block, from, to]| vertex != from && vertex != to && self.forest.position_in(vertex, block).is_some())
        };
        vertices().any(|&vertex| is_inside(vertex))
    }

    /// Chance that a block does not join two of its vertices that are up.
    fn join(&mut self, passage: [u32; 3]) -> Option<f64> {
        if let Some(&known) = self.joins.get(&passage) {
            return known;
        }
        let [block, from, to] = passage;
        let inside = match self.insides.remove(&block) {
            Some(inside) => inside,
            None => self.inside(block),
        };
        let place = |vertex: u32| self.forest.position_in(vertex, block).map(|at| at as u32);
        let is_own = inside.not_own.iter().all(|&vertex| vertex == from || vertex == to);
        let down = if is_own { place(from).zip(place(to)).and_then(|(from, to)| inside.skeleton.down([from, to])) } else { None };
        self.insides.insert(block, inside);
        self.joins.insert(passage, down);
        down
    }

    fn inside(&self, block: u32) -> Inside {
        let (graph, vertices) = self.forest.alone(&self.survival.graph, block);
        let own_box = |&vertex: &u32| box_of_vertex(&self.boxes, vertex);
        let weight: Vec<f64> = vertices.iter().map(|vertex| own_box(vertex).map_or(0.0, |at| self.weight[at as usize])).collect();
        let is_not_own = |vertex: &u32| {
            own_box(vertex).is_some_and(|at| {
                let is_powered = self.giver[at as usize] != NONE;
                is_powered || (self.weight[at as usize] > 0.0 && self.survival.things.vertices_of_box(at).len() > 1)
            })
        };
        Inside { skeleton: Skeleton::new(&graph, &weight), not_own: vertices.iter().copied().filter(is_not_own).collect() }
    }
}
