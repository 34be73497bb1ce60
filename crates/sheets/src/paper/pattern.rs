//! The coloured end of a label: network colour with a pattern that survives black and white.

use super::{Mark, Page, Tint, WHITE};
use loomwright_drawing::geometry::Area;
use loomwright_drawing::theme::Ink;

/// The print colour of `ink`.
pub(crate) fn tint(ink: Ink) -> Tint {
    let hex = ink.colour().light;
    let part = |at: usize| hex.get(at..at + 2).and_then(|digits| u8::from_str_radix(digits, 16).ok()).unwrap_or(0);
    Tint(part(1), part(3), part(5))
}

/// Fills `area` with `tint`, and with white bars, squares or both by palette slot: solid, bars, dots,
/// wide bars, thin bars, dense bars.
pub(crate) fn bar(page: &mut Page, area: Area, (tint, slot): (Tint, usize)) {
    page.marks.push(Mark::Fill { area, tint });
    let (step, thick) = match slot {
        1 => (9.0, 3.0),
        3 => (14.0, 3.0),
        4 => (18.0, 2.0),
        5 => (5.0, 2.0),
        2 => return dots(page, area),
        _ => return,
    };
    let mut y = area.y + step - thick;
    while y + thick < area.bottom() {
        page.marks.push(Mark::Fill { area: Area::new(area.x, y, area.w, thick), tint: WHITE });
        y += step;
    }
}

fn dots(page: &mut Page, area: Area) {
    let side = 2.8;
    let mut y = area.y + 3.0;
    while y + side < area.bottom() {
        for x in [area.x + area.w * 0.25, area.x + area.w * 0.75] {
            page.marks.push(Mark::Fill { area: Area::new(x - side / 2.0, y, side, side), tint: WHITE });
        }
        y += 2.0 * side;
    }
}
