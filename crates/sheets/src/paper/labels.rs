//! Cable labels: two for each cable, one for each end.

use super::block::Title;
use super::{FAINT, INK, Look, Mark, PLAIN, Page, Tint, pattern};
use crate::cautions::STANDING;
use crate::tables::{Source, natural};
use loomwright_drawing::Typeface;
use loomwright_drawing::geometry::Area;
use loomwright_model::{Cable, Id, PortRef};
use qrcode::{Color, EcLevel, QrCode};
use std::sync::Arc;

/// A sheet of self-adhesive labels. **Unit**: millimetre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LabelSheet {
    /// Size of the sheet.
    pub sheet: (f64, f64),
    /// Size of one label.
    pub label: (f64, f64),
    /// Labels across and down.
    pub grid: (usize, usize),
    /// From the sheet's left and upper edge to the first label.
    pub offset: (f64, f64),
    /// Gaps between labels, across and down.
    pub gap: (f64, f64),
}

impl Default for LabelSheet {
    /// A4 upright with 3 by 8 labels of 63.5 by 33.9 mm: a common office format, from memory.
    fn default() -> Self {
        Self { sheet: (210.0, 297.0), label: (63.5, 33.9), grid: (3, 8), offset: (7.2, 12.9), gap: (2.5, 0.0) }
    }
}

/// Points in a millimetre.
const POINTS: f64 = 72.0 / 25.4;
/// Inside a label.
const INSET: f64 = 5.0;
/// Width of the network bar.
const BAR_W: f64 = 17.0;
/// Side of the code as a share of the label's height.
const CODE_SHARE: f64 = 0.54;
/// White rim of a QR code in modules. **Source**: ISO/IEC 18004 (from memory).
const QUIET: usize = 4;

/// Side of the codes of a sheet, in points.
pub(crate) fn code_side(sheet: &LabelSheet) -> f64 {
    let (w, h) = (sheet.label.0 * POINTS - 2.0 * INSET, sheet.label.1 * POINTS - 2.0 * INSET);
    (h * CODE_SHARE).min(w * 0.34)
}

/// One label: a cable and the end it sits at.
struct Label<'a> {
    id: &'a Id,
    cable: &'a Cable,
    here: &'a PortRef,
    there: &'a PortRef,
    /// Dark parts of its QR code, the same at both ends.
    code: Arc<[Area]>,
}

/// Pages of labels in natural order of cable names; both ends of a cable side by side.
pub(crate) fn pages<'a>(source: &Source<'a>, sheet: &LabelSheet, prefix: &str) -> Vec<Page> {
    let mut cables: Vec<(&'a Id, &'a Cable)> = source.scene.wiring.cables.iter().collect();
    cables.sort_by(|a, b| natural(a.0.as_str(), b.0.as_str()));
    let side = code_side(sheet);
    let both = |(id, cable): (&'a Id, &'a Cable)| {
        let code = code_areas(&format!("{prefix}{id}"), side);
        [0, 1].map(|n| Label { id, cable, here: &cable.ends[n], there: &cable.ends[1 - n], code: Arc::clone(&code) })
    };
    let labels: Vec<Label<'_>> = cables.into_iter().flat_map(both).collect();
    let (across, down) = (sheet.grid.0.max(1), sheet.grid.1.max(1));
    let size = (sheet.sheet.0 * POINTS, sheet.sheet.1 * POINTS);
    let mut pages = Vec::new();
    for some in labels.chunks(across * down) {
        let mut page = Page::new(size, "Labels", &[]);
        for (n, label) in some.iter().enumerate() {
            let (column, row) = (n % across, n / across);
            let x = sheet.offset.0 + (sheet.label.0 + sheet.gap.0) * column as f64;
            let y = sheet.offset.1 + (sheet.label.1 + sheet.gap.1) * row as f64;
            let area = Area::new(x * POINTS, y * POINTS, sheet.label.0 * POINTS, sheet.label.1 * POINTS);
            draw(&mut page, (source, label), (area, side));
        }
        pages.push(page);
    }
    pages
}

/// The line at the foot of a label page; labels leave no room for a whole title block.
pub(crate) fn draw_foot(page: &mut Page, title: &str, (number, count): (usize, usize)) {
    let look = FAINT;
    let end = format!("page {number} of {count}");
    let (x, y) = (24.0, page.size.1 - 14.0);
    let room = page.size.0 - 2.0 * x - look.width(&end) - look.width(STANDING) - 20.0;
    let title = look.face.fit(title, look.size, room).into_owned();
    page.text((x, y), format!("{title}  \u{b7}  {STANDING}"), look);
    page.text_end((page.size.0 - x, y), &end, look);
}

/// What the foot of a label page says first.
pub(crate) fn foot_title(title: &Title) -> String {
    title.short()
}

fn draw(page: &mut Page, (source, label): (&Source<'_>, &Label<'_>), (area, code): (Area, f64)) {
    page.marks.push(Mark::Outline { area: area.grown(-0.5), tint: super::HAIR, width: 0.4 });
    let inner = area.grown(-INSET);
    let bar = Area::new(inner.x, inner.y, BAR_W, inner.h);
    let style = source.palette.main(&label.cable.networks);
    let ink = source.palette.ink(&label.cable.networks);
    pattern::bar(page, bar, (pattern::tint(ink), style.map_or(0, |style| style.slot)));
    draw_letters(page, &source.palette.letters(&label.cable.networks), bar);
    let code_area = Area::new(inner.right() - code, inner.y, code, code);
    let black = Tint(0, 0, 0);
    page.marks.push(Mark::Fills { areas: Arc::clone(&label.code), by: (code_area.x, code_area.y), tint: black });
    let x = bar.right() + 6.0;
    draw_texts(page, (source, label), (Area::new(x, inner.y, inner.right() - x, inner.h), code_area.x - x - 4.0));
}

/// Network letters on a white patch, one below the other.
fn draw_letters(page: &mut Page, letters: &str, bar: Area) {
    let look = Look { face: Typeface::Bold, size: 12.0, tint: INK };
    let count = letters.chars().count() as f64;
    let patch = Area::new(bar.x + 1.5, bar.y + 3.0, bar.w - 3.0, 14.0 * count + 2.0);
    page.marks.push(Mark::Fill { area: patch, tint: super::WHITE });
    for (n, letter) in letters.chars().enumerate() {
        let text = letter.to_string();
        let x = bar.centre().x - look.width(&text) / 2.0;
        page.text((x, patch.y + 12.0 + 14.0 * n as f64), text, look);
    }
}

fn draw_texts(page: &mut Page, (source, label): (&Source<'_>, &Label<'_>), (area, narrow): (Area, f64)) {
    let big = Look { face: Typeface::CondensedBold, size: fitting(label.id.as_str(), narrow), tint: INK };
    let name = big.face.fit(label.id.as_str(), big.size, narrow).into_owned();
    page.text((area.x, area.y + 17.0), name, big);
    let bold = Look { face: Typeface::CondensedBold, size: super::BODY, tint: INK };
    let length = format!("{} \u{b7} {}", label.cable.length, label.cable.medium);
    page.text((area.x, area.y + 30.0), PLAIN.face.fit(&length, PLAIN.size, narrow).into_owned(), PLAIN);
    let place = |end: &PortRef| source.place_name(&end.item).to_owned();
    let lines = [
        (bold, format!("HERE {}", label.here), area.w),
        (PLAIN, place(label.here), area.w),
        (bold, format!("TO {}", label.there), area.w),
        (PLAIN, place(label.there), area.w),
    ];
    let mut y = area.bottom() - 31.5;
    for (look, text, room) in lines {
        page.text((area.x, y), look.face.fit(&text, look.size, room).into_owned(), look);
        y += 10.3;
    }
}

/// The largest size up to 19 points at which `text` fits into `room`, but at least 10.
fn fitting(text: &str, room: f64) -> f64 {
    let at_one = Typeface::CondensedBold.width(text, 1.0).max(0.01);
    (room / at_one).clamp(super::NAME, 19.0)
}

/// Side of one module of a code drawn in a square of `side`, in points.
pub(crate) fn module(code: &QrCode, side: f64) -> f64 {
    side / (code.width() + 2 * QUIET) as f64
}

/// The code for `text` with medium correction; `None` when the text is too long for any code.
pub(crate) fn code_for(text: &str) -> Option<QrCode> {
    QrCode::with_error_correction_level(text, EcLevel::M).ok()
}

/// The dark parts of a QR code in a square of `side` at the origin, each row as runs: single squares show
/// seams in some viewers.
fn code_areas(text: &str, side: f64) -> Arc<[Area]> {
    let Some(code) = code_for(text) else { return Arc::new([]) };
    let (width, module) = (code.width(), module(&code, side));
    let mut areas = Vec::new();
    for (row, modules) in code.to_colors().chunks(width).enumerate() {
        let mut at = 0;
        for run in modules.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                let (x, y) = (module * (at + QUIET) as f64, module * (row + QUIET) as f64);
                areas.push(Area::new(x, y, module * run.len() as f64, module));
            }
            at += run.len();
        }
    }
    areas.into()
}
