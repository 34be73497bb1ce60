//! Search by chance: shift, swap, drain, close, open; worse steps are taken less and less often.
//!
//! The number of moves is fixed, so the same seed gives the same answer. A worse step of size `d` is taken if `d` is at
//! most the heat times a number drawn from an exponential distribution, which is the usual rule of annealing.

use crate::problem::{Cost, MOST};
use crate::random::Random;
use crate::state::State;

/// How many times the heat falls, and by what: to a five-hundredth in all. Own choice.
pub(crate) const COOLINGS: u64 = 120;
const COOLING: f64 = 0.949_5;

/// Places looked at for a shift: the nearest ones. Own choice.
const NEAREST: usize = 14;

/// Draws from the exponential distribution by table.
struct Exponential {
    table: Vec<f64>,
}

impl Exponential {
    /// The logarithm is summed as a series, so that it is the same on every machine.
    fn new() -> Self {
        let logarithm = |value: f64| {
            // ln v = 2 (z + z^3/3 + z^5/5 ..) with z = (v - 1) / (v + 1); halved into 0.5 .. 1 first, where it is quick.
            let (mut value, mut halvings) = (value, 0.0);
            while value < 0.5 {
                value *= 2.0;
                halvings += 1.0;
            }
            let series = |value: f64| {
                let z = (value - 1.0) / (value + 1.0);
                let (mut term, mut sum, mut odd) = (z, 0.0, 1.0);
                for _ in 0..40 {
                    sum += term / odd;
                    term *= z * z;
                    odd += 2.0;
                }
                2.0 * sum
            };
            series(value) + halvings * series(0.5)
        };
        Self { table: (0..1_024).map(|n| -logarithm((f64::from(n) + 0.5) / 1_024.0)).collect() }
    }

    fn draw(&self, random: &mut Random) -> f64 {
        self.table[random.below(self.table.len())]
    }
}

/// One run of the search.
pub(crate) struct Annealing<'s, 'i> {
    state: &'s mut State<'i>,
    random: Random,
    exponential: Exponential,
    heat: f64,
    best: (Cost, Vec<u32>),
}

impl<'s, 'i> Annealing<'s, 'i> {
    /// From `state`, with this seed.
    pub fn new(state: &'s mut State<'i>, seed: u64) -> Self {
        let best = (state.total, state.home.clone());
        Self { heat: 0.0, random: Random::new(seed), exponential: Exponential::new(), best, state }
    }

    /// Makes `moves` moves and returns the best homes met. `keep_going` is asked at every cooling.
    pub fn run(mut self, moves: u64, keep_going: &mut dyn FnMut(u64, Cost) -> bool) -> (Cost, Vec<u32>) {
        self.heat = self.first_heat();
        for cooling in 0..COOLINGS {
            if !keep_going(cooling, self.best.0) {
                break;
            }
            for _ in 0..moves / COOLINGS {
                self.step();
                if self.state.total < self.best.0 {
                    self.best = (self.state.total, self.state.home.clone());
                }
            }
            self.heat *= COOLING;
        }
        self.best
    }

    /// Half of what an item costs on average: cables and its part of the switches. Own choice, found by trying.
    fn first_heat(&self) -> f64 {
        let served = (0..self.state.instance.items).filter(|item| (self.state.home[*item] as usize) < self.state.instance.places).count();
        let nowhere = (self.state.instance.items - served) as i64 * MOST;
        ((self.state.total - nowhere).max(0) as f64 / (served.max(1) * 2) as f64).min(1e9)
    }

    fn accepts(&mut self, added: Cost) -> bool {
        added <= 0 || (added as f64) <= self.heat * self.exponential.draw(&mut self.random)
    }

    fn step(&mut self) {
        if self.state.instance.items == 0 {
            return;
        }
        match self.random.below(100) {
            0..70 => self.shift(),
            70..94 => self.swap(),
            94..97 => self.drain(),
            97..99 => self.open(),
            _ => self.close(),
        }
    }

    fn shift(&mut self) {
        let item = self.random.below(self.state.instance.items);
        let reach = &self.state.instance.reach[item];
        let near = self.random.below(reach.len().min(NEAREST));
        let near = self.random.below(near + 1);
        let Some(place) = reach.get(near).map(|place| *place as usize) else { return };
        if place < self.state.instance.places && self.state.members[place].is_empty() && self.random.below(4) > 0 {
            return;
        }
        let added = self.state.shifting(item, place);
        if self.accepts(added) {
            self.state.shift(item, place);
        }
    }

    fn swap(&mut self) {
        let instance = self.state.instance;
        let one = self.random.below(instance.items);
        let here = self.state.home[one];
        let reach = &instance.reach[one];
        let Some(there) = reach.get(self.random.below(reach.len().min(NEAREST))).copied() else { return };
        let others = &self.state.members[there as usize];
        let Some(other) = others.get(self.random.below(others.len())).map(|other| *other as usize) else { return };
        if here == there || here as usize == instance.places || instance.cable(other, here as usize) >= MOST {
            return;
        }
        let added = self.state.swapping(one, other);
        if self.accepts(added) {
            self.state.shift(one, there as usize);
            self.state.shift(other, here as usize);
        }
    }

    /// Moves some items of one place to a place near it: those that lose least by it. Now and then all of them move.
    fn drain(&mut self) {
        let Some((from, to)) = self.pair() else { return };
        let extra = |item: &u32| {
            let cable = |place| self.state.instance.cable(*item as usize, place);
            cable(to) - cable(from)
        };
        let reaches = |item: &&u32| self.state.instance.cable(**item as usize, to) < MOST;
        let mut movable: Vec<u32> = self.state.members[from].iter().filter(reaches).copied().collect();
        movable.sort_by_key(|item| (extra(item), *item));
        let all_move = self.state.members[to].is_empty() && self.random.below(3) == 0;
        if !all_move {
            movable.truncate(1 + self.random.below(movable.len().min(8)));
        }
        let mut moves: Vec<(u32, u32)> = movable.into_iter().map(|item| (item, to as u32)).collect();
        if all_move {
            let nowhere = self.state.instance.places as u32;
            let left = self.state.members[from].iter().filter(|item| !reaches(item));
            moves.extend(left.map(|item| (*item, nowhere)));
        }
        self.try_all(moves);
    }

    /// A place that serves something and another that one of its items reaches.
    fn pair(&mut self) -> Option<(usize, usize)> {
        let item = self.random.below(self.state.instance.items);
        let from = self.state.home[item] as usize;
        let reach = &self.state.instance.reach[item];
        let to = *reach.get(self.random.below(reach.len().min(NEAREST)))? as usize;
        (from != to && from < self.state.instance.places).then_some((from, to))
    }

    /// Opens a place and moves there, one by one, the items that gain most, as long as the sum of it gets better.
    fn open(&mut self) {
        let instance = self.state.instance;
        let closed: Vec<usize> = (0..instance.places).filter(|place| self.state.members[*place].is_empty()).collect();
        let Some(place) = closed.get(self.random.below(closed.len())).copied() else { return };
        let gain = |item: usize| instance.cable(item, self.state.home[item] as usize) - instance.cable(item, place);
        let mut movable: Vec<(Cost, u32)> =
            (0..instance.items).filter(|item| instance.cable(*item, place) < MOST).map(|item| (-gain(item), item as u32)).collect();
        movable.sort_unstable();
        movable.truncate(48);
        let before = self.state.total;
        let mut done: Vec<(u32, u32)> = Vec::new();
        let mut best = (Cost::MAX, 0);
        for (_, item) in movable {
            done.push((item, self.state.home[item as usize]));
            self.state.shift(item as usize, place);
            best = best.min((self.state.total, done.len()));
        }
        while done.len() > best.1 {
            self.undo(&mut done);
        }
        let added = self.state.total - before;
        if !self.accepts(added) {
            while !done.is_empty() {
                self.undo(&mut done);
            }
        }
    }

    fn undo(&mut self, done: &mut Vec<(u32, u32)>) {
        if let Some((item, from)) = done.pop() {
            self.state.shift(item as usize, from as usize);
        }
    }

    /// Closes a place: each of its items goes where it adds least.
    fn close(&mut self) {
        let item = self.random.below(self.state.instance.items);
        let place = self.state.home[item] as usize;
        if place == self.state.instance.places {
            return;
        }
        let before = self.state.total;
        let mut done: Vec<(u32, u32)> = Vec::new();
        for item in self.state.members[place].clone() {
            let instance = self.state.instance;
            let others = instance.reach[item as usize].iter().take(NEAREST).filter(|other| **other as usize != place);
            let open = others.filter(|other| **other as usize == instance.places || !self.state.members[**other as usize].is_empty());
            let Some(best) = open.map(|other| (self.state.shifting(item as usize, *other as usize), *other)).min() else { break };
            done.push((item, place as u32));
            self.state.shift(item as usize, best.1 as usize);
        }
        let added = self.state.total - before;
        if !self.accepts(added) {
            while !done.is_empty() {
                self.undo(&mut done);
            }
        }
    }

    /// Makes all these moves, or none.
    fn try_all(&mut self, moves: Vec<(u32, u32)>) {
        let before = self.state.total;
        let mut done = Vec::new();
        for (item, to) in moves {
            done.push((item, self.state.home[item as usize]));
            self.state.shift(item as usize, to as usize);
        }
        let added = self.state.total - before;
        if !self.accepts(added) {
            while !done.is_empty() {
                self.undo(&mut done);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_is_exponential() {
        let exponential = Exponential::new();
        let mean = exponential.table.iter().sum::<f64>() / 1_024.0;
        assert!((mean - 1.0).abs() < 1e-3, "{mean}");
        for (n, value) in exponential.table.iter().enumerate() {
            assert!((value + ((n as f64 + 0.5) / 1_024.0).ln()).abs() < 1e-12);
        }
    }
}
