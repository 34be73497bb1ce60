//! Heading, legend and title block around a drawing.

use crate::canvas::{Canvas, Drawing, Fill, Layer, Lettering, Pen};
use crate::geometry::{Area, at};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::theme::Ink;

/// Space around everything.
pub(crate) const MARGIN: f64 = 30.0;
/// Width over height of what a landscape sheet leaves for a drawing beside margins, heading and title block.
pub(crate) const SHEET_RATIO: f64 = 1.7;
/// About what legend and title block add to the height.
pub(crate) const FOOT: f64 = 80.0;
/// Height of the heading.
const HEADING_H: f64 = 74.0;
/// Height of legend and title block.
const FOOT_H: f64 = 60.0;
/// What a drawing is never narrower than.
const LEAST_W: f64 = 720.0;

/// What stands above and below a drawing.
#[derive(Debug, Clone)]
pub(crate) struct Heading {
    title: String,
    subtitle: String,
    is_bare: bool,
}

impl Heading {
    pub(crate) fn new(desk: &Desk<'_>, title: String, counts: String) -> Self {
        let name = &desk.scene.plan.about.name;
        let subtitle = if name.is_empty() { counts } else { format!("{name} \u{b7} {counts}") };
        Self { title, subtitle, is_bare: desk.options.bare }
    }

    /// Where the drawing proper begins.
    pub(crate) fn height(&self) -> f64 {
        if self.is_bare { 14.0 } else { HEADING_H }
    }

    /// Adds heading, legend and title block to what was drawn within `size`, and ends the drawing.
    pub(crate) fn finish(&self, desk: &Desk<'_>, mut canvas: Canvas<'_>, (width, bottom): (f64, f64)) -> Drawing {
        let width = width.max(if self.is_bare { 320.0 } else { LEAST_W });
        canvas.on(Layer::Ground);
        if !self.is_bare {
            let room = width - 2.0 * MARGIN;
            let title = Lettering::new(Typeface::Bold, 23.0, Ink::Text);
            canvas.text_within(at(MARGIN, 40.0), &self.title, (&title, room));
            let subtitle = Lettering::new(Typeface::Regular, 12.0, Ink::Soft);
            canvas.text_within(at(MARGIN, 60.0), &self.subtitle, (&subtitle, room));
        }
        let foot = Area::new(MARGIN, bottom + 14.0, width - 2.0 * MARGIN, FOOT_H - 26.0);
        let block = if self.is_bare { 0.0 } else { desk.title_block(&mut canvas, foot) };
        let legend_rows = desk.legend(&mut canvas, foot, foot.w - block - 24.0);
        let height = foot.y + (legend_rows * LEGEND_ROW).max(foot.h) + 14.0;
        canvas.finish((width, height), &self.title)
    }
}

/// From one row of the legend to the next.
const LEGEND_ROW: f64 = 22.0;

impl Desk<'_> {
    /// Draws the legend within `room` and returns how many rows it took.
    fn legend(&self, canvas: &mut Canvas<'_>, foot: Area, room: f64) -> f64 {
        let look = Lettering::new(Typeface::Regular, 10.5, Ink::Text);
        let (mut x, mut y) = (foot.x, foot.y + 12.0);
        for (text, pens) in self.legend_entries() {
            let width = 44.0 + Typeface::Regular.width(&text, 10.5) + 26.0;
            if x > foot.x && x + width > foot.x + room {
                (x, y) = (foot.x, y + LEGEND_ROW);
            }
            for pen in pens {
                canvas.trace(&format!("M{x:.1} {:.1}h34", y - 3.5), &pen);
            }
            canvas.text(at(x + 44.0, y), &text, &look);
            x += width;
        }
        (y - foot.y - 12.0) / LEGEND_ROW + 1.0
    }

    fn legend_entries(&self) -> Vec<(String, Vec<Pen>)> {
        let mut entries: Vec<(String, Vec<Pen>)> = Vec::new();
        if self.options.layers.networks {
            entries.extend(self.palette.iter().map(|style| {
                let pen = Pen { ink: style.ink(), width: 2.4, dash: style.dash };
                (format!("{} \u{b7} network {} ({})", style.letter, style.id, style.line_word()), vec![pen])
            }));
        }
        if self.options.layers.hang {
            let says = "broad: much hangs on it; 19/51: without it 19 deliveries fall silent, 51 lose a leg; !: essential";
            entries.push((says.to_owned(), vec![Pen::solid(Ink::Trunk, 8.0)]));
        } else if self.options.layers.load {
            entries.push(("broad line: high load".to_owned(), vec![Pen::solid(Ink::Trunk, 6.0)]));
        } else if self.scene.wiring.cables.values().any(|cable| self.scene.is_trunk(cable)) {
            entries.push(("trunk, switch to switch".to_owned(), vec![Pen::solid(Ink::Trunk, 5.0), Pen::solid(Ink::Paper, 1.5)]));
        }
        entries
    }

    /// Draws revision, date and digest at the right and returns the width.
    fn title_block(&self, canvas: &mut Canvas<'_>, foot: Area) -> f64 {
        let about = &self.scene.plan.about;
        let digest: String = self.scene.report.plan.digest.chars().take(12).collect();
        let cells = [("REVISION", about.revision.clone()), ("DATE", about.date.clone().unwrap_or_default()), ("PLAN DIGEST", digest)];
        let cells: Vec<_> = cells.into_iter().filter(|(_, value)| !value.is_empty()).collect();
        let widths: Vec<f64> = cells.iter().map(|(head, value)| block_width(head, value)).collect();
        let all: f64 = widths.iter().sum();
        if cells.is_empty() {
            return 0.0;
        }
        let mut x = foot.right() - all;
        let rim = Fill { ink: Some(Ink::Card), edge: Some(Pen::solid(Ink::Line, 1.0)), radius: 5.0 };
        canvas.area(Area::new(x, foot.y - 4.0, all, 40.0), &rim);
        for (n, ((head, value), width)) in cells.iter().zip(&widths).enumerate() {
            if n > 0 {
                canvas.trace(&format!("M{x:.1} {:.1}v40", foot.y - 4.0), &Pen::solid(Ink::Line, 1.0));
            }
            canvas.text(at(x + 12.0, foot.y + 11.0), head, &Lettering::new(Typeface::Regular, 8.5, Ink::Soft));
            canvas.text(at(x + 12.0, foot.y + 27.0), value, &Lettering::new(Typeface::Bold, 11.0, Ink::Text));
            x += width;
        }
        all
    }
}

fn block_width(head: &str, value: &str) -> f64 {
    Typeface::Regular.width(head, 8.5).max(Typeface::Bold.width(value, 11.0)) + 24.0
}
