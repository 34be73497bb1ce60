//! The block-cut forest: which single vertices part which others.
//!
//! A block is a largest part that no single vertex parts; a bridge is a block of two. Each vertex but the
//! root of its component lies below the top of exactly one block. Going up from block top to block top, two
//! vertices meet, and the tops passed are exactly the vertices that part them.
//!
//! **Source**: Hopcroft and Tarjan 1973, low-link depth-first search (from memory), made iterative.

use crate::graph::{Graph, NONE};

/// The block-cut forest of a graph without the vertices that are gone.
#[derive(Debug, Clone, Default)]
pub(crate) struct Forest {
    /// Component of each vertex; [`NONE`] if gone.
    pub(crate) component: Vec<u32>,
    /// The block each vertex lies in below its top; [`NONE`] for roots.
    pub(crate) block: Vec<u32>,
    /// Steps up to the root.
    pub(crate) depth: Vec<u32>,
    /// Vertices in the order in which the search came to them: tops before what hangs below.
    pub(crate) order: Vec<u32>,
    /// The vertex that each block hangs on.
    pub(crate) top: Vec<u32>,
    /// Vertices below the top, block by block.
    member: Vec<u32>,
    member_start: Vec<u32>,
    /// Position of each vertex within its block.
    position: Vec<u32>,
    /// What a walk reads at each vertex, side by side: one look into memory for each step.
    up: Vec<Up>,
}

/// The way up from one vertex.
#[derive(Debug, Clone, Copy)]
struct Up {
    depth: u32,
    block: u32,
    top: u32,
}

/// What one meets on the way from one vertex to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    /// A vertex whose loss parts them; first the two themselves.
    Cut(u32),
    /// A block, entered and left at two of its vertices.
    Through { block: u32, from: u32, to: u32 },
}

struct Search<'a> {
    graph: &'a Graph,
    gone: &'a [bool],
    number: Vec<u32>,
    low: Vec<u32>,
    parent: Vec<u32>,
    next: Vec<u32>,
    /// Vertices whose block is not closed yet.
    open: Vec<u32>,
    order: Vec<u32>,
}

impl Forest {
    /// Searches the graph once. O(vertices + edges).
    pub(crate) fn new(graph: &Graph, gone: &[bool]) -> Self {
        let count = graph.len();
        let mut search = Search {
            graph,
            gone,
            number: vec![0; count],
            low: vec![0; count],
            parent: vec![NONE; count],
            next: (0..count as u32).map(|vertex| graph.span(vertex).0).collect(),
            open: Vec::new(),
            order: Vec::with_capacity(count),
        };
        let mut forest = Self {
            component: vec![NONE; count],
            block: vec![NONE; count],
            depth: vec![0; count],
            position: vec![0; count],
            member_start: vec![0],
            ..Self::default()
        };
        for root in 0..count as u32 {
            if !gone[root as usize] && search.number[root as usize] == 0 {
                search.grow(root, &mut forest);
            }
        }
        for &vertex in &search.order {
            let block = forest.block[vertex as usize];
            if block != NONE {
                forest.depth[vertex as usize] = forest.depth[forest.top[block as usize] as usize] + 1;
            }
        }
        forest.order = search.order;
        let ups = forest.block.iter().zip(&forest.depth);
        forest.up = ups.map(|(&block, &depth)| Up { depth, block, top: forest.top.get(block as usize).map_or(NONE, |top| *top) }).collect();
        forest
    }

    /// Closes a block below `top`: everything open from `last` on.
    fn close(&mut self, top: u32, last: u32, open: &mut Vec<u32>) {
        let block = self.top.len() as u32;
        self.top.push(top);
        while let Some(vertex) = open.pop() {
            self.block[vertex as usize] = block;
            self.position[vertex as usize] = self.member.len() as u32 - self.member_start[block as usize];
            self.member.push(vertex);
            if vertex == last {
                break;
            }
        }
        self.member_start.push(self.member.len() as u32);
    }

    /// Vertices of `block` below its top.
    pub(crate) fn below_top(&self, block: u32) -> &[u32] {
        &self.member[self.member_start[block as usize] as usize..self.member_start[block as usize + 1] as usize]
    }

    /// Whether `block` is more than one bridge: only there can two losses part what neither parts alone.
    pub(crate) fn has_cycle(&self, block: u32) -> bool {
        self.below_top(block).len() > 1
    }

    /// Position of `vertex` in `block`, the top last; `None` if it is not in it.
    pub(crate) fn position_in(&self, vertex: u32, block: u32) -> Option<usize> {
        if self.block[vertex as usize] == block {
            return Some(self.position[vertex as usize] as usize);
        }
        (self.top[block as usize] == vertex).then(|| self.below_top(block).len())
    }

    /// A block as a graph of its own, and its vertices: they are numbered by position, the top last.
    pub(crate) fn alone(&self, graph: &Graph, block: u32) -> (Graph, Vec<u32>) {
        let vertices: Vec<u32> = self.below_top(block).iter().copied().chain([self.top[block as usize]]).collect();
        let mut edges = Vec::new();
        for (at, &vertex) in (0u32..).zip(&vertices) {
            let next = graph.next_to(vertex).iter().filter_map(|&next| self.position_in(next, block));
            edges.extend(next.map(|next| (at, next as u32)).filter(|(at, next)| at < next));
        }
        (Graph::from_edges(vertices.len(), &edges), vertices)
    }

    /// Which vertices part others: those that lie in two blocks or more.
    pub(crate) fn cuts(&self) -> Vec<bool> {
        let mut blocks: Vec<u32> = self.block.iter().map(|block| u32::from(*block != NONE)).collect();
        self.top.iter().for_each(|top| blocks[*top as usize] += 1);
        blocks.into_iter().map(|blocks| blocks > 1).collect()
    }

    /// Tells every step from `from` to `to`, which must lie in one component. O(steps).
    pub(crate) fn walk(&self, from: u32, to: u32, mut tell: impl FnMut(Step)) {
        let (mut low, mut high) = (from, to);
        tell(Step::Cut(low));
        if low == high {
            return;
        }
        tell(Step::Cut(high));
        let (mut below, mut above) = (self.up[low as usize], self.up[high as usize]);
        loop {
            if below.depth < above.depth {
                std::mem::swap(&mut low, &mut high);
                std::mem::swap(&mut below, &mut above);
            }
            let Up { block, top, .. } = below;
            if block == NONE {
                return;
            }
            if block == above.block {
                return tell(Step::Through { block, from: low, to: high });
            }
            tell(Step::Through { block, from: low, to: top });
            low = top;
            if low == high {
                return;
            }
            tell(Step::Cut(low));
            below = self.up[low as usize];
        }
    }
}

impl Search<'_> {
    /// Searches everything that hangs together with `root`.
    fn grow(&mut self, root: u32, forest: &mut Forest) {
        self.enter(root, root, forest);
        let mut at = root;
        loop {
            if self.next[at as usize] < self.graph.span(at).1 {
                at = self.look(at, root, forest);
                continue;
            }
            let parent = self.parent[at as usize];
            if parent == NONE {
                self.open.clear();
                return;
            }
            self.low[parent as usize] = self.low[parent as usize].min(self.low[at as usize]);
            if self.low[at as usize] >= self.number[parent as usize] {
                forest.close(parent, at, &mut self.open);
            }
            at = parent;
        }
    }

    /// Looks along the next edge of `at`; gives the vertex to go on from.
    fn look(&mut self, at: u32, root: u32, forest: &mut Forest) -> u32 {
        let to = self.graph.at(self.next[at as usize]);
        self.next[at as usize] += 1;
        if self.gone[to as usize] || to == self.parent[at as usize] {
            return at;
        }
        if self.number[to as usize] == 0 {
            self.parent[to as usize] = at;
            self.enter(to, root, forest);
            return to;
        }
        self.low[at as usize] = self.low[at as usize].min(self.number[to as usize]);
        at
    }

    fn enter(&mut self, vertex: u32, root: u32, forest: &mut Forest) {
        self.order.push(vertex);
        self.open.push(vertex);
        self.number[vertex as usize] = self.order.len() as u32;
        self.low[vertex as usize] = self.order.len() as u32;
        forest.component[vertex as usize] = root;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    /// Places, then routes, as in the graph of failures; and the routes.
    fn subdivided(case: &Value) -> (Graph, usize, Vec<[u64; 2]>) {
        let places = case["nodes"].as_u64().expect("a count") as usize;
        let edges = case["edges"].as_array().expect("edges");
        let ends: Vec<[u64; 2]> = edges.iter().map(|edge| [0, 1].map(|end| edge[end].as_u64().expect("a place"))).collect();
        let halves = ends.iter().enumerate().flat_map(|(at, ends)| ends.map(|end| (end as u32, (places + at) as u32)));
        (Graph::from_edges(places + ends.len(), &halves.collect::<Vec<_>>()), places, ends)
    }

    fn numbers(value: &Value) -> Vec<u64> {
        value.as_array().expect("numbers").iter().map(|number| number.as_u64().expect("a number")).collect()
    }

    /// Cut vertices, bridges, and pairs of routes that part the network together, of 16 real networks.
    #[test]
    fn cuts_of_real_networks_agree() {
        let whole: Value = serde_json::from_str(include_str!("../../../checks/graph/cuts.json")).expect("a file of cases");
        let cases = whole["cases"].as_array().expect("cases");
        let mut with_pairs = 0;
        for case in cases {
            let (graph, places, ends) = subdivided(case);
            let without = |route: Option<usize>| {
                let mut gone = vec![false; graph.len()];
                route.into_iter().for_each(|route| gone[places + route] = true);
                Forest::new(&graph, &gone).cuts()
            };
            let cuts = without(None);
            let points: Vec<u64> = (0..places as u64).filter(|place| cuts[*place as usize]).collect();
            assert_eq!(points, numbers(&case["articulation_points"]), "{}", case["name"]);
            let bridges: Vec<usize> = (0..ends.len()).filter(|route| cuts[places + route]).collect();
            let mut named: Vec<Vec<u64>> = bridges.iter().map(|route| ends[*route].to_vec()).collect();
            named.iter_mut().for_each(|ends| ends.sort_unstable());
            named.sort();
            let expected: Vec<Vec<u64>> = case["bridges"].as_array().expect("bridges").iter().map(numbers).collect();
            assert_eq!(named, expected, "{}", case["name"]);
            let Some(expected) = case["edge_pairs_that_disconnect"].as_u64() else { continue };
            let parts = |one: usize| {
                let after = without(Some(one));
                (one + 1..ends.len()).filter(|two| bridges.contains(&one) || after[places + two]).count() as u64
            };
            assert_eq!((0..ends.len()).map(parts).sum::<u64>(), expected, "{}", case["name"]);
            with_pairs += 1;
        }
        assert_eq!((cases.len(), with_pairs), (16, 14));
    }
}
