//! Makes a puzzle smaller without changing its answer.
//!
//! A vertex with one neighbour joins nothing. One with two that never fails is only a line between them; two
//! such in a row that can fail are needed together, so they are one. Rings of chains become a handful.

use super::bdd::{ALWAYS, Functions};
use super::connect::Puzzle;
use std::collections::BTreeSet;

struct Shrinking<'a> {
    next_to: Vec<BTreeSet<u32>>,
    is_terminal: Vec<bool>,
    works: Vec<u32>,
    is_gone: Vec<bool>,
    functions: &'a mut Functions,
}

/// The smaller puzzle and the function of each of its vertices.
pub(crate) fn simplified(puzzle: Puzzle, works: Vec<u32>, functions: &mut Functions) -> (Puzzle, Vec<u32>) {
    let count = works.len();
    let apart = |(at, next): (usize, Vec<u32>)| next.into_iter().filter(|next| *next as usize != at).collect();
    let mut shrinking = Shrinking {
        next_to: puzzle.next_to.into_iter().enumerate().map(apart).collect(),
        is_terminal: puzzle.is_terminal,
        works,
        is_gone: vec![false; count],
        functions,
    };
    let mut todo: Vec<u32> = (0..count as u32).collect();
    while let Some(vertex) = todo.pop() {
        if !shrinking.is_gone[vertex as usize] && !shrinking.is_terminal[vertex as usize] {
            shrinking.try_to_drop(vertex, &mut todo);
        }
    }
    shrinking.rest()
}

impl Shrinking<'_> {
    fn try_to_drop(&mut self, vertex: u32, todo: &mut Vec<u32>) {
        let neighbours: Vec<u32> = self.next_to[vertex as usize].iter().copied().collect();
        match neighbours[..] {
            [] | [_] => self.drop_vertex(vertex, &neighbours),
            [one, two] if self.can_pass_on(vertex, one) || self.can_pass_on(vertex, two) => {
                self.drop_vertex(vertex, &neighbours);
                self.next_to[one as usize].insert(two);
                self.next_to[two as usize].insert(one);
            }
            _ => return,
        }
        todo.extend(neighbours);
    }

    /// Whether a neighbour can stand for `vertex` too; it does from then on.
    fn can_pass_on(&mut self, vertex: u32, neighbour: u32) -> bool {
        let own = self.works[vertex as usize];
        if own == ALWAYS {
            return true;
        }
        if self.is_terminal[neighbour as usize] || self.next_to[neighbour as usize].len() != 2 {
            return false;
        }
        let Some(both) = self.functions.both(own, self.works[neighbour as usize]) else { return false };
        self.works[neighbour as usize] = both;
        true
    }

    fn drop_vertex(&mut self, vertex: u32, neighbours: &[u32]) {
        self.is_gone[vertex as usize] = true;
        for &next in neighbours {
            self.next_to[next as usize].remove(&vertex);
        }
    }

    /// What is left, numbered afresh.
    fn rest(self) -> (Puzzle, Vec<u32>) {
        let kept: Vec<usize> = (0..self.works.len()).filter(|&at| !self.is_gone[at]).collect();
        let mut number = vec![0u32; self.works.len()];
        kept.iter().zip(0u32..).for_each(|(&at, new)| number[at] = new);
        let next_to = kept.iter().map(|&at| self.next_to[at].iter().map(|&next| number[next as usize]).collect());
        let puzzle = Puzzle { next_to: next_to.collect(), is_terminal: kept.iter().map(|&at| self.is_terminal[at]).collect() };
        (puzzle, kept.iter().map(|&at| self.works[at]).collect())
    }
}
