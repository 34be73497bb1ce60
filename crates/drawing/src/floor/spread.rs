//! Positions for places whose coordinates nobody gave.

use crate::geometry::{Point, at, distance};
use loomwright_model::{Id, Plan};
use std::collections::BTreeMap;

/// Steps toward the wanted distances; the picture no longer changes visibly after them. Own choice.
const STEPS: usize = 80;
/// More places than this stand in rows.
const MOST: usize = 150;

/// A point in metres for every place. Distances follow the shortest way along routes as well as a plane
/// allows: stress majorisation from a circle (de Leeuw's SMACOF step with equal weights, from memory).
/// O(places cubed) once, then O(places squared) per step.
pub(super) fn spread(plan: &Plan) -> Vec<(&Id, Point)> {
    let ids: Vec<&Id> = plan.places.keys().collect();
    if ids.len() > MOST {
        let columns = (ids.len() as f64).sqrt().ceil() as usize;
        return ids.into_iter().enumerate().map(|(n, id)| (id, at((n % columns) as f64 * 10.0, (n / columns) as f64 * 10.0))).collect();
    }
    let wanted = ways(plan, &ids);
    let longest = wanted.iter().flatten().copied().fold(1.0, f64::max);
    let on_circle = |n: usize| {
        let angle = std::f64::consts::TAU * n as f64 / ids.len() as f64;
        at(longest / 2.0 * angle.cos(), longest / 3.0 * angle.sin())
    };
    let mut points: Vec<Point> = (0..ids.len()).map(on_circle).collect();
    for _ in 0..STEPS {
        points = step(&points, &wanted);
    }
    ids.into_iter().zip(points).collect()
}

/// Shortest ways along routes, metres; places with no way between them are far apart.
fn ways(plan: &Plan, ids: &[&Id]) -> Vec<Vec<f64>> {
    let index: BTreeMap<&Id, usize> = ids.iter().enumerate().map(|(n, id)| (*id, n)).collect();
    let count = ids.len();
    let mut ways = vec![vec![f64::INFINITY; count]; count];
    for route in plan.routes.values() {
        if let (Some(&a), Some(&b)) = (index.get(&route.between[0]), index.get(&route.between[1])) {
            let length = ways[a][b].min(route.length.metres().max(1.0));
            (ways[a][b], ways[b][a]) = (length, length);
        }
    }
    for middle in 0..count {
        for a in 0..count {
            for b in 0..count {
                ways[a][b] = ways[a][b].min(ways[a][middle] + ways[middle][b]);
            }
        }
    }
    let longest = ways.iter().flatten().copied().filter(|way| way.is_finite()).fold(10.0, f64::max);
    for (n, row) in ways.iter_mut().enumerate() {
        row[n] = 0.0;
        row.iter_mut().filter(|way| way.is_infinite()).for_each(|way| *way = longest * 1.2);
    }
    ways
}

fn step(points: &[Point], wanted: &[Vec<f64>]) -> Vec<Point> {
    let count = points.len().max(1) as f64;
    let moved = |(n, here): (usize, &Point)| {
        let mut sum = at(0.0, 0.0);
        for (m, there) in points.iter().enumerate().filter(|(m, _)| *m != n) {
            let gap = distance(*here, *there).max(1e-6);
            let pull = wanted[n][m] / gap;
            sum.x += there.x + pull * (here.x - there.x);
            sum.y += there.y + pull * (here.y - there.y);
        }
        at((sum.x + here.x) / count, (sum.y + here.y) / count)
    };
    points.iter().enumerate().map(moved).collect()
}
