//! The order in which a crew walks.

use loomwright_model::plan::Position;
use loomwright_model::{Id, Plan};
use loomwright_placement::tour;
use std::cmp::Ordering;

/// Places in walking order: the shortest round from the first place of the plan, as the crow flies (near the shortest
/// beyond twelve places); places without coordinates follow in the plan's order.
pub fn walking_order(plan: &Plan) -> Vec<&Id> {
    let stops: Vec<(&Id, Position)> = plan.places.iter().filter_map(|(id, place)| Some((id, place.at?))).collect();
    let distance = |from: Position, to: Position| u64::try_from(distance_squared(from, to).isqrt()).unwrap_or(u64::MAX);
    let table: Vec<Vec<u64>> = stops.iter().map(|(_, from)| stops.iter().map(|(_, to)| distance(*from, *to)).collect()).collect();
    let mut order: Vec<&Id> = tour::round(&table).order.into_iter().map(|stop| stops[stop].0).collect();
    order.extend(plan.places.iter().filter(|(_, place)| place.at.is_none()).map(|(id, _)| id));
    order
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
