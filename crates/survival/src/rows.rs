//! Pairs of vertices inside one block that part what neither parts alone, counted for everything that passes through the
//! block at once.
//!
//! One vertex is taken out. What is left of the block is a tree of smaller blocks; a passage from entry to exit goes
//! along it, and every vertex between two blocks that it meets would part it. Passages are not walked: each adds one at
//! its two ends and takes two off where their ways up the tree meet, and one sum from the leaves to the root gives all
//! counts. In a plain ring nothing is searched at all ([`Ring`]).
//!
//! **Source**: counting on trees by differences, and skip pointers for the place where two ways meet (both from memory).

use crate::blocks::Forest;
use crate::graph::{Graph, NONE};
use crate::ring::{Passage, Ring};

/// One block with a cycle, and who passes through it.
#[derive(Debug, Clone)]
pub(crate) struct Rows {
    /// The block alone, its vertices numbered by position.
    graph: Graph,
    vertices: Vec<u32>,
    /// Entry and exit by position, and how many pass so.
    passages: Vec<Passage>,
    /// The block as a ring, if it is one.
    ring: Option<Ring>,
}

/// The tree of what is left.
struct Tree<'a> {
    forest: &'a Forest,
    parent: Vec<u32>,
    /// A vertex further up; climbing by these takes few steps.
    skip: Vec<u32>,
}

impl Rows {
    /// `passages` are pairs of entry and exit, by vertex.
    pub(crate) fn new((graph, forest): (&Graph, &Forest), block: u32, passages: &[[u32; 2]]) -> Self {
        let (graph, vertices) = forest.alone(graph, block);
        let place = |vertex: u32| forest.position_in(vertex, block).map(|at| at as u32);
        let known = passages.iter().filter_map(|[from, to]| Some([place(*from)?, place(*to)?]));
        let mut known: Vec<[u32; 2]> = known.map(|[from, to]| [from.min(to), from.max(to)]).collect();
        known.sort_unstable();
        let passages: Vec<Passage> = known.chunk_by(|one, two| one == two).map(|alike| (alike[0], alike.len() as u32)).collect();
        Self { ring: Ring::of(&graph, &passages), graph, vertices, passages }
    }

    /// The ring that the block is.
    pub(crate) fn ring(&self) -> Option<&Ring> {
        self.ring.as_ref()
    }

    /// The same, to add to it.
    pub(crate) fn ring_mut(&mut self) -> Option<&mut Ring> {
        self.ring.as_mut()
    }

    /// How many passages each other vertex parts once those at positions `lost` are gone, and neither does alone;
    /// several only in a ring. O(block + passages), times log block where it is no ring.
    pub(crate) fn count(&self, lost: &[usize]) -> Vec<(u32, u32)> {
        match (&self.ring, lost) {
            (Some(ring), _) => self.vertices.iter().copied().zip(ring.count(lost)).filter(|(_, count)| *count > 0).collect(),
            (None, [first]) => self.search(*first),
            (None, _) => Vec::new(),
        }
    }

    fn search(&self, first: usize) -> Vec<(u32, u32)> {
        let mut gone = vec![false; self.vertices.len()];
        gone[first] = true;
        let forest = Forest::new(&self.graph, &gone);
        let tree = Tree::new(&forest);
        let mut sums = vec![0i64; self.vertices.len()];
        let mut own = vec![0i64; self.vertices.len()];
        for &([from, to], weight) in self.passages.iter().filter(|(ends, _)| !ends.contains(&(first as u32))) {
            let weight = i64::from(weight);
            let (meet, is_between) = tree.meet(from, to);
            sums[from as usize] += weight;
            sums[to as usize] += weight;
            sums[meet as usize] -= 2 * weight;
            for end in [from, to] {
                own[end as usize] -= if end == meet { 0 } else { weight };
            }
            own[meet as usize] += if is_between { weight } else { 0 };
        }
        for &vertex in forest.order.iter().rev() {
            let parent = tree.parent[vertex as usize];
            if parent != NONE {
                sums[parent as usize] += sums[vertex as usize];
            }
        }
        let counts = sums.iter().zip(&own).map(|(sum, own)| sum + own);
        self.vertices.iter().zip(counts).filter(|(_, count)| *count > 0).map(|(&vertex, count)| (vertex, count as u32)).collect()
    }
}

impl<'a> Tree<'a> {
    fn new(forest: &'a Forest) -> Self {
        let count = forest.block.len();
        let mut tree = Self { forest, parent: vec![NONE; count], skip: (0..count as u32).collect() };
        for &vertex in &forest.order {
            let block = forest.block[vertex as usize];
            if block == NONE {
                continue;
            }
            let up = forest.top[block as usize];
            let (once, twice) = (tree.skip[up as usize], tree.skip[tree.skip[up as usize] as usize]);
            let depth = |vertex: u32| forest.depth[vertex as usize];
            let is_even = depth(up) - depth(once) == depth(once) - depth(twice);
            tree.parent[vertex as usize] = up;
            tree.skip[vertex as usize] = if is_even { twice } else { up };
        }
        tree
    }

    /// Where the ways up from two vertices meet, and whether that vertex lies between two blocks on the way from the one to
    /// the other. Both hang together: a block without one of its vertices does.
    fn meet(&self, from: u32, to: u32) -> (u32, bool) {
        let depth = |vertex: u32| self.forest.depth[vertex as usize];
        let (mut low, mut high) = if depth(from) >= depth(to) { (from, to) } else { (to, from) };
        while depth(low) > depth(high) {
            let skip = self.skip[low as usize];
            low = if depth(skip) >= depth(high) { skip } else { self.parent[low as usize] };
        }
        if low == high {
            return (low, false);
        }
        while self.parent[low as usize] != self.parent[high as usize] {
            let (one, two) = (self.skip[low as usize], self.skip[high as usize]);
            (low, high) = if one == two { (self.parent[low as usize], self.parent[high as usize]) } else { (one, two) };
        }
        let is_one_block = self.forest.block[low as usize] == self.forest.block[high as usize];
        (self.parent[low as usize], !is_one_block)
    }
}
