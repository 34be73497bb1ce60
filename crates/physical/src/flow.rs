//! Units that flow from one place to another along routes, each route carrying one: how ways that share nothing are
//! found and counted.
//!
//! **Source**: Suurballe 1974 and Bhandari 1999 (from memory), in the form of successive shortest ways through what is
//! left: a route that a unit already flows along may only be walked backwards, at negative length.

use crate::ways::{Way, Ways};
use std::collections::VecDeque;

/// One direction along a route, or through a place. Its reverse lies at the index with the last bit changed.
#[derive(Debug, Clone, Copy)]
struct Arc {
    to: usize,
    /// Millimetres; negative backwards.
    length: i128,
    /// How many more units fit.
    room: u32,
    /// The route, for an arc that goes forwards along one.
    edge: Option<usize>,
}

/// Routes as arcs. Each place is two nodes, in and out, so that places can be kept apart as well.
#[derive(Debug, Clone)]
pub(crate) struct Flow {
    arcs: Vec<Arc>,
    at: Vec<Vec<usize>>,
    ends: [usize; 2],
}

const fn into(place: usize) -> usize {
    2 * place
}

const fn out_of(place: usize) -> usize {
    2 * place + 1
}

impl Flow {
    /// Nothing flows yet. Only edges that are `usable` count; with `by_place`, a unit has each place on its way to
    /// itself.
    pub(crate) fn new(ways: &Ways, usable: &dyn Fn(usize) -> bool, ends: [usize; 2], by_place: bool) -> Self {
        let mut flow = Self { arcs: Vec::new(), at: vec![Vec::new(); 2 * ways.places()], ends };
        for place in 0..ways.places() {
            let room = if by_place && !ends.contains(&place) { 1 } else { u32::MAX };
            flow.add([into(place), out_of(place)], Arc { to: 0, length: 0, room, edge: None });
        }
        for (number, edge) in ways.edges.iter().enumerate().filter(|(number, edge)| edge.ends[0] != edge.ends[1] && usable(*number)) {
            let arc = Arc { to: 0, length: i128::from(edge.length), room: 1, edge: Some(number) };
            flow.add([out_of(edge.ends[0]), into(edge.ends[1])], arc);
            flow.add([out_of(edge.ends[1]), into(edge.ends[0])], arc);
        }
        flow
    }

    fn add(&mut self, [from, to]: [usize; 2], arc: Arc) {
        self.at[from].push(self.arcs.len());
        self.arcs.push(Arc { to, ..arc });
        self.at[to].push(self.arcs.len());
        self.arcs.push(Arc { to: from, length: -arc.length, room: 0, edge: None });
    }

    /// Sends one unit more by the way that adds least length; `false` if none fits. O(places x routes) at worst.
    pub(crate) fn send(&mut self) -> bool {
        let (start, goal) = (out_of(self.ends[0]), into(self.ends[1]));
        let mut best: Vec<Option<i128>> = vec![None; self.at.len()];
        let mut through = vec![usize::MAX; self.at.len()];
        let mut waits = vec![false; self.at.len()];
        let mut queue = VecDeque::from([start]);
        best[start] = Some(0);
        while let Some(node) = queue.pop_front() {
            waits[node] = false;
            let Some(so_far) = best[node] else { continue };
            for &number in &self.at[node] {
                let arc = self.arcs[number];
                let total = so_far + arc.length;
                if arc.room > 0 && best[arc.to].is_none_or(|known| total < known) {
                    (best[arc.to], through[arc.to]) = (Some(total), number);
                    if !std::mem::replace(&mut waits[arc.to], true) {
                        queue.push_back(arc.to);
                    }
                }
            }
        }
        best[goal].is_some() && self.push_along(&through, [start, goal])
    }

    fn push_along(&mut self, through: &[usize], [start, goal]: [usize; 2]) -> bool {
        let mut node = goal;
        while node != start {
            let number = through[node];
            self.arcs[number].room = self.arcs[number].room.saturating_sub(1);
            self.arcs[number ^ 1].room = self.arcs[number ^ 1].room.saturating_add(1);
            node = self.arcs[number ^ 1].to;
        }
        true
    }

    /// The ways that the units take, one for each unit sent. What two units walk in both directions cancels out.
    pub(crate) fn ways(&self, ways: &Ways, units: usize) -> Vec<Way> {
        let mut left_from: Vec<Option<usize>> = vec![None; ways.edges.len()];
        for (number, arc) in self.arcs.iter().enumerate() {
            if let Some(edge) = arc.edge.filter(|_| arc.room == 0) {
                let place = self.arcs[number ^ 1].to / 2;
                left_from[edge] = if left_from[edge].is_some() { None } else { Some(place) };
            }
        }
        (0..units).filter_map(|_| self.follow(ways, &mut left_from)).collect()
    }

    /// Takes one way out of the edges that are left.
    fn follow(&self, ways: &Ways, left_from: &mut [Option<usize>]) -> Option<Way> {
        let (mut place, mut edges) = (self.ends[0], Vec::new());
        while place != self.ends[1] {
            let next = ways.at(place).iter().copied().find(|edge| left_from[*edge] == Some(place))?;
            left_from[next] = None;
            edges.push(next);
            place = ways.edges[next].beyond(place);
        }
        Some(ways.way(edges))
    }

    /// Which places one unit more could get to from the sender, and which it could get to the receiver from: a new
    /// route lets one unit more through exactly if it leads from the first to the second.
    pub(crate) fn open_sides(&self) -> [Vec<bool>; 2] {
        let places = self.at.len() / 2;
        let from = self.spread(out_of(self.ends[0]), |arc, _| arc.room > 0);
        let to = self.spread(into(self.ends[1]), |_, back| back.room > 0);
        [(0..places).map(|place| from[out_of(place)]).collect(), (0..places).map(|place| to[into(place)]).collect()]
    }

    fn spread(&self, start: usize, is_open: impl Fn(Arc, Arc) -> bool) -> Vec<bool> {
        let mut seen = vec![false; self.at.len()];
        let mut todo = vec![start];
        while let Some(node) = todo.pop() {
            if !std::mem::replace(&mut seen[node], true) {
                let open = self.at[node].iter().filter(|number| is_open(self.arcs[**number], self.arcs[**number ^ 1]));
                todo.extend(open.map(|number| self.arcs[*number].to));
            }
        }
        seen
    }
}
