//! Where places stand on the drawing.

use super::spread::spread;
use crate::geometry::{Point, at};
use crate::options::Desk;
use loomwright_model::Id;

/// Width the places are spread over, at most, when that leaves near places apart.
const WIDTH: f64 = 980.0;
/// Height the places are spread over, at most.
const HEIGHT: f64 = 660.0;

/// Width that each place adds until the whole is used.
const ROOM: f64 = 150.0;

/// Every place with its point.
#[derive(Debug, Clone)]
pub(super) struct Spots<'a> {
    pub(super) points: Vec<(&'a Id, Point)>,
    /// Units per metre; `None` when positions were made up.
    pub(super) scale: Option<f64>,
}

impl Spots<'_> {
    pub(super) fn of(&self, place: &Id) -> Option<Point> {
        self.points.iter().find(|(id, _)| *id == place).map(|(_, point)| *point)
    }
}

pub(super) fn spots<'a>(desk: &Desk<'a>) -> Spots<'a> {
    let places = &desk.scene.plan.places;
    // y grows away from the reader in the plan and downward on the drawing.
    let known: Vec<(&'a Id, Point)> =
        places.iter().filter_map(|(id, place)| place.at.map(|p| (id, at(p.x as f64 / 1_000.0, -p.y as f64 / 1_000.0)))).collect();
    let (metres, is_true) = if known.is_empty() { (spread(desk.scene.plan), false) } else { (known, true) };
    let scale = scale(&metres);
    let mut points: Vec<(&'a Id, Point)> = metres.into_iter().map(|(id, p)| (id, at(p.x * scale, p.y * scale))).collect();
    // Places without coordinates beside others that have them stand in a row below.
    let bottom = points.iter().map(|(_, p)| p.y).fold(0.0, f64::max);
    let left = points.iter().map(|(_, p)| p.x).fold(f64::MAX, f64::min);
    let missing = places.keys().filter(|id| !points.iter().any(|(known, _)| known == id)).collect::<Vec<_>>();
    points.extend(missing.into_iter().enumerate().map(|(n, id)| (id, at(left + 180.0 * n as f64, bottom + 120.0))));
    Spots { points, scale: is_true.then_some(scale) }
}

/// Units per metre that fill the drawing.
fn scale(points: &[(&Id, Point)]) -> f64 {
    let span = |value: fn(&Point) -> f64| {
        let values = || points.iter().map(|(_, point)| value(point));
        values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)
    };
    let (w, h) = (span(|p| p.x), span(|p| p.y));
    // A few places need little paper.
    let share = (ROOM * points.len() as f64 / WIDTH).clamp(0.35, 1.0);
    if points.len() < 2 || (w <= 0.0 && h <= 0.0) {
        return 20.0;
    }
    (WIDTH * share / w.max(1e-6)).min(HEIGHT * share / h.max(1e-6))
}
