//! The route graph: places joined by ways a cable can lie, and the shortest way through it.

use indexmap::IndexSet;
use loomwright_model::plan::Position;
use loomwright_model::{Id, Item, Medium, Plan};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// One route of the plan as an edge between two places.
#[derive(Debug, Clone)]
pub struct Edge {
    /// Its name in the plan.
    pub route: Id,
    /// The places it joins, by the plan's order.
    pub ends: [usize; 2],
    /// Millimetres.
    pub length: u64,
    copper: bool,
    fibre: bool,
    /// What goes with it: itself and the hazards it shares, numbered through the plan.
    pub risks: BTreeSet<usize>,
}

impl Edge {
    /// Whether a cable of `medium` may lie in it.
    pub fn takes(&self, medium: Medium) -> bool {
        match medium {
            Medium::Copper => self.copper,
            _ => self.fibre,
        }
    }

    /// The place at the other end.
    pub fn beyond(&self, place: usize) -> usize {
        if self.ends[0] == place { self.ends[1] } else { self.ends[0] }
    }
}

/// A way from one place to another: routes in order, as indexes into [`Ways::edges`].
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Way {
    /// Indexes into [`Ways::edges`].
    pub edges: Vec<usize>,
    /// Millimetres along the routes, without slack.
    pub length: u64,
}

/// The graph.
#[derive(Debug, Clone, Default)]
pub struct Ways {
    /// Every route whose two places the plan knows, in the plan's order.
    pub edges: Vec<Edge>,
    at: Vec<Vec<usize>>,
    /// Where each place is, if the plan says.
    positions: Vec<Option<Position>>,
    /// Routes of the plan: risks from here on are hazards.
    routes: usize,
    hazards: Vec<Id>,
}

impl Ways {
    /// Reads the routes of `plan`. A route that names no medium takes copper and fibre.
    pub fn new(plan: &Plan) -> Self {
        let mut ways = Self {
            at: vec![Vec::new(); plan.places.len()],
            positions: plan.places.values().map(|place| place.at).collect(),
            routes: plan.routes.len(),
            ..Self::default()
        };
        let mut hazards: IndexSet<&Id> = IndexSet::new();
        for (number, (id, route)) in plan.routes.iter().enumerate() {
            let ends = route.between.each_ref().map(|place| plan.places.get_index_of(place));
            let [Some(from), Some(to)] = ends else { continue };
            let mut risks = BTreeSet::from([number]);
            for hazard in &route.shares {
                risks.insert(ways.routes + hazards.insert_full(hazard).0);
            }
            let takes = |medium| route.takes.is_empty() || route.takes.contains(&medium);
            let edge = ways.edges.len();
            ways.edges.push(Edge {
                route: id.clone(),
                ends: [from, to],
                length: route.length.millimetres(),
                copper: takes(Medium::Copper),
                fibre: takes(Medium::Fibre),
                risks,
            });
            ways.at[from].push(edge);
            if from != to {
                ways.at[to].push(edge);
            }
        }
        ways.hazards = hazards.into_iter().cloned().collect();
        ways
    }

    /// The route or hazard that a risk stands for.
    pub fn item_of(&self, risk: usize) -> Option<Item> {
        let route = || self.edges.iter().find(|edge| edge.risks.contains(&risk)).map(|edge| Item::Route(edge.route.clone()));
        self.hazard(risk).map(|hazard| Item::Hazard(hazard.clone())).or_else(route)
    }

    /// How many places there are.
    pub fn places(&self) -> usize {
        self.at.len()
    }

    /// Whether a risk is a hazard, and not a route itself.
    pub fn is_hazard(&self, risk: usize) -> bool {
        risk >= self.routes
    }

    /// The hazard that a risk stands for; `None` for a route or one that no route shares.
    pub fn hazard(&self, risk: usize) -> Option<&Id> {
        self.hazards.get(risk.checked_sub(self.routes)?)
    }

    /// Edges that touch `place`.
    pub fn at(&self, place: usize) -> &[usize] {
        &self.at[place]
    }

    /// How far every place is from `from` along routes that take `medium`, in millimetres.
    pub fn distances(&self, medium: Medium, from: usize) -> Vec<Option<u64>> {
        self.search(from, &|edge| self.edges[edge].takes(medium).then(|| self.edges[edge].length)).0
    }

    /// How far every place is from `from` along any route.
    pub fn distances_any(&self, from: usize) -> Vec<Option<u64>> {
        self.search(from, &|edge| Some(self.edges[edge].length)).0
    }

    /// The cheapest way from `from` to `to`; `cost` says what an edge costs, `None` forbids it.
    pub fn cheapest(&self, from: usize, to: usize, cost: &dyn Fn(usize) -> Option<u64>) -> Option<Way> {
        let (_, through) = self.search(from, cost);
        let mut edges = Vec::new();
        let mut place = to;
        while place != from {
            let edge = through[place]?;
            edges.push(edge);
            place = self.edges[edge].beyond(place);
        }
        edges.reverse();
        Some(self.way(edges))
    }

    /// The shortest way for a cable of `medium`.
    pub fn shortest(&self, medium: Medium, from: usize, to: usize) -> Option<Way> {
        self.cheapest(from, to, &|edge| self.edges[edge].takes(medium).then(|| self.edges[edge].length))
    }

    /// The shortest way for `medium` that meets as few of `risks` as it can; length decides between equals.
    pub fn avoiding(&self, medium: Medium, [from, to]: [usize; 2], risks: &BTreeSet<usize>) -> Option<Way> {
        self.cheapest(from, to, &|edge| {
            let edge = &self.edges[edge];
            let met = edge.risks.intersection(risks).count() as u64;
            edge.takes(medium).then(|| edge.length.saturating_add(met.saturating_mul(FAR)))
        })
    }

    /// How far two places are from each other as the crow flies, in millimetres, rounded down; `None` where the plan
    /// does not say where they are. No route between them can be shorter.
    pub fn straight(&self, [from, to]: [usize; 2]) -> Option<u64> {
        let (from, to) = ((*self.positions.get(from)?)?, (*self.positions.get(to)?)?);
        let square = |one: i64, two: i64| u128::from(one.abs_diff(two)).pow(2);
        let sum = square(from.x, to.x).saturating_add(square(from.y, to.y)).saturating_add(square(from.z, to.z));
        u64::try_from(sum.isqrt()).ok()
    }

    /// The same with one route more, which takes any medium and shares nothing.
    #[must_use]
    pub fn with_route(&self, name: &Id, ends: [usize; 2], length: u64) -> Self {
        let mut more = self.clone();
        let edge = more.edges.len();
        more.edges.push(Edge { route: name.clone(), ends, length, copper: true, fibre: true, risks: BTreeSet::new() });
        ends.iter().for_each(|place| more.at[*place].push(edge));
        more
    }

    /// Joins edges to a way.
    pub fn way(&self, edges: Vec<usize>) -> Way {
        let length = edges.iter().fold(0u64, |sum, edge| sum.saturating_add(self.edges[*edge].length));
        Way { edges, length }
    }

    /// Everything that takes a cable on `way` with it.
    pub fn risks(&self, way: &Way) -> BTreeSet<usize> {
        way.edges.iter().flat_map(|edge| self.edges[*edge].risks.iter().copied()).collect()
    }

    /// The names of a way's routes, in order.
    pub fn names(&self, way: &Way) -> Vec<Id> {
        way.edges.iter().map(|edge| self.edges[*edge].route.clone()).collect()
    }

    /// Dijkstra's search: cost of each place and the edge it was reached by. O(E log V).
    fn search(&self, from: usize, cost: &dyn Fn(usize) -> Option<u64>) -> (Vec<Option<u64>>, Vec<Option<usize>>) {
        let mut best: Vec<Option<u64>> = vec![None; self.at.len()];
        let mut through = vec![None; self.at.len()];
        let mut queue = BinaryHeap::from([Reverse((0u64, from))]);
        best[from] = Some(0);
        while let Some(Reverse((so_far, place))) = queue.pop() {
            if best[place].is_some_and(|known| known < so_far) {
                continue;
            }
            for edge in &self.at[place] {
                let (Some(step), next) = (cost(*edge), self.edges[*edge].beyond(place)) else { continue };
                let total = so_far.saturating_add(step);
                if best[next].is_none_or(|known| total < known) {
                    best[next] = Some(total);
                    through[next] = Some(*edge);
                    queue.push(Reverse((total, next)));
                }
            }
        }
        (best, through)
    }
}

/// More than any way is long, in millimetres (a million kilometres): what meeting one risk costs in a search.
const FAR: u64 = 1_000_000_000_000;
