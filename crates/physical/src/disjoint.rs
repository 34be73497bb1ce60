//! Two ways between the same places that share no route and as few hazards as can be, as short in sum as can be.
//!
//! Without hazards that is Suurballe's problem, solved exactly by sending two units through the route graph; it finds
//! a pair whenever there is one, also where "shortest, remove, shortest again" runs into a dead end. With hazards
//! it is hard in general (Hu 2003, from memory), but a venue has few of them: where two ways meet in a hazard, either
//! the one or the other has to keep off it, and both cases are searched, cheapest first. [`Pair::is_shortest`] says
//! whether the search came to its end.

use crate::flow::Flow;
use crate::ways::{Way, Ways};
use loomwright_model::{Id, Medium};
use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// What two ways may not share. Hazards are avoided in either case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apart {
    /// No route.
    Routes,
    /// No route, and no place on the way.
    RoutesAndPlaces,
}

/// Two ways between the same places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// The shorter one first.
    pub ways: [Way; 2],
    /// Hazards that both meet; none if they are truly apart.
    pub shared: Vec<Id>,
    /// Whether it is proved that no pair shares fewer hazards, and none with as few is shorter in sum.
    pub is_shortest: bool,
}

impl Pair {
    /// Length of both together, in millimetres.
    pub fn length(&self) -> u64 {
        self.ways[0].length.saturating_add(self.ways[1].length)
    }
}

/// How many cases a search looks at before it takes the best known. Own choice: a tenth of a second at a hundred places.
const MOST_CASES: usize = 1_000;

/// The pair that shares fewest hazards, and among those the one with the least sum of lengths. `None` if no two ways are
/// apart even without looking at hazards. A pair from a place to itself is two empty ways.
pub fn pair(ways: &Ways, medium: Medium, ends: [usize; 2], apart: Apart) -> Option<Pair> {
    if ends[0] == ends[1] {
        return Some(Pair { ways: Default::default(), shared: Vec::new(), is_shortest: true });
    }
    let asked = Asked { ways, medium, ends, apart };
    let [one, other] = asked.two_units(&|_| true)?;
    let met = asked.shared(&one, &other);
    if met.is_empty() {
        return Some(asked.pair([one, other], true));
    }
    let mut cases = MOST_CASES;
    for count in 0..met.len() {
        match asked.sharing(count, &mut cases) {
            Some(Some(ways)) => return Some(asked.pair(ways, true)),
            Some(None) => {}
            None => break,
        }
    }
    // Either as many hazards have to be shared as the shortest pair shares, or the search gave up.
    let is_shortest = cases > 0;
    let rough = asked.rough();
    let best = rough
        .into_iter()
        .chain([[one, other]])
        .min_by_key(|[one, other]| (asked.shared(one, other).len(), one.length.saturating_add(other.length)))?;
    Some(asked.pair(best, is_shortest))
}

/// How many ways between two places share no route, and with [`Apart::RoutesAndPlaces`] no place either; counted up to `most`.
pub fn count(ways: &Ways, medium: Medium, ends: [usize; 2], (apart, most): (Apart, usize)) -> usize {
    if ends[0] == ends[1] {
        return most;
    }
    let mut flow = Flow::new(ways, &|edge| ways.edges[edge].takes(medium), ends, apart == Apart::RoutesAndPlaces);
    (0..most).take_while(|_| flow.send()).count()
}

/// What is asked.
struct Asked<'a> {
    ways: &'a Ways,
    medium: Medium,
    ends: [usize; 2],
    apart: Apart,
}

/// What each of the two ways has to keep off: risks as in [`Ways`], then places.
type Off = [BTreeSet<usize>; 2];

/// One case of the search.
struct Case {
    off: Off,
    /// Two ways that fit the case and share nothing, of exactly the length that the case is queued with.
    found: Option<[Way; 2]>,
    /// What stands in the way otherwise.
    conflict: usize,
}

impl Asked<'_> {
    /// Two units through the edges that are `usable`, hazards not looked at.
    fn two_units(&self, usable: &dyn Fn(usize) -> bool) -> Option<[Way; 2]> {
        let takes = |edge: usize| self.ways.edges[edge].takes(self.medium) && usable(edge);
        let mut flow = Flow::new(self.ways, &takes, self.ends, self.apart == Apart::RoutesAndPlaces);
        if !(flow.send() && flow.send()) {
            return None;
        }
        let [one, other] = <[Way; 2]>::try_from(flow.ways(self.ways, 2)).ok()?;
        Some(if other.length < one.length { [other, one] } else { [one, other] })
    }

    /// Hazards that two ways both meet.
    fn shared(&self, one: &Way, other: &Way) -> Vec<usize> {
        let (one, other) = (self.ways.risks(one), self.ways.risks(other));
        one.intersection(&other).copied().filter(|risk| self.ways.is_hazard(*risk)).collect()
    }

    fn pair(&self, mut ways: [Way; 2], is_shortest: bool) -> Pair {
        ways.sort_by_key(|way| way.length);
        let shared = self.shared(&ways[0], &ways[1]);
        Pair { shared: shared.into_iter().filter_map(|risk| self.ways.hazard(risk)).cloned().collect(), ways, is_shortest }
    }

    /// The shortest pair that shares at most `count` hazards; the outer `None` says that `cases` ran out.
    fn sharing(&self, count: usize, cases: &mut usize) -> Option<Option<[Way; 2]>> {
        let hazards: BTreeSet<usize> =
            self.ways.edges.iter().flat_map(|edge| &edge.risks).copied().filter(|risk| self.ways.is_hazard(*risk)).collect();
        let hazards: Vec<usize> = hazards.into_iter().collect();
        let mut best: Option<[Way; 2]> = None;
        let mut chosen: Vec<usize> = (0..count).collect();
        if count > hazards.len() {
            return Some(None);
        }
        loop {
            let allowed: BTreeSet<usize> = chosen.iter().map(|at| hazards[*at]).collect();
            if let Some(found) = self.search(&allowed, cases)? {
                let length = |pair: &[Way; 2]| pair[0].length.saturating_add(pair[1].length);
                if best.as_ref().is_none_or(|known| length(&found) < length(known)) {
                    best = Some(found);
                }
            }
            if !next_choice(&mut chosen, hazards.len()) {
                return Some(best);
            }
        }
    }

    /// The shortest pair that shares no hazard but those `allowed`: cases in order of the least length they can have. The
    /// first whose ways share nothing is the answer.
    fn search(&self, allowed: &BTreeSet<usize>, cases: &mut usize) -> Option<Option<[Way; 2]>> {
        let mut open: Vec<Case> = Vec::new();
        let mut queue: BinaryHeap<Reverse<(u64, usize)>> = BinaryHeap::new();
        let add = |case: Option<(u64, Case)>, open: &mut Vec<Case>, queue: &mut BinaryHeap<_>| {
            if let Some((least, case)) = case {
                queue.push(Reverse((least, open.len())));
                open.push(case);
            }
        };
        add(self.case(Off::default(), allowed), &mut open, &mut queue);
        while let Some(Reverse((_, at))) = queue.pop() {
            if let Some(found) = open[at].found.take() {
                return Some(Some(found));
            }
            *cases = cases.saturating_sub(1);
            if *cases == 0 {
                return None;
            }
            // At first the two ways are alike: it is enough that the one keeps off.
            let sides = if at == 0 { 1 } else { 2 };
            for side in 0..sides {
                let mut off = open[at].off.clone();
                off[side].insert(open[at].conflict);
                add(self.case(off, allowed), &mut open, &mut queue);
            }
        }
        Some(None)
    }

    /// A case with the least length that its two ways can have; `None` if it has none.
    fn case(&self, off: Off, allowed: &BTreeSet<usize>) -> Option<(u64, Case)> {
        let keeps_off = |edge: usize, side: usize| self.is_free(edge, &off[side]);
        let units = self.two_units(&|edge| keeps_off(edge, 0) || keeps_off(edge, 1))?;
        let length = |pair: &[Way; 2]| pair[0].length.saturating_add(pair[1].length);
        let least = length(&units);
        let fits = |pair: &[Way; 2]| pair.iter().enumerate().all(|(side, way)| way.edges.iter().all(|edge| keeps_off(*edge, side)));
        let [one, other] = units;
        for pair in [[one.clone(), other.clone()], [other, one]] {
            if let (true, None) = (fits(&pair), self.conflict(&pair, allowed)) {
                return Some((least, Case { off, found: Some(pair), conflict: 0 }));
            }
        }
        let takes = |edge: usize| self.ways.edges[edge].takes(self.medium).then(|| self.ways.edges[edge].length);
        let own = |side: usize| self.ways.cheapest(self.ends[0], self.ends[1], &|edge| takes(edge).filter(|_| keeps_off(edge, side)));
        let alone = [own(0)?, own(1)?];
        let least = least.max(length(&alone));
        match self.conflict(&alone, allowed) {
            Some(conflict) => Some((least, Case { off, found: None, conflict })),
            // Two shortest ways that share nothing are themselves two units: nothing is shorter.
            None => Some((length(&alone), Case { off, found: Some(alone), conflict: 0 })),
        }
    }

    /// What two ways share and may not: a hazard first, it bars most, then a route, then a place.
    fn conflict(&self, [one, other]: &[Way; 2], allowed: &BTreeSet<usize>) -> Option<usize> {
        let hazard = self.shared(one, other).into_iter().find(|risk| !allowed.contains(risk));
        let route = || one.edges.iter().find(|edge| other.edges.contains(edge)).map(|edge| self.edge_key(*edge));
        let place = || {
            let inner = self.inner_places(other);
            self.inner_places(one).into_iter().find(|place| inner.contains(place)).map(|place| self.place_key(place))
        };
        hazard.or_else(route).or_else(|| place().filter(|_| self.apart == Apart::RoutesAndPlaces))
    }

    /// Places on a way, its ends left out.
    fn inner_places(&self, way: &Way) -> BTreeSet<usize> {
        way.edges.iter().flat_map(|edge| self.ways.edges[*edge].ends).filter(|place| !self.ends.contains(place)).collect()
    }

    /// Whether an edge meets nothing of `off`.
    fn is_free(&self, edge: usize, off: &BTreeSet<usize>) -> bool {
        let known = &self.ways.edges[edge];
        let meets_place = || known.ends.iter().any(|place| off.contains(&self.place_key(*place)));
        off.is_empty() || !(off.contains(&self.edge_key(edge)) || known.risks.iter().any(|risk| off.contains(risk)) || meets_place())
    }

    /// Edges and places as numbers beyond all risks.
    fn edge_key(&self, edge: usize) -> usize {
        usize::MAX / 2 + edge
    }

    fn place_key(&self, place: usize) -> usize {
        usize::MAX - place
    }

    /// Pairs found by keeping the second way off whatever the first one meets.
    fn rough(&self) -> Vec<[Way; 2]> {
        let [from, to] = self.ends;
        let mut firsts: Vec<Way> = self.ways.shortest(self.medium, from, to).into_iter().collect();
        for risk in firsts.iter().flat_map(|way| self.ways.risks(way)).collect::<BTreeSet<_>>() {
            firsts.extend(self.ways.avoiding(self.medium, self.ends, &BTreeSet::from([risk])));
        }
        let second = |first: Way| Some([self.ways.avoiding(self.medium, self.ends, &self.ways.risks(&first))?, first]);
        let pairs = firsts.into_iter().filter_map(second);
        pairs.filter(|pair| self.conflict(pair, &self.shared(&pair[0], &pair[1]).into_iter().collect()).is_none()).collect()
    }
}

/// The next choice of as many out of `of`, in order; `false` after the last.
fn next_choice(chosen: &mut [usize], of: usize) -> bool {
    let count = chosen.len();
    let Some(at) = (0..count).rev().find(|at| chosen[*at] + count - at < of) else { return false };
    chosen[at] += 1;
    for later in at + 1..count {
        chosen[later] = chosen[later - 1] + 1;
    }
    true
}
