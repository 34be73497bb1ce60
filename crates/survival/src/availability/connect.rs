//! When do certain vertices of a small graph hang together? As a function of its vertices.
//!
//! Vertices are decided one by one. What matters of those decided is only how the ones that still touch
//! undecided vertices hang together: the frontier. States that agree on it are merged. Work grows with the
//! number of states, which is tiny for rings and ladders and explodes only for dense meshes.
//!
//! **Source**: the frontier method of network reliability (from memory); checked against 32 polynomials.

use super::bdd::{ALWAYS, Functions, NEVER};
use std::collections::HashMap;

/// A small graph: neighbours of each vertex, and whether it must be joined.
pub(crate) struct Puzzle {
    pub(crate) next_to: Vec<Vec<u32>>,
    pub(crate) is_terminal: Vec<bool>,
}

/// Group of each frontier vertex, 0 if down, and for each group from 1 whether it holds a terminal.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
struct State {
    group: Vec<u16>,
    holds: Vec<bool>,
}

/// Where a decision leads.
#[derive(Debug, Clone, Copy)]
enum Turn {
    Decided(bool),
    State(u32),
}

/// The order of deciding and the frontier after each step.
struct Order {
    vertices: Vec<u32>,
    step_of: Vec<u32>,
    frontier: Vec<Vec<u32>>,
    last_terminal: usize,
}

/// The function that works while all terminals are up and joined through vertices that are up; `works`
/// gives the function of each vertex. `None` beyond `most_states`, or when `functions` is full.
pub(crate) fn joined(puzzle: &Puzzle, works: &[u32], functions: &mut Functions, most_states: usize) -> Option<u32> {
    let order = Order::new(puzzle);
    let can_fail: Vec<bool> = works.iter().map(|works| *works != ALWAYS).collect();
    let layers = layers(puzzle, &order, &can_fail, most_states)?;
    fold(&order, &layers, works, functions)
}

/// The chance that not all terminals are up and joined, when vertex `n` is down with chance `down[n]`, each by itself.
/// `None` beyond `most_states`.
pub(crate) fn down_chance(puzzle: &Puzzle, down: &[f64], most_states: usize) -> Option<f64> {
    let order = Order::new(puzzle);
    let can_fail: Vec<bool> = down.iter().map(|down| *down > 0.0).collect();
    let layers = layers(puzzle, &order, &can_fail, most_states)?;
    let mut below: Vec<f64> = Vec::new();
    for (layer, &vertex) in layers.iter().zip(&order.vertices).rev() {
        let of = |turn: Turn| match turn {
            Turn::Decided(is_joined) => f64::from(u8::from(!is_joined)),
            Turn::State(at) => below.get(at as usize).copied().unwrap_or(0.0),
        };
        let chance = down[vertex as usize];
        below = layer.iter().map(|&[lost, kept]| chance * of(lost) + (1.0 - chance) * of(kept)).collect();
    }
    Some(below.first().copied().unwrap_or(0.0))
}

/// Where each decision leads, state by state, step by step.
fn layers(puzzle: &Puzzle, order: &Order, can_fail: &[bool], most_states: usize) -> Option<Vec<Vec<[Turn; 2]>>> {
    let mut layers: Vec<Vec<[Turn; 2]>> = Vec::new();
    let mut states = vec![State::default()];
    let mut total = 0;
    for step in 0..order.vertices.len() {
        let can_fail = can_fail[order.vertices[step] as usize];
        let mut known: HashMap<State, u32> = HashMap::new();
        let mut next: Vec<State> = Vec::new();
        let mut turn = |state: &State, is_up: bool| match order.decide(puzzle, (step, is_up), state) {
            Ok(state) => {
                let at = *known.entry(state.clone()).or_insert(next.len() as u32);
                if at == next.len() as u32 {
                    next.push(state);
                }
                Turn::State(at)
            }
            Err(is_joined) => Turn::Decided(is_joined),
        };
        let turns = states.iter().map(|state| [if can_fail { turn(state, false) } else { Turn::Decided(false) }, turn(state, true)]);
        layers.push(turns.collect());
        total += next.len();
        if total > most_states {
            return None;
        }
        states = next;
    }
    Some(layers)
}

/// Makes functions from the last layer to the first.
fn fold(order: &Order, layers: &[Vec<[Turn; 2]>], works: &[u32], functions: &mut Functions) -> Option<u32> {
    let mut below: Vec<u32> = Vec::new();
    for (step, layer) in layers.iter().enumerate().rev() {
        let vertex = works[order.vertices[step] as usize];
        let mut here = Vec::with_capacity(layer.len());
        for turns in layer {
            let [down, up] = turns.map(|turn| match turn {
                Turn::Decided(true) => ALWAYS,
                Turn::Decided(false) => NEVER,
                Turn::State(at) => below.get(at as usize).copied().unwrap_or(ALWAYS),
            });
            let while_up = functions.both(vertex, up)?;
            here.push(functions.either(down, while_up)?);
        }
        below = here;
    }
    Some(below.first().copied().unwrap_or(ALWAYS))
}

impl Order {
    /// Breadth first from the first terminal; what is not reached comes last.
    fn new(puzzle: &Puzzle) -> Self {
        let count = puzzle.next_to.len();
        let mut step_of = vec![u32::MAX; count];
        let mut vertices: Vec<u32> = Vec::with_capacity(count);
        let starts = (0..count).filter(|&at| puzzle.is_terminal[at]).chain(0..count);
        for start in starts.map(|at| at as u32) {
            let mut read = vertices.len();
            let mut see = |vertex: u32, vertices: &mut Vec<u32>| {
                if step_of[vertex as usize] == u32::MAX {
                    step_of[vertex as usize] = vertices.len() as u32;
                    vertices.push(vertex);
                }
            };
            see(start, &mut vertices);
            while let Some(&vertex) = vertices.get(read) {
                read += 1;
                puzzle.next_to[vertex as usize].iter().for_each(|&next| see(next, &mut vertices));
            }
        }
        let mut frontier: Vec<Vec<u32>> = Vec::with_capacity(count);
        let mut open: Vec<u32> = Vec::new();
        for (step, &vertex) in vertices.iter().enumerate() {
            open.push(vertex);
            open.retain(|&old| puzzle.next_to[old as usize].iter().any(|&next| step_of[next as usize] as usize > step));
            frontier.push(open.clone());
        }
        let last_terminal = (0..count).filter(|&at| puzzle.is_terminal[at]).map(|at| step_of[at] as usize).max().unwrap_or(0);
        Self { vertices, step_of, frontier, last_terminal }
    }

    /// The state after a decision, or whether all is joined when that is certain.
    fn decide(&self, puzzle: &Puzzle, (step, is_up): (usize, bool), state: &State) -> Result<State, bool> {
        let vertex = self.vertices[step];
        let before: &[u32] = if step == 0 { &[] } else { &self.frontier[step - 1] };
        let is_terminal = puzzle.is_terminal[vertex as usize];
        if !is_up && is_terminal {
            return Err(false);
        }
        let mut holds = state.holds.clone();
        holds.push(is_terminal && is_up);
        let own = holds.len() as u16;
        let mut group: Vec<u16> = state.group.clone();
        if is_up {
            let earlier = |next: &&u32| self.step_of[**next as usize] < step as u32;
            for next in puzzle.next_to[vertex as usize].iter().filter(earlier) {
                let Some(at) = before.iter().position(|old| old == next) else { continue };
                let met = group[at];
                if met != 0 && met != own {
                    holds[own as usize - 1] |= std::mem::take(&mut holds[met as usize - 1]);
                    group.iter_mut().filter(|one| **one == met).for_each(|one| *one = own);
                }
            }
        }
        group.push(if is_up { own } else { 0 });
        self.settle(step, (before, vertex), (group, holds))
    }

    /// Drops vertices that touch nothing undecided, numbers groups afresh, and sees whether all is decided.
    fn settle(&self, step: usize, (before, vertex): (&[u32], u32), (group, holds): (Vec<u16>, Vec<bool>)) -> Result<State, bool> {
        let holders = holds.iter().filter(|holds| **holds).count();
        if step >= self.last_terminal && holders == 1 {
            return Err(true);
        }
        let mut fresh = vec![0u16; holds.len() + 1];
        let mut state = State::default();
        let mut at_old = 0;
        for &kept in &self.frontier[step] {
            let old = if kept == vertex {
                Some(before.len())
            } else {
                before[at_old..].iter().position(|old| *old == kept).map(|at| at + at_old)
            };
            let Some(old) = old else { continue };
            at_old = if kept == vertex { at_old } else { old + 1 };
            let number = group[old] as usize;
            if number != 0 && fresh[number] == 0 {
                state.holds.push(holds[number - 1]);
                fresh[number] = state.holds.len() as u16;
            }
            state.group.push(fresh[number]);
        }
        // A terminal's group that leaves the frontier can meet no other any more.
        if state.holds.iter().filter(|holds| **holds).count() < holders {
            return Err(false);
        }
        Ok(state)
    }
}
