//! Small random route graphs against trying every pair of ways, and every route that could be added.

use crate::graph::{Line, ways};
use loomwright_model::Medium;
use loomwright_physical::disjoint::{Apart, pair};
use loomwright_physical::extra::cheapest_extra;
use loomwright_physical::ways::Ways;
use std::collections::BTreeSet;

const ANY: Medium = Medium::Fibre;

/// A seeded source of numbers (xorshift64*, Marsaglia and Vigna).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % below.max(1)
    }
}

struct Building {
    places: usize,
    lines: Vec<Line>,
    at: Vec<i64>,
}

fn building(seed: u64) -> Building {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    let places = 3 + dice.roll(4);
    let at: Vec<i64> = (0..places).map(|_| dice.roll(50) as i64).collect();
    let lines = (0..dice.roll(10) + 1).map(|_| {
        let ends = [dice.roll(places), dice.roll(places)];
        let hazards = (0..dice.roll(3)).map(|_| format!("h{}", dice.roll(4))).collect();
        Line { ends, length: 50 + dice.roll(100) as u64, hazards }
    });
    Building { places, lines: lines.collect(), at }
}

/// Every way from `from` on to `to` that meets no place twice, as routes.
fn every_way(lines: &[Line], way: &mut Vec<usize>, (seen, to): (&mut Vec<usize>, usize), all: &mut Vec<Vec<usize>>) {
    let here = seen[seen.len() - 1];
    if here == to {
        all.push(way.clone());
        return;
    }
    for (number, line) in lines.iter().enumerate() {
        let next = if line.ends[0] == here { line.ends[1] } else { line.ends[0] };
        if line.ends.contains(&here) && !seen.contains(&next) {
            way.push(number);
            seen.push(next);
            every_way(lines, way, (seen, to), all);
            seen.pop();
            way.pop();
        }
    }
}

/// Fewest shared hazards, then the least sum; by trying every pair.
fn best(lines: &[Line], [from, to]: [usize; 2], apart: Apart) -> Option<(usize, u64)> {
    let mut all = Vec::new();
    every_way(lines, &mut Vec::new(), (&mut vec![from], to), &mut all);
    let hazards = |way: &[usize]| way.iter().flat_map(|line| lines[*line].hazards.clone()).collect::<BTreeSet<_>>();
    let inner = |way: &[usize]| -> BTreeSet<usize> {
        way.iter().flat_map(|line| lines[*line].ends).filter(|place| *place != from && *place != to).collect()
    };
    let length = |way: &[usize]| way.iter().map(|line| lines[*line].length).sum::<u64>();
    let pairs = all.iter().flat_map(|one| all.iter().map(move |two| (one, two)));
    let apart = pairs.filter(|(one, two)| {
        let meet = apart == Apart::RoutesAndPlaces && !inner(one).is_disjoint(&inner(two));
        one.iter().all(|line| !two.contains(line)) && !meet
    });
    apart.map(|(one, two)| (hazards(one).intersection(&hazards(two)).count(), length(one) + length(two))).min()
}

fn graph(building: &Building) -> Ways {
    ways(building.places, &building.lines, |place| Some(building.at[place]))
}

#[test]
fn pairs_agree_with_trying_every_pair() {
    let (mut pairs, mut sharing, mut none) = (0, 0, 0);
    for seed in 0..3_000 {
        let building = building(seed);
        for apart in [Apart::Routes, Apart::RoutesAndPlaces] {
            let expected = best(&building.lines, [0, 1], apart);
            let found = pair(&graph(&building), ANY, [0, 1], apart);
            assert_eq!(found.as_ref().map(|pair| (pair.shared.len(), pair.length())), expected, "seed {seed}, {apart:?}");
            assert!(found.as_ref().is_none_or(|pair| pair.is_shortest), "seed {seed}");
            pairs += usize::from(found.is_some());
            sharing += usize::from(found.as_ref().is_some_and(|pair| !pair.shared.is_empty()));
            none += usize::from(found.is_none());
        }
    }
    assert!(pairs > 600 && sharing > 200 && none > 600, "{pairs} pairs, {sharing} with shared hazards, {none} without");
}

#[test]
fn the_cheapest_extra_route_agrees_with_trying_every_one() {
    let mut found_some = 0;
    for seed in 10_000..11_000 {
        let mut building = building(seed);
        let asked = graph(&building);
        for apart in [Apart::Routes, Apart::RoutesAndPlaces] {
            let mut expected: Option<u64> = None;
            let is_open = best(&building.lines, [0, 1], apart).is_none_or(|(shared, _)| shared > 0);
            let mut all = Vec::new();
            every_way(&building.lines, &mut Vec::new(), (&mut vec![0], 1), &mut all);
            if is_open && !all.is_empty() {
                for one in 0..building.places {
                    for two in one + 1..building.places {
                        let length = building.at[one].abs_diff(building.at[two]);
                        building.lines.push(Line { ends: [one, two], length, hazards: vec![] });
                        if best(&building.lines, [0, 1], apart).is_some_and(|(shared, _)| shared == 0) {
                            expected = Some(expected.map_or(length, |known| known.min(length)));
                        }
                        building.lines.pop();
                    }
                }
            }
            let found = cheapest_extra(&asked, ANY, [0, 1], apart);
            assert_eq!(found.as_ref().and_then(|extra| extra.at_least), expected, "seed {seed}, {apart:?}");
            assert!(found.as_ref().is_none_or(|extra| extra.is_cheapest && extra.pair.shared.is_empty()), "seed {seed}");
            found_some += usize::from(found.is_some());
        }
    }
    assert!(found_some > 300, "{found_some}");
}

#[test]
fn edges_of_the_question_have_answers() {
    let far = |place: usize| [Some(0), Some(30_000), None].get(place).copied().flatten();
    let lines = [Line { ends: [0, 1], length: 40_000, hazards: vec![] }];
    let graph = ways(3, &lines, far);
    let here = pair(&graph, ANY, [1, 1], Apart::Routes).expect("a place is beside itself");
    assert!(here.length() == 0 && here.shared.is_empty());
    assert_eq!(pair(&graph, ANY, [0, 1], Apart::Routes), None);
    let extra = cheapest_extra(&graph, ANY, [0, 1], Apart::Routes).expect("a second route parts them");
    assert_eq!((extra.between, extra.at_least), ([0, 1], Some(30_000)));
    // Nothing leads to place 2: one route more cannot make two ways.
    assert_eq!(cheapest_extra(&graph, ANY, [0, 2], Apart::Routes), None);
    let unknown = ways(3, &lines, |_| None);
    let extra = cheapest_extra(&unknown, ANY, [0, 1], Apart::Routes).expect("a second route parts them");
    assert_eq!((extra.between, extra.at_least, extra.is_cheapest), ([0, 1], None, false));
}
