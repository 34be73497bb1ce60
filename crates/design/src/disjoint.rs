//! Two ways between the same places that share no route, as short in sum as can be.
//!
//! Bhandari's form of Suurballe's search: shortest way; then the shortest way in the graph in which the first may
//! only be walked backwards, at negative length; what both walk cancels out. It finds a pair whenever there is
//! one, also where "shortest, remove, shortest again" runs into a dead end. O(V E).
//! Shared hazards are not seen by it; a second search pushes the second way off them.

use crate::ways::{Way, Ways};
use loomwright_model::Medium;
use std::collections::BTreeSet;

/// The pair with the least sum of lengths, shorter way first. Where hazards are shared, pairs of another shape are
/// tried too and the one with the fewest shared hazards is kept. `None` if no two ways share no route.
pub(crate) fn pair(ways: &Ways, medium: Medium, [from, to]: [usize; 2]) -> Option<[Way; 2]> {
    if from == to {
        return Some([Way::default(), Way::default()]);
    }
    let exact = edge_disjoint(ways, medium, from, to);
    let shared = |pair: &[Way; 2]| ways.risks(&pair[0]).intersection(&ways.risks(&pair[1])).count();
    if exact.as_ref().is_some_and(|pair| shared(pair) == 0) {
        return exact;
    }
    let mut firsts: Vec<Way> = exact.iter().flatten().cloned().collect();
    firsts.extend(ways.shortest(medium, from, to));
    for risk in firsts.iter().flat_map(|way| ways.risks(way)).collect::<BTreeSet<_>>() {
        firsts.extend(ways.avoiding(medium, [from, to], &BTreeSet::from([risk])));
    }
    let seconds = firsts.into_iter().filter_map(|first| {
        let second = ways.avoiding(medium, [from, to], &ways.risks(&first))?;
        Some(ordered([first, second]))
    });
    let apart = |pair: &[Way; 2]| pair[0].edges.iter().all(|edge| !pair[1].edges.contains(edge));
    seconds
        .chain(exact.clone())
        .filter(apart)
        .min_by_key(|pair| (shared(pair), pair[0].length.saturating_add(pair[1].length), pair[0].length))
}

fn ordered([one, other]: [Way; 2]) -> [Way; 2] {
    if other.length < one.length { [other, one] } else { [one, other] }
}

fn edge_disjoint(ways: &Ways, medium: Medium, from: usize, to: usize) -> Option<[Way; 2]> {
    let first = ways.shortest(medium, from, to)?;
    // Direction in which each edge of the first way is walked: the place it is left from.
    let mut walked: Vec<Option<usize>> = vec![None; ways.edges.len()];
    mark(ways, from, &first.edges, &mut walked);
    let second = backwards(ways, medium, [from, to], &walked)?;
    let mut place = from;
    for edge in &second {
        walked[*edge] = if walked[*edge].is_some() { None } else { Some(place) };
        place = ways.edges[*edge].beyond(place);
    }
    let one = follow(ways, [from, to], &mut walked)?;
    let other = follow(ways, [from, to], &mut walked)?;
    Some(ordered([ways.way(one), ways.way(other)]))
}

fn mark(ways: &Ways, from: usize, edges: &[usize], walked: &mut [Option<usize>]) {
    let mut place = from;
    for edge in edges {
        walked[*edge] = Some(place);
        place = ways.edges[*edge].beyond(place);
    }
}

/// Bellman-Ford over the changed graph; edges of the shortest way.
fn backwards(ways: &Ways, medium: Medium, [from, to]: [usize; 2], walked: &[Option<usize>]) -> Option<Vec<usize>> {
    let places = ways.edges.iter().flat_map(|edge| edge.ends).max().map_or(0, |most| most + 1).max(from + 1).max(to + 1);
    let mut best: Vec<Option<i128>> = vec![None; places];
    let mut through: Vec<Option<usize>> = vec![None; places];
    best[from] = Some(0);
    for _ in 0..places {
        let mut changed = false;
        for (number, edge) in ways.edges.iter().enumerate().filter(|(_, edge)| edge.takes(medium)) {
            for start in edge.ends {
                let step = match walked[number] {
                    Some(left) if left == start => continue,
                    Some(_) => -i128::from(edge.length),
                    None => i128::from(edge.length),
                };
                let (Some(so_far), next) = (best[start], edge.beyond(start)) else { continue };
                if best[next].is_none_or(|known| so_far + step < known) {
                    best[next] = Some(so_far + step);
                    through[next] = Some(number);
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    let (mut place, mut edges) = (to, Vec::new());
    while place != from && edges.len() <= places {
        let edge = through[place]?;
        edges.push(edge);
        place = ways.edges[edge].beyond(place);
    }
    edges.reverse();
    Some(edges)
}

/// Takes one way out of the edges that are left, removing them.
fn follow(ways: &Ways, [from, to]: [usize; 2], walked: &mut [Option<usize>]) -> Option<Vec<usize>> {
    let (mut place, mut edges) = (from, Vec::new());
    while place != to {
        let next = ways.at(place).iter().copied().find(|edge| walked[*edge] == Some(place))?;
        walked[next] = None;
        edges.push(next);
        place = ways.edges[next].beyond(place);
    }
    Some(edges)
}

#[cfg(test)]
mod tests {
    use super::*;
    use indexmap::IndexMap;
    use loomwright_model::plan::{Place, Route, Stock, StreamFormat, Targets};
    use loomwright_model::{Id, Length, Plan};

    fn graph(edges: &[(&str, &str, u64, &str)]) -> (Ways, Plan) {
        let id = |text: &str| Id::new(text).expect("a name");
        let mut plan = Plan {
            about: Default::default(),
            targets: Targets::default(),
            stream_format: StreamFormat::default(),
            networks: IndexMap::new(),
            places: IndexMap::new(),
            routes: IndexMap::new(),
            gear: IndexMap::new(),
            devices: IndexMap::new(),
            streams: IndexMap::new(),
            stock: Stock::default(),
            labour: Default::default(),
        };
        for (from, to, length, hazard) in edges {
            plan.places.insert(id(from), Place::default());
            plan.places.insert(id(to), Place::default());
            let shares = if hazard.is_empty() { Vec::new() } else { vec![id(hazard)] };
            let route = Route { between: [id(from), id(to)], length: Length::from_millimetres(*length), takes: Vec::new(), shares };
            plan.routes.insert(id(&format!("r{}", plan.routes.len())), route);
        }
        (Ways::new(&plan), plan)
    }

    fn total(edges: &[(&str, &str, u64, &str)], from: &str, to: &str) -> Option<u64> {
        let (ways, plan) = graph(edges);
        let index = |place: &str| plan.places.get_index_of(place).expect("a place");
        pair(&ways, Medium::Copper, [index(from), index(to)]).map(|[one, other]| one.length + other.length)
    }

    // Source: the graph of the encyclopaedia article on Suurballe's algorithm, from memory; the optimum was proved by
    // listing all pairs.
    const TEXTBOOK: &[(&str, &str, u64, &str)] = &[
        ("A", "B", 1, ""),
        ("A", "C", 2, ""),
        ("B", "D", 1, ""),
        ("B", "E", 2, ""),
        ("C", "D", 2, ""),
        ("D", "F", 1, ""),
        ("E", "F", 2, ""),
    ];

    #[test]
    fn finds_the_textbook_pair() {
        assert_eq!(total(TEXTBOOK, "A", "F"), Some(10));
    }

    // Own: taking the shortest way first leaves no second one.
    #[test]
    fn does_not_fall_into_the_trap() {
        let trap = [("s", "a", 1, ""), ("a", "b", 1, ""), ("b", "t", 1, ""), ("s", "b", 4, ""), ("a", "t", 4, "")];
        assert_eq!(total(&trap, "s", "t"), Some(10));
        assert_eq!(total(&trap[..4], "s", "t"), None);
    }

    // Source: graph and kilometres of the Abilene network (Topology Zoo by way of topohub); total by min-cost flow.
    #[test]
    fn finds_the_pair_in_a_real_network() {
        let abilene = [
            ("0", "1", 114_616, ""),
            ("0", "2", 32_858, ""),
            ("1", "10", 26_340, ""),
            ("2", "9", 87_217, ""),
            ("3", "4", 113_892, ""),
            ("3", "6", 164_158, ""),
            ("4", "5", 50_330, ""),
            ("4", "6", 150_402, ""),
            ("5", "8", 220_738, ""),
            ("6", "7", 89_206, ""),
            ("7", "8", 104_224, ""),
            ("7", "10", 73_085, ""),
            ("8", "9", 112_788, ""),
            ("9", "10", 68_780, ""),
        ];
        assert_eq!(total(&abilene, "0", "5"), Some(957_580));
    }

    #[test]
    fn keeps_off_shared_hazards() {
        let roads = [("s", "t", 10, "floor"), ("s", "t", 11, "floor"), ("s", "m", 20, "roof"), ("m", "t", 20, "")];
        assert_eq!(total(&roads, "s", "t"), Some(50));
    }
}
