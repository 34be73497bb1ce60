//! The order in which a crew walks.

use loomwright_model::plan::Position;
use loomwright_model::{Id, Length, Plan};
use loomwright_placement::tour;
use std::cmp::Ordering;

/// A round through all places of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Walk<'a> {
    /// Places in the order they are walked to, the first of the plan first.
    pub order: Vec<&'a Id>,
    /// Length of the round, the way back to the first place included; without places that no known way leads to.
    pub length: Length,
    /// No round through them is shorter.
    pub bound: Length,
}

impl Walk<'_> {
    /// The round in words for people.
    pub fn says(&self, name: &str) -> String {
        let near = match self.bound < self.length {
            true => format!("no round is shorter than {}", self.bound),
            false => "no round is shorter".to_owned(),
        };
        format!("Begin at {name}; the round through all places and back is {} long, {near}.", self.length)
    }
}

/// Places in walking order: see [`walk`].
pub fn walking_order(plan: &Plan) -> Vec<&Id> {
    walk(plan).order
}

/// The shortest round from the first place of the plan (near the shortest beyond twelve places). People walk as the crow flies
/// between places with coordinates, and along the routes; places that no way leads to follow in the plan's order.
pub fn walk(plan: &Plan) -> Walk<'_> {
    let far = distances(plan);
    let (stops, lost): (Vec<usize>, Vec<usize>) = (0..far.len()).partition(|stop| *stop == 0 || far[0][*stop].is_some());
    let table: Vec<Vec<u64>> = stops.iter().map(|from| stops.iter().map(|to| far[*from][*to].unwrap_or(u64::MAX)).collect()).collect();
    let round = tour::round(&table);
    let named = |place: usize| plan.places.get_index(place).map(|(id, _)| id);
    let order = round.order.iter().map(|stop| stops[*stop]).chain(lost).filter_map(named).collect();
    Walk { order, length: Length::from_millimetres(round.length), bound: Length::from_millimetres(round.bound) }
}

/// Most places between which ways over routes are worked out. Own choice: the work grows with the cube.
const MOST_OVER_ROUTES: usize = 400;

/// Millimetres to walk between places: every pair with coordinates directly, the rest along routes.
fn distances(plan: &Plan) -> Vec<Vec<Option<u64>>> {
    let count = plan.places.len();
    let at: Vec<Option<Position>> = plan.places.values().map(|place| place.at).collect();
    let straight = |one: usize, other: usize| {
        let squared = distance_squared(at[one]?, at[other]?);
        u64::try_from(squared.isqrt()).ok()
    };
    let mut far: Vec<Vec<Option<u64>>> =
        (0..count).map(|one| (0..count).map(|other| if one == other { Some(0) } else { straight(one, other) }).collect()).collect();
    if at.iter().all(Option::is_some) || count > MOST_OVER_ROUTES {
        return far;
    }
    for route in plan.routes.values() {
        let ends = route.between.each_ref().map(|place| plan.places.get_index_of(place));
        if let [Some(one), Some(other)] = ends {
            let length = route.length.millimetres();
            for (from, to) in [(one, other), (other, one)] {
                far[from][to] = Some(far[from][to].unwrap_or(u64::MAX).min(length));
            }
        }
    }
    for by in 0..count {
        for (from, to) in (0..count).flat_map(|from| (0..count).map(move |to| (from, to))) {
            if let (Some(first), Some(second)) = (far[from][by], far[by][to]) {
                let over = first.saturating_add(second);
                far[from][to] = Some(far[from][to].unwrap_or(u64::MAX).min(over));
            }
        }
    }
    far
}

fn distance_squared(a: Position, b: Position) -> u128 {
    let square = |a: i64, b: i64| u128::from(a.abs_diff(b)).saturating_mul(u128::from(a.abs_diff(b)));
    square(a.x, b.x).saturating_add(square(a.y, b.y)).saturating_add(square(a.z, b.z))
}

/// Compares names as people count: `A-9` before `A-10`.
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut a_rest, mut b_rest) = (a, b);
    loop {
        let (a_part, b_part) = (part(a_rest), part(b_rest));
        if a_part.is_empty() || b_part.is_empty() {
            return a_rest.len().cmp(&b_rest.len()).then_with(|| a.cmp(b));
        }
        let order = match (number(a_part), number(b_part)) {
            (Some(x), Some(y)) => x.cmp(&y),
            _ => a_part.cmp(b_part),
        };
        if order != Ordering::Equal {
            return order;
        }
        (a_rest, b_rest) = (&a_rest[a_part.len()..], &b_rest[b_part.len()..]);
    }
}

/// The leading run of digits, or of anything else.
fn part(text: &str) -> &str {
    let Some(first) = text.chars().next() else { return "" };
    let is_digit = first.is_ascii_digit();
    let end = text.find(|c: char| c.is_ascii_digit() != is_digit).unwrap_or(text.len());
    &text[..end]
}

fn number(text: &str) -> Option<u128> {
    text.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_count_as_people_do() {
        let mut names = ["A-10", "A-9", "B-1", "A-009", "A", "A-9b"];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(names, ["A", "A-009", "A-9", "A-9b", "A-10", "B-1"]);
    }
}
