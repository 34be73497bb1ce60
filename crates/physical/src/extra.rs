//! The cheapest route that a building lacks: between which two places, and how long at least.

use crate::disjoint::{Apart, Pair, pair};
use crate::flow::Flow;
use crate::ways::Ways;
use loomwright_model::{Id, Medium};

/// A route that is not there yet and would part two ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Extra {
    /// The places that it has to join, by the plan's order.
    pub between: [usize; 2],
    /// Its length as the crow flies, in millimetres: no route can be shorter. `None` where the plan does not say where
    /// these places are.
    pub at_least: Option<u64>,
    /// The two ways with it. The new route is the edge after the plan's last one.
    pub pair: Pair,
    /// Whether it is proved that no shorter one would do. Not so where the plan does not say where a place is.
    pub is_cheapest: bool,
}

/// How many places to join are tried. Own choice: a second at a hundred places.
const MOST_TRIES: usize = 400;

/// The shortest route, sharing nothing with any other, with which two ways between `ends` share no route and no hazard.
/// `None` if they are apart already, or if not even one way joins them.
///
/// O(places^2 log places), and a search for two ways for each route tried; without hazards one is enough.
pub fn cheapest_extra(ways: &Ways, medium: Medium, ends: [usize; 2], apart: Apart) -> Option<Extra> {
    if pair(ways, medium, ends, apart).is_some_and(|pair| pair.shared.is_empty()) {
        return None;
    }
    let mut flow = Flow::new(ways, &|edge| ways.edges[edge].takes(medium), ends, apart == Apart::RoutesAndPlaces);
    if !flow.send() {
        return None;
    }
    let [from, to] = flow.open_sides();
    let leads_on = |one: usize, two: usize| from[one] && to[two] || from[two] && to[one];
    let mut candidates: Vec<(u64, [usize; 2])> = Vec::new();
    for one in 0..ways.places() {
        let others = (one + 1..ways.places()).filter(|&two| leads_on(one, two));
        candidates.extend(others.filter_map(|two| Some((ways.straight([one, two])?, [one, two]))));
    }
    candidates.sort_unstable();
    let mut is_certain = (0..ways.places()).all(|place| ways.straight([place, place]).is_some());
    for &(length, between) in candidates.iter().take(MOST_TRIES) {
        match with(ways, medium, (ends, apart), (between, Some(length))) {
            Some(extra) if extra.pair.shared.is_empty() => return Some(Extra { is_cheapest: is_certain, ..extra }),
            Some(extra) => is_certain &= extra.pair.is_shortest,
            None => {}
        }
    }
    // A route of its own from end to end always does.
    with(ways, medium, (ends, apart), (ends, ways.straight(ends)))
}

/// Risks that every way between `ends` meets: routes, then hazards, as numbered in [`Ways`]. O(risks x routes).
pub fn unavoidable(ways: &Ways, medium: Medium, ends: [usize; 2]) -> Vec<usize> {
    let Some(way) = ways.shortest(medium, ends[0], ends[1]) else { return Vec::new() };
    let without = |risk: usize| {
        let cost = |edge: usize| {
            Some(ways.edges[edge].length).filter(|_| ways.edges[edge].takes(medium) && !ways.edges[edge].risks.contains(&risk))
        };
        ways.cheapest(ends[0], ends[1], &cost)
    };
    ways.risks(&way).into_iter().filter(|risk| without(*risk).is_none()).collect()
}

fn with(ways: &Ways, medium: Medium, (ends, apart): ([usize; 2], Apart), (between, at_least): ([usize; 2], Option<u64>)) -> Option<Extra> {
    let name = Id::new("new-route").ok()?;
    let more = ways.with_route(&name, between, at_least.unwrap_or(0));
    Some(Extra { between, at_least, pair: pair(&more, medium, ends, apart)?, is_cheapest: false })
}
