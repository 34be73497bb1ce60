//! Pages as measured lists of texts, boxes and pictures, before any PDF is written. **Unit**: point, 1/72 inch; y grows downward.

pub(crate) mod block;
pub(crate) mod book;
pub(crate) mod card;
pub(crate) mod cover;
pub(crate) mod grid;
pub(crate) mod labels;
pub(crate) mod pattern;
pub(crate) mod picture;
pub(crate) mod render;
#[cfg(test)]
mod tests;
pub(crate) mod widths;

pub use labels::LabelSheet;
pub use picture::Paper;

use loomwright_drawing::geometry::Area;
use loomwright_drawing::{Drawing, Typeface};
use std::sync::Arc;

/// Landscape A4. **Source**: ISO 216, 297 mm by 210 mm.
pub(crate) const A4: (f64, f64) = (841.9, 595.3);
/// Space left and right.
pub(crate) const SIDE: f64 = 34.0;
/// Space above.
pub(crate) const TOP: f64 = 30.0;
/// Running text; read at arm's length. Common practice, no source.
pub(crate) const BODY: f64 = 8.5;
/// Names that people look for.
pub(crate) const NAME: f64 = 10.0;

/// A plain colour: red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Tint(pub(crate) u8, pub(crate) u8, pub(crate) u8);

/// Main text.
pub(crate) const INK: Tint = Tint(24, 34, 45);
/// Second text; 5.9 to 1 on white.
pub(crate) const SOFT: Tint = Tint(86, 100, 116);
/// Thin lines.
pub(crate) const HAIR: Tint = Tint(190, 199, 209);
/// Ground of headings.
pub(crate) const BAND: Tint = Tint(238, 241, 245);
/// Paper.
pub(crate) const WHITE: Tint = Tint(255, 255, 255);

/// One thing on a page.
#[derive(Debug, Clone)]
pub(crate) enum Mark {
    /// A text with its baseline at (x, y).
    Text { x: f64, y: f64, text: String, look: Look },
    /// A filled box.
    Fill { area: Area, tint: Tint },
    /// Many filled boxes in one stroke of the press.
    Fills { areas: Arc<[Area]>, by: (f64, f64), tint: Tint },
    /// An outlined box.
    Outline { area: Area, tint: Tint, width: f64 },
    /// A straight line.
    Line { from: (f64, f64), to: (f64, f64), width: f64, tint: Tint },
    /// A drawing scaled into a box.
    Picture { area: Area, drawing: Box<Drawing> },
}

/// How a text looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Look {
    pub(crate) face: Typeface,
    pub(crate) size: f64,
    pub(crate) tint: Tint,
}

/// Running text.
pub(crate) const PLAIN: Look = Look { face: Typeface::Condensed, size: BODY, tint: INK };
/// Second text.
pub(crate) const FAINT: Look = Look { face: Typeface::Condensed, size: BODY, tint: SOFT };
/// Names.
pub(crate) const STRONG: Look = Look { face: Typeface::CondensedBold, size: NAME, tint: INK };

impl Look {
    pub(crate) const fn sized(mut self, size: f64) -> Self {
        self.size = size;
        self
    }

    pub(crate) const fn tinted(mut self, tint: Tint) -> Self {
        self.tint = tint;
        self
    }

    pub(crate) fn width(&self, text: &str) -> f64 {
        self.face.width(text, self.size)
    }

    pub(crate) fn wrap(&self, text: &str, width: f64) -> Vec<String> {
        self.face.wrap(text, self.size, width)
    }

    /// From one line to the next.
    pub(crate) fn leading(&self) -> f64 {
        self.size * 1.26
    }
}

/// One page.
#[derive(Debug, Clone)]
pub(crate) struct Page {
    pub(crate) size: (f64, f64),
    pub(crate) marks: Vec<Mark>,
    /// Name of the sheet it belongs to.
    pub(crate) sheet: String,
    /// Safety words in its title block.
    pub(crate) cautions: Vec<&'static str>,
}

impl Page {
    pub(crate) fn new(size: (f64, f64), sheet: impl Into<String>, cautions: &[&'static str]) -> Self {
        Self { size, marks: Vec::new(), sheet: sheet.into(), cautions: cautions.to_vec() }
    }

    /// The part between the margins and above the title block.
    pub(crate) fn body(&self) -> Area {
        let height = self.size.1 - TOP - block::height(self.size.0, &self.cautions) - 10.0;
        Area::new(SIDE, TOP, self.size.0 - 2.0 * SIDE, height)
    }

    pub(crate) fn text(&mut self, (x, y): (f64, f64), text: impl Into<String>, look: Look) {
        let text = text.into();
        if !text.is_empty() {
            self.marks.push(Mark::Text { x, y, text, look });
        }
    }

    pub(crate) fn text_end(&mut self, (x, y): (f64, f64), text: &str, look: Look) {
        self.text((x - look.width(text), y), text, look);
    }

    /// Writes wrapped text downward from `y` and returns the baseline after the last line.
    pub(crate) fn paragraph(&mut self, (x, y, width): (f64, f64, f64), text: &str, look: Look) -> f64 {
        let mut y = y;
        for line in look.wrap(text, width) {
            self.text((x, y), line, look);
            y += look.leading();
        }
        y
    }

    pub(crate) fn rule(&mut self, from: (f64, f64), to: (f64, f64), width: f64) {
        self.marks.push(Mark::Line { from, to, width, tint: INK });
    }

    pub(crate) fn hair(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.marks.push(Mark::Line { from, to, width: 0.5, tint: HAIR });
    }
}

/// The sheet's name large at the top; returns the baseline for what follows.
pub(crate) fn heading(page: &mut Page, title: &str, note: &str) -> f64 {
    let body = page.body();
    page.text((body.x, body.y + 14.0), title, Look { face: Typeface::CondensedBold, size: 17.0, tint: INK });
    if note.is_empty() {
        return body.y + 26.0;
    }
    page.paragraph((body.x, body.y + 29.0, body.w), note, FAINT) + 3.0
}
