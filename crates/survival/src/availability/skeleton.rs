//! The chance that a block joins two of its vertices, in numbers alone.
//!
//! A block is told as branches, which have three neighbours or more in it, and segments, the runs of vertices between
//! them. A run is up with the product of its vertices, read off as a difference of sums of logarithms. Entry and exit cut
//! the segments that they lie on; then segments beside each other are made one, and so are two with a vertex of two
//! neighbours between them. Rings, rings of rings, ladders of two rungs, chains beside each other: of all that is series
//! and parallel only one line from entry to exit is left. What is left of anything else goes through the frontier.
//!
//! **Source**: series and parallel reductions of network reliability (from memory), failing vertices taken in with the
//! series. Checked against 13 polynomials and against functions of boxes.

use super::connect::{Puzzle, down_chance};
use crate::graph::{Graph, NONE};

/// Most frontier states of what is left. Own choice: some milliseconds for one pair of entry and exit.
const MOST_STATES: usize = 20_000;

/// A run of vertices between two branches.
#[derive(Debug, Clone)]
struct Segment {
    ends: [u32; 2],
    /// Entry `n`: sum of the weights of the first `n` vertices. A weight is minus the logarithm of the chance to be up.
    sums: Vec<f64>,
}

/// Where a vertex lies.
#[derive(Debug, Clone, Copy)]
enum Place {
    Branch(u32),
    /// On a segment, counted from 1.
    On {
        segment: u32,
        at: u32,
    },
}

/// A block, told as branches and segments.
#[derive(Debug, Clone)]
pub(crate) struct Skeleton {
    place: Vec<Place>,
    branch_weight: Vec<f64>,
    segments: Vec<Segment>,
}

/// Lines between nodes, each with its chance of being down; at most one between two nodes.
struct Lines {
    next_to: Vec<Vec<(u32, f64)>>,
    weight: Vec<f64>,
    ends: [u32; 2],
}

impl Skeleton {
    /// Of a graph without cut vertices; `weight` of each vertex. O(vertices + edges).
    pub(crate) fn new(graph: &Graph, weight: &[f64]) -> Self {
        let count = graph.len() as u32;
        let mut branches: Vec<u32> = (0..count).filter(|&vertex| graph.next_to(vertex).len() != 2).collect();
        if branches.is_empty() && count > 0 {
            // A plain ring: opened anywhere.
            branches.push(0);
        }
        let mut place = vec![None; count as usize];
        for (&vertex, number) in branches.iter().zip(0u32..) {
            place[vertex as usize] = Some(Place::Branch(number));
        }
        let mut segments: Vec<Segment> = Vec::new();
        for (&start, number) in branches.iter().zip(0u32..) {
            for &first in graph.next_to(start) {
                let (mut before, mut at) = (start, first);
                let mut sums = vec![0.0];
                while place[at as usize].is_none() {
                    place[at as usize] = Some(Place::On { segment: segments.len() as u32, at: sums.len() as u32 });
                    sums.push(sums[sums.len() - 1] + weight[at as usize]);
                    let next = graph.next_to(at).iter().copied().find(|next| *next != before);
                    (before, at) = (at, next.unwrap_or(before));
                }
                match place[at as usize] {
                    // From its other end, a run is already placed; a line without vertices is told from the lower end.
                    Some(Place::Branch(end)) if sums.len() > 1 || number < end => segments.push(Segment { ends: [number, end], sums }),
                    _ => {}
                }
            }
        }
        let branch_weight = branches.iter().map(|&vertex| weight[vertex as usize]).collect();
        Self { place: place.into_iter().map(|place| place.unwrap_or(Place::Branch(NONE))).collect(), branch_weight, segments }
    }

    /// Chance that two vertices, both up, are not joined; `None` where too much is left after all reductions.
    pub(crate) fn down(&self, [from, to]: [u32; 2]) -> Option<f64> {
        let branches = self.branch_weight.len() as u32;
        let number = |vertex: u32, own: u32| match self.place[vertex as usize] {
            Place::Branch(branch) => branch,
            Place::On { .. } => own,
        };
        let ends = [number(from, branches), number(to, branches + 1)];
        let mut weight = self.branch_weight.clone();
        weight.extend([0.0; 2]);
        let mut lines = Lines { next_to: vec![Vec::new(); weight.len()], weight, ends };
        let marks = || [(from, ends[0]), (to, ends[1])].into_iter();
        for (segment, at) in self.segments.iter().zip(0u32..) {
            let on = marks().filter_map(|(vertex, end)| match self.place[vertex as usize] {
                Place::On { segment, at: position } if segment == at => Some((position as usize, end)),
                _ => None,
            });
            let mut on: Vec<(usize, u32)> = on.collect();
            on.sort_unstable();
            lines.add_segment(segment, &on);
        }
        lines.reduce();
        lines.down()
    }
}

impl Lines {
    /// A segment, cut at the positions of nodes that lie on it.
    fn add_segment(&mut self, segment: &Segment, on: &[(usize, u32)]) {
        let (mut start, mut node) = (0, segment.ends[0]);
        let last = (segment.sums.len(), segment.ends[1]);
        for &(position, next) in on.iter().chain([&last]) {
            let weight = segment.sums[position - 1] - segment.sums[start];
            self.add(node, next, -(-weight).exp_m1());
            (start, node) = (position, next);
        }
    }

    /// A line; beside another it is needed only while that is down.
    fn add(&mut self, one: u32, two: u32, down: f64) {
        if one == two {
            return;
        }
        for (here, there) in [(one, two), (two, one)] {
            let known = &mut self.next_to[here as usize];
            match known.iter_mut().find(|(other, _)| *other == there) {
                Some((_, both)) => *both *= down,
                None => known.push((there, down)),
            }
        }
    }

    /// Takes out every node but the ends that has two neighbours or fewer.
    fn reduce(&mut self) {
        let mut todo: Vec<u32> = (0..self.next_to.len() as u32).collect();
        while let Some(node) = todo.pop() {
            if self.ends.contains(&node) || self.next_to[node as usize].len() > 2 {
                continue;
            }
            let near = std::mem::take(&mut self.next_to[node as usize]);
            for (other, _) in &near {
                self.next_to[*other as usize].retain(|(back, _)| *back != node);
                todo.push(*other);
            }
            if let [(one, one_down), (two, two_down)] = near[..] {
                let weight = self.weight[node as usize] - (-one_down).ln_1p() - (-two_down).ln_1p();
                self.add(one, two, -(-weight).exp_m1());
            }
        }
    }

    fn down(&self) -> Option<f64> {
        let left: Vec<u32> = (0..self.next_to.len() as u32).filter(|&node| !self.next_to[node as usize].is_empty()).collect();
        let [from, to] = self.ends;
        if from == to {
            return Some(0.0);
        }
        if left.len() <= 2 {
            let line = self.next_to[from as usize].iter().find(|(other, _)| *other == to);
            return Some(line.map_or(1.0, |(_, down)| *down));
        }
        self.through_frontier(&left)
    }

    /// Nodes and lines that are left, all as vertices of a puzzle.
    fn through_frontier(&self, left: &[u32]) -> Option<f64> {
        let mut number = vec![0u32; self.next_to.len()];
        left.iter().zip(0u32..).for_each(|(&node, new)| number[node as usize] = new);
        let mut next_to: Vec<Vec<u32>> = vec![Vec::new(); left.len()];
        let is_end = |node: &u32| self.ends.contains(node);
        let mut is_terminal: Vec<bool> = left.iter().map(is_end).collect();
        let own_down = |node: &u32| if is_end(node) { 0.0 } else { -(-self.weight[*node as usize]).exp_m1() };
        let mut down: Vec<f64> = left.iter().map(own_down).collect();
        for &node in left {
            for &(other, line_down) in self.next_to[node as usize].iter().filter(|(other, _)| *other > node) {
                let (line, ends) = (next_to.len() as u32, [node, other].map(|node| number[node as usize]));
                ends.iter().for_each(|&end| next_to[end as usize].push(line));
                next_to.push(ends.into());
                is_terminal.push(false);
                down.push(line_down);
            }
        }
        down_chance(&Puzzle { next_to, is_terminal }, &down, MOST_STATES)
    }
}
