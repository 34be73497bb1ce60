//! Places where they are, the routes between them, hazards, and how many cables lie in each route.
//!
//! **Shape**: places stand at their coordinates to scale; names and labels then take the nearest free
//! spot. Without coordinates the places are spread so that distances on paper follow the lengths of the
//! routes as well as they can, and the drawing says that it is not to scale.

mod marks;
mod spots;
mod spread;

use crate::canvas::{Canvas, Drawing, Layer, Lettering, Pen};
use crate::frame::{Heading, MARGIN};
use crate::geometry::{Area, at};
use crate::measure::Typeface;
use crate::options::{Desk, Options};
use crate::scene::Scene;
use crate::theme::Ink;
use marks::Board;
use spots::spots;

/// Room below the drawing for the scale.
const SCALE_H: f64 = 34.0;

/// Draws the floor plan.
pub fn floor(scene: &Scene<'_>, options: &Options) -> Drawing {
    let desk = Desk::new(scene, options);
    let mut canvas = Canvas::new(options.theme, &options.dim, &options.gone);
    let spots = spots(&desk);
    let counts = format!("{} places, {} routes, {} cables", scene.plan.places.len(), scene.plan.routes.len(), scene.wiring.cables.len());
    let heading = Heading::new(&desk, "Floor plan".to_owned(), counts);
    let mut board = Board::new(&desk, &spots);
    board.settle();
    let extent = board.extent();
    let shift = at(MARGIN - extent.x, heading.height() + 10.0 - extent.y);
    board.draw(&mut canvas, shift);
    let area = Area::new(MARGIN, heading.height() + 10.0, extent.w, extent.h);
    draw_scale(&mut canvas, &area, spots.scale);
    heading.finish(&desk, canvas, (extent.w.max(320.0) + 2.0 * MARGIN, area.bottom() + SCALE_H))
}

/// The scale bar, or the words that there is none. `scale` is in units per metre.
fn draw_scale(canvas: &mut Canvas<'_>, area: &Area, scale: Option<f64>) {
    let look = Lettering::new(Typeface::Regular, 10.0, Ink::Text);
    let (x, y) = (area.x, area.bottom() + 24.0);
    canvas.on(Layer::Ground);
    let Some(scale) = scale else {
        return canvas.text(at(x, y), "Not to scale: the plan gives no coordinates.", &look);
    };
    let metres = round_length(90.0 / scale);
    let width = metres * scale;
    canvas.trace(&format!("M{x:.1} {:.1}v-7h{width:.1}v7", y), &Pen::solid(Ink::Text, 1.4));
    canvas.trace(&format!("M{:.1} {:.1}v-7", x + width / 2.0, y), &Pen::solid(Ink::Text, 1.0));
    canvas.text(at(x + width + 10.0, y), &format!("{metres} m"), &look);
}

/// The smallest of 1, 2, 5 times a power of ten that is at least `metres`.
fn round_length(metres: f64) -> f64 {
    let power = 10_f64.powf(metres.max(0.001).log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|step| step * power).find(|length| *length >= metres * 0.999).unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests;
