//! Pairs inside a plain ring, counted without a search.
//!
//! A passage enters the ring at one vertex and leaves it at another. Two losses part it together, neither alone, if
//! and only if all of the one lies on one arc between the two and all of the other on the other arc. Cut the ring open at
//! a vertex of the first loss and lay it out as a line: entry and exit then lie in one gap between vertices of the
//! first loss, and the second loss lies between them. For second losses of one vertex that is one sum along the line of
//! what begins and ends; for those of several, one sweep with a tree of partial sums.
//!
//! **Source**: own work; partial sums by Fenwick 1994 (from memory). Checked against a search for each pair.

use crate::graph::Graph;

/// Entry and exit, and how many pass so.
pub(crate) type Passage = ([u32; 2], u32);

/// One ring, and who passes through it. Vertices go by their position in the block.
#[derive(Debug, Clone)]
pub(crate) struct Ring {
    /// Place around the ring of each vertex.
    place: Vec<u32>,
    /// Entry and exit by place.
    passages: Vec<Passage>,
    /// Losses of several vertices of this ring and of nothing else that matters, with their places in order.
    many: Vec<(u32, Vec<u32>)>,
}

/// The ring laid out as a line from the first vertex that is lost.
struct Line {
    /// Number of the gap that each place lies in; 0 where it is lost.
    gap: Vec<u32>,
    /// Where place 0 is on the line.
    turn: u32,
}

impl Line {
    fn new(size: usize, lost: &[u32]) -> Self {
        let first = lost.iter().copied().min().unwrap_or(0);
        let turn = (size as u32 - first) % size as u32;
        let mut line = Self { gap: vec![1; size], turn };
        lost.iter().for_each(|&place| line.gap[((place + turn) % size as u32) as usize] = 0);
        let mut gap = 0;
        for at in &mut line.gap {
            gap += u32::from(*at == 0);
            *at *= gap;
        }
        line
    }

    fn of(&self, place: u32) -> usize {
        (place + self.turn) as usize % self.gap.len()
    }

    /// Both places on the line, the nearer first, if they lie in one gap.
    fn within(&self, [one, two]: [u32; 2]) -> Option<[usize; 2]> {
        let (one, two) = (self.of(one), self.of(two));
        (self.gap[one] != 0 && self.gap[one] == self.gap[two]).then(|| [one.min(two), one.max(two)])
    }

    /// The first and the last of some places, if all lie in one gap.
    fn span(&self, places: &[u32]) -> Option<[usize; 2]> {
        let on_line = || places.iter().map(|&place| self.of(place));
        let (first, last) = (on_line().min()?, on_line().max()?);
        (self.gap[first] != 0 && self.gap[first] == self.gap[last]).then_some([first, last])
    }
}

/// The vertices of a plain ring in the order around it; `None` if `graph` is something else. O(vertices).
pub(crate) fn round(graph: &Graph) -> Option<Vec<u32>> {
    let size = graph.len();
    if size < 3 || (0..size as u32).any(|vertex| graph.next_to(vertex).len() != 2) {
        return None;
    }
    let mut around = Vec::with_capacity(size);
    let (mut before, mut at) = (u32::MAX, 0u32);
    while around.len() < size {
        if at == 0 && !around.is_empty() {
            return None;
        }
        around.push(at);
        let next = graph.next_to(at).iter().copied().find(|next| *next != before)?;
        (before, at) = (at, next);
    }
    Some(around)
}

impl Ring {
    /// The ring that `graph` is; `None` if it is something else. O(vertices + passages).
    pub(crate) fn of(graph: &Graph, passages: &[Passage]) -> Option<Self> {
        let around = round(graph)?;
        let mut place = vec![0; graph.len()];
        around.iter().zip(0u32..).for_each(|(&vertex, at)| place[vertex as usize] = at);
        let turned = passages.iter().map(|([from, to], weight)| ([place[*from as usize], place[*to as usize]], *weight));
        let passages = turned.collect();
        Some(Self { place, passages, many: Vec::new() })
    }

    /// Adds a failure that takes several vertices, all in this ring.
    pub(crate) fn add_many(&mut self, failure: u32, vertices: impl Iterator<Item = usize>) {
        let places = vertices.map(|vertex| self.place[vertex]).collect();
        self.many.push((failure, places));
    }

    /// How many passages each other vertex parts once `lost` are gone, and neither does alone; by position.
    /// O(vertices + passages).
    pub(crate) fn count(&self, lost: &[usize]) -> Vec<u32> {
        let line = self.line(lost);
        let mut steps = vec![0i64; self.place.len() + 1];
        for (ends, weight) in &self.passages {
            if let Some([first, last]) = line.within(*ends) {
                steps[first + 1] += i64::from(*weight);
                steps[last] -= i64::from(*weight);
            }
        }
        let mut sum = 0;
        for step in &mut steps {
            sum += *step;
            *step = sum;
        }
        self.place.iter().map(|&place| u32::try_from(steps[line.of(place)]).unwrap_or(u32::MAX)).collect()
    }

    /// The same for the failures of several vertices. O((vertices + passages + failures) x log vertices).
    pub(crate) fn count_many(&self, lost: &[usize]) -> Vec<(u32, u32)> {
        let line = self.line(lost);
        let mut passages: Vec<([usize; 2], u32)> =
            self.passages.iter().filter_map(|(ends, weight)| Some((line.within(*ends)?, *weight))).collect();
        passages.sort_unstable();
        let mut asked: Vec<([usize; 2], u32)> =
            self.many.iter().filter_map(|(failure, places)| Some((line.span(places)?, *failure))).collect();
        asked.sort_unstable();
        let mut ends = Sums(vec![0; self.place.len() + 1]);
        let (mut begun, mut whole) = (0, 0u32);
        let mut counts = Vec::new();
        for ([first, last], failure) in asked {
            while let Some(([begin, end], weight)) = passages.get(begun).filter(|([begin, _], _)| *begin < first) {
                debug_assert!(begin < end, "entry and exit differ");
                ends.add(*end, *weight);
                whole += weight;
                begun += 1;
            }
            // Those that began before it and end behind it.
            let around = whole - ends.up_to(last);
            if around > 0 {
                counts.push((failure, around));
            }
        }
        counts
    }

    fn line(&self, lost: &[usize]) -> Line {
        let places: Vec<u32> = lost.iter().map(|&vertex| self.place[vertex]).collect();
        Line::new(self.place.len(), &places)
    }
}

/// Partial sums: entry `n` holds the sum of as many as its lowest set bit says, up to `n`.
struct Sums(Vec<u32>);

impl Sums {
    fn add(&mut self, at: usize, weight: u32) {
        let mut at = at + 1;
        while let Some(sum) = self.0.get_mut(at) {
            *sum += weight;
            at += at & at.wrapping_neg();
        }
    }

    /// Sum of all up to `at`, itself included.
    fn up_to(&self, at: usize) -> u32 {
        let (mut at, mut sum) = (at + 1, 0);
        while at > 0 {
            sum += self.0[at];
            at &= at - 1;
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether two vertices of a ring of `size` still hang together without `lost`.
    fn hang_together([from, to]: [usize; 2], size: usize, lost: &[usize]) -> bool {
        let is_free = |mut at: usize, to: usize| loop {
            if lost.contains(&at) {
                return false;
            }
            if at == to {
                return true;
            }
            at = (at + 1) % size;
        };
        is_free(from, to) || is_free(to, from)
    }

    /// Against walking around both arcs, for every two losses of up to three vertices.
    #[test]
    fn counts_agree_with_walking_around() {
        let size = 9;
        // Vertices in another order than around the ring.
        let around: Vec<u32> = (0..size as u32).map(|n| n * 4 % size as u32).collect();
        let edges: Vec<(u32, u32)> = (0..size).map(|n| (around[n], around[(n + 1) % size])).collect();
        let graph = Graph::from_edges(size, &edges);
        let passages: Vec<Passage> = (0..size as u32).flat_map(|a| (a + 1..size as u32).map(move |b| ([a, b], 1 + (a * b) % 3))).collect();
        let mut ring = Ring::of(&graph, &passages).expect("a ring");
        let losses: Vec<Vec<usize>> = (1usize..1 << size).map(|bits| (0..size).filter(|at| bits & (1 << at) != 0).collect()).collect();
        let losses: Vec<&Vec<usize>> = losses.iter().filter(|loss| loss.len() <= 3).collect();
        let place = |vertex: usize| around.iter().position(|at| *at as usize == vertex).expect("on the ring");
        for (at, loss) in losses.iter().enumerate() {
            ring.add_many(at as u32, loss.iter().copied());
        }
        let places: Vec<Vec<usize>> = losses.iter().map(|loss| loss.iter().map(|vertex| place(*vertex)).collect()).collect();
        let mut counted = 0;
        for (one, first) in losses.iter().enumerate() {
            let single = ring.count(first);
            let many: std::collections::BTreeMap<u32, u32> = ring.count_many(first).into_iter().collect();
            for (two, second) in losses.iter().enumerate() {
                let both: Vec<usize> = places[one].iter().chain(&places[two]).copied().collect();
                let parted = passages.iter().filter(|([a, b], _)| {
                    let ends = [place(*a as usize), place(*b as usize)];
                    let stays = |lost: &[usize]| hang_together(ends, size, lost);
                    stays(&places[one]) && stays(&places[two]) && !stays(&both)
                });
                let expected: u32 = parted.map(|(_, weight)| weight).sum();
                assert_eq!(many.get(&(two as u32)).copied().unwrap_or(0), expected, "{first:?} and {second:?}");
                if let [vertex] = second[..] {
                    assert_eq!(single[vertex], expected, "{first:?} and {second:?}");
                }
                counted += u64::from(expected > 0);
            }
        }
        assert!(counted > 1_000, "only {counted} pairs");
    }

    #[test]
    fn other_shapes_are_no_rings() {
        let square_with_tail = [(0, 1), (1, 2), (2, 3), (3, 0), (3, 4)];
        let two_rings = [(0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3)];
        assert!(Ring::of(&Graph::from_edges(5, &square_with_tail), &[]).is_none());
        assert!(Ring::of(&Graph::from_edges(6, &two_rings), &[]).is_none());
        assert!(Ring::of(&Graph::from_edges(4, &square_with_tail[..4]), &[]).is_some());
    }
}
