//! Places as boxes, by height and then from left to right; the switches and devices in them; the
//! trunks between them with medium, length and load.
//!
//! **Shape**: every line leaves a box upward into the channel above its row, runs there in a lane of its
//! own, and changes rows in a gutter between columns. Labels stand on lanes and share them only where
//! both line and label are apart.

mod links;
mod nodes;
mod routing;

use crate::canvas::{Canvas, Drawing, Fill, Layer, Lettering, Pen};
use crate::frame::{FOOT, Heading, MARGIN, SHEET_RATIO};
use crate::geometry::{Area, Point, at, short};
use crate::measure::Typeface;
use crate::options::{Desk, Options};
use crate::scene::Scene;
use crate::theme::Ink;
use links::{Link, links};
use loomwright_model::Item;
use nodes::{Node, NodeKind, PlaceBox, boxes, into_rows};
use routing::{Routed, route};

/// Draws places, switches and the trunks between them.
pub fn riser(scene: &Scene<'_>, options: &Options) -> Drawing {
    let desk = Desk::new(scene, options);
    let mut canvas = Canvas::new(options.theme, &options.dim, &options.gone);
    let mut boxes = boxes(&desk);
    let links = links(&desk, &boxes);
    let switches: usize = scene.switching_items().len();
    let counts = format!("{} places, {switches} switches, {} devices", boxes.len(), scene.plan.devices.len());
    let heading = Heading::new(&desk, "Places and trunks".to_owned(), counts);
    let routed = best_layout(&desk, (&mut boxes, &links), at(MARGIN, heading.height()));
    let has_levels = boxes.iter().any(|place| place.height != boxes[0].height);
    for (place, area) in boxes.iter().zip(&routed.boxes) {
        desk.draw_place(&mut canvas, (place, has_levels), area);
    }
    for (node, area) in boxes.iter().flat_map(|place| &place.nodes).zip(&routed.nodes) {
        desk.draw_node(&mut canvas, node, area);
    }
    for (link, way) in links.iter().zip(&routed.ways) {
        desk.draw_link(&mut canvas, link, way);
    }
    heading.finish(&desk, canvas, (routed.width, routed.bottom))
}

/// Most places in one row.
const MOST_COLUMNS: usize = 7;

/// The layout, by places in a row, that can be printed largest on a landscape sheet; the rows are set in `boxes`.
fn best_layout(desk: &Desk<'_>, (boxes, links): (&mut [PlaceBox<'_>], &[Link<'_>]), corner: Point) -> Routed {
    let mut layout = |most| {
        into_rows(boxes, most);
        route(desk, boxes, links, corner)
    };
    let size = |routed: &Routed| (routed.width / SHEET_RATIO).max(routed.bottom + FOOT);
    let sizes: Vec<f64> = (2..=MOST_COLUMNS).map(|most| size(&layout(most))).collect();
    let best = (0..sizes.len()).min_by(|a, b| sizes[*a].total_cmp(&sizes[*b])).unwrap_or(0);
    layout(best + 2)
}

impl<'a> Desk<'a> {
    fn draw_place(&self, canvas: &mut Canvas<'_>, (place, has_levels): (&PlaceBox<'a>, bool), area: &Area) {
        canvas.on(Layer::Ground);
        let ground = Fill { ink: Some(Ink::Zone), edge: Some(Pen::solid(Ink::Line, 1.0)), radius: 12.0 };
        let name = place.id.map_or("no place", |id| self.scene.place_name(id));
        if let Some(id) = place.id {
            canvas.open(&Item::Place(id.clone()), &format!("Place {name}"), false);
        }
        canvas.area(*area, &ground);
        let look = Lettering::new(Typeface::Bold, 12.0, Ink::Text);
        let soft = Lettering::new(Typeface::Regular, 10.0, Ink::Soft).end();
        let level = if has_levels { level(place.height) } else { String::new() };
        let room = area.w - 40.0 - Typeface::Regular.width(&level, 10.0);
        canvas.text_within(at(area.x + 16.0, area.bottom() - 13.0), name, (&look, room));
        canvas.text(at(area.right() - 16.0, area.bottom() - 13.0), &level, &soft);
        if place.id.is_some() {
            canvas.close();
        }
    }

    fn draw_node(&self, canvas: &mut Canvas<'_>, node: &Node<'a>, area: &Area) {
        let is_metal = node.kind != NodeKind::Devices;
        let (ground, edge) = if is_metal { (Ink::Metal, Ink::MetalEdge) } else { (Ink::Card, Ink::Text) };
        let (strong, weak) = if is_metal { (Ink::MetalText, Ink::MetalText) } else { (Ink::Text, Ink::Soft) };
        canvas.on(Layer::Boxes);
        let item = match node.items.as_slice() {
            [one] if is_metal => Some(self.scene.item(one)),
            _ => None,
        };
        if let Some(item) = &item {
            canvas.open(item, &format!("Switch {}", item.name()), true);
        }
        let rim = item.as_ref().and_then(|item| self.hang(item)).map_or(1.1, |hang| self.hang_width(hang).max(1.1));
        canvas.area(*area, &Fill { ink: Some(ground), edge: Some(Pen::solid(edge, rim)), radius: 7.0 });
        let room = area.w - 24.0;
        canvas.text_within(at(area.x + 12.0, area.y + 21.0), &node.title, (&Lettering::new(Typeface::Bold, 12.0, strong), room));
        for (n, line) in node.lines.iter().enumerate() {
            let look = Lettering::new(Typeface::Regular, 10.0, weak);
            canvas.text_within(at(area.x + 12.0, area.y + 37.0 + 14.0 * n as f64), line, (&look, room));
        }
        if let Some(item) = &item {
            if canvas.is_gone(item) {
                let Area { x, y, w, h } = *area;
                canvas.trace(&format!("M{x} {y}l{w} {h}M{x} {}l{w} -{h}", y + h), &Pen::solid(Ink::Danger, 2.4));
            }
            canvas.close();
        }
    }
}

/// A height as people say it.
fn level(height: i64) -> String {
    let sign = if height < 0 { "-" } else { "" };
    format!("level {sign}{} m", short(height.unsigned_abs() as f64 / 1_000.0))
}

#[cfg(test)]
mod tests;
