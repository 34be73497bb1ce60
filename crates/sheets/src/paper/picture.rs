//! Drawings on pages of the smallest size that leaves them readable.

use super::{A4, Mark, Page, heading};
use loomwright_drawing::Drawing;
use loomwright_drawing::geometry::Area;

/// Landscape sheets from A4 up. **Source**: ISO 216.
const SHEETS: [Sheet; 4] = [
    Sheet { paper: Paper::A4, size: A4, least: 0.8 },
    Sheet { paper: Paper::A3, size: (1190.6, 841.9), least: 0.7 },
    Sheet { paper: Paper::A2, size: (1683.8, 1190.6), least: 0.7 },
    Sheet { paper: Paper::A1, size: (2383.9, 1683.8), least: 0.0 },
];
/// A size of paper, landscape. **Source**: ISO 216.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Paper {
    /// 297 mm by 210 mm.
    A4,
    /// 420 mm by 297 mm.
    A3,
    /// 594 mm by 420 mm.
    A2,
    /// 841 mm by 594 mm.
    #[default]
    A1,
}

/// One size of paper.
#[derive(Clone, Copy)]
struct Sheet {
    paper: Paper,
    size: (f64, f64),
    /// Least scale: running text of drawings is 10 units high, so 0.8 makes it 8 points. Own choice, readable at arm's length.
    least: f64,
}

/// A small drawing is not blown up further than this.
const MOST_SCALE: f64 = 1.15;

/// The page of a drawing that was made without its own heading: the smallest that leaves it readable, but
/// none larger than `largest`.
pub(crate) fn page(drawing: Drawing, (sheet, note): (&str, &str), (cautions, largest): (&[&'static str], Paper)) -> Page {
    let fits = |paper: &&Sheet| scale(&drawing, &Page::new(paper.size, sheet, cautions)) >= paper.least || paper.paper == largest;
    let Sheet { paper, size, .. } = SHEETS.iter().find(fits).copied().unwrap_or(SHEETS[3]);
    let note = if paper == Paper::A4 { note.to_owned() } else { format!("{note} Print on {paper:?}.") };
    let mut page = Page::new(size, sheet, cautions);
    let scale = scale(&drawing, &page).min(MOST_SCALE);
    heading(&mut page, sheet, note.trim());
    let room = room(&page);
    let (w, h) = (drawing.width * scale, drawing.height * scale);
    // Hung from the top, centred: white space gathers at the foot.
    let area = Area::new(room.x + (room.w - w) / 2.0, room.y, w, h);
    page.marks.push(Mark::Picture { area, drawing: Box::new(drawing) });
    page
}

fn room(page: &Page) -> Area {
    let body = page.body();
    // Two lines of note under the heading.
    Area::new(body.x, body.y + 46.0, body.w, body.h - 46.0)
}

fn scale(drawing: &Drawing, page: &Page) -> f64 {
    let room = room(page);
    (room.w / drawing.width.max(1.0)).min(room.h / drawing.height.max(1.0))
}
