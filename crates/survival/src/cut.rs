//! Which failures cut which demands, for every failure at once.
//!
//! A failure takes a set of vertices. It parts two vertices if one of its own lies between them, or if two
//! of its own lie in one block with a cycle and part that block together. The first is read off the
//! block-cut forest; the second needs a search, but only of that block.

use crate::blocks::{Forest, Step};
use crate::demand::Leg;
use crate::graph::{Graph, Lists, NONE};

/// A failure with two or more vertices in one block, and the parts it leaves of it.
struct Joint {
    failure: u32,
    /// Part of each vertex, by position in the block; [`NONE`] if gone.
    part: Vec<u32>,
}

/// Reads off cuts.
pub(crate) struct Cutter<'a> {
    pub(crate) forest: &'a Forest,
    /// Failures that take each vertex.
    at_vertex: &'a Lists,
    /// Joint failures of each block, by block.
    joint_start: Vec<u32>,
    joints: Vec<Joint>,
}

/// Scratch for one demand after the other.
pub(crate) struct Tally {
    /// By failure: the last leg counted, and legs of the demand cut so far.
    marks: Vec<(u32, u32)>,
    leg: u32,
    /// First leg of the demand.
    first_leg: u32,
    /// Failures that cut at least one leg of the demand.
    pub(crate) touched: Vec<u32>,
}

impl Tally {
    pub(crate) fn new(failures: usize) -> Self {
        Self { marks: vec![(0, 0); failures], leg: 0, first_leg: 1, touched: Vec::new() }
    }

    /// How many legs of the demand `failure` cuts.
    pub(crate) fn legs_cut(&self, failure: u32) -> u32 {
        self.marks[failure as usize].1
    }

    fn begin_demand(&mut self) {
        self.touched.clear();
        if self.leg > u32::MAX / 2 {
            (self.leg, self.marks) = (0, vec![(0, 0); self.marks.len()]);
        }
        self.first_leg = self.leg + 1;
    }

    fn cut(&mut self, failure: u32) {
        let (leg, count) = &mut self.marks[failure as usize];
        if *leg < self.first_leg {
            (*leg, *count) = (self.leg, 1);
            self.touched.push(failure);
        } else if *leg != self.leg {
            *leg = self.leg;
            *count += 1;
        }
    }
}

impl<'a> Cutter<'a> {
    /// `members` lists the vertices of each failure, `at_vertex` the failures of each vertex.
    pub(crate) fn new((graph, forest): (&Graph, &'a Forest), members: &Lists, at_vertex: &'a Lists) -> Self {
        let mut found: Vec<(u32, Joint)> = Vec::new();
        let mut mark = vec![NONE; graph.len()];
        for failure in (0..members.len() as u32).filter(|&failure| members.of(failure).len() > 1) {
            for &vertex in members.of(failure) {
                mark[vertex as usize] = failure;
            }
            for block in shared_blocks(forest, members.of(failure), |vertex| mark[vertex as usize] == failure) {
                let part = parts(graph, forest, block, |vertex| mark[vertex as usize] == failure);
                found.push((block, Joint { failure, part }));
            }
        }
        found.sort_by_key(|(block, joint)| (*block, joint.failure));
        let keys: Vec<(u32, u32)> = found.iter().map(|(block, _)| (*block, 0)).collect();
        let joint_start = Lists::group(forest.top.len(), &keys).start;
        Self { forest, at_vertex, joint_start, joints: found.into_iter().map(|(_, joint)| joint).collect() }
    }

    /// One that knows no joint failures: a stand-in.
    pub(crate) fn none(forest: &'a Forest, at_vertex: &'a Lists) -> Self {
        Self { forest, at_vertex, joint_start: vec![0; forest.top.len() + 1], joints: Vec::new() }
    }

    /// Fills `tally` with the failures that cut legs; gives how many legs stand without any of them. Legs
    /// through a vertex that `is_lost` stand no more.
    pub(crate) fn cut(&self, legs: &[Leg], tally: &mut Tally, is_lost: Option<&[bool]>) -> u32 {
        tally.begin_demand();
        let mut standing = 0;
        for leg in legs {
            let [from, to] = leg.ends;
            let component = self.forest.component[from as usize];
            let stands = component != NONE && component == self.forest.component[to as usize];
            if !stands || is_lost.is_some_and(|gone| self.meets(leg, gone)) {
                continue;
            }
            standing += 1;
            tally.leg += 1;
            self.forest.walk(from, to, |step| match step {
                Step::Cut(vertex) => self.at_vertex.of(vertex).iter().for_each(|&failure| tally.cut(failure)),
                Step::Through { block, from, to } if !self.joints.is_empty() => self.cut_block(block, [from, to], tally),
                Step::Through { .. } => {}
            });
        }
        standing
    }

    /// Whether a vertex that is gone lies between the ends of a leg.
    fn meets(&self, leg: &Leg, gone: &[bool]) -> bool {
        let mut meets = false;
        self.forest.walk(leg.ends[0], leg.ends[1], |step| meets |= matches!(step, Step::Cut(vertex) if gone[vertex as usize]));
        meets
    }

    fn cut_block(&self, block: u32, [from, to]: [u32; 2], tally: &mut Tally) {
        let (start, end) = (self.joint_start[block as usize], self.joint_start[block as usize + 1]);
        if start == end {
            return;
        }
        let (Some(from), Some(to)) = (self.forest.position_in(from, block), self.forest.position_in(to, block)) else { return };
        for joint in &self.joints[start as usize..end as usize] {
            if joint.part[from] == NONE || joint.part[from] != joint.part[to] {
                tally.cut(joint.failure);
            }
        }
    }
}

/// Blocks with a cycle that hold two or more of `members`, each once, in order.
fn shared_blocks(forest: &Forest, members: &[u32], is_member: impl Fn(u32) -> bool) -> Vec<u32> {
    let below = members.iter().map(|&vertex| forest.block[vertex as usize]);
    let mut blocks: Vec<u32> = below.filter(|&block| block != NONE && forest.has_cycle(block)).collect();
    blocks.sort_unstable();
    let runs = blocks.chunk_by(|one, two| one == two);
    runs.filter(|run| run.len() > 1 || is_member(forest.top[run[0] as usize])).map(|run| run[0]).collect()
}

/// Parts of `block` without the vertices that `is_gone`, by position in the block.
fn parts(graph: &Graph, forest: &Forest, block: u32, is_gone: impl Fn(u32) -> bool) -> Vec<u32> {
    let vertices: Vec<u32> = forest.below_top(block).iter().copied().chain([forest.top[block as usize]]).collect();
    let mut part = vec![NONE; vertices.len()];
    let mut stack = Vec::new();
    for root in 0..vertices.len() {
        if part[root] != NONE || is_gone(vertices[root]) {
            continue;
        }
        part[root] = root as u32;
        stack.push(vertices[root]);
        while let Some(vertex) = stack.pop() {
            for &next in graph.next_to(vertex) {
                let Some(position) = forest.position_in(next, block) else { continue };
                if part[position] == NONE && !is_gone(next) {
                    part[position] = root as u32;
                    stack.push(next);
                }
            }
        }
    }
    part
}
