//! Where everything of a panel drawing stands.

use super::Subject;
use super::arrange::{Card, Column, Section};
use super::card::{CARD_W, TAB_H};
use super::front::{FRONT_H, Front};
use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::frame::MARGIN;
use crate::geometry::{Area, Point, at};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::pill::PILL;
use crate::theme::Ink;
use loomwright_model::Id;
use std::collections::BTreeSet;

/// From one lane to the next.
const LANE: f64 = 10.0;
/// Between a column of cards and the next when no lane runs there.
const COLUMN_GAP: f64 = 20.0;
/// Inside a place, left and right.
const ZONE_SIDE: f64 = 18.0;
/// Between two places.
const ZONE_GAP: f64 = 16.0;
/// Between two switches.
const SECTION_GAP: f64 = 40.0;
/// From a label's lower edge to the tab below it.
pub(super) const LABEL_DROP: f64 = 5.0;
/// From a label to the one above it where two do not fit side by side.
pub(super) const LABEL_STEP: f64 = PILL + 3.0;

/// One column, placed.
pub(super) struct PlacedColumn<'a> {
    pub(super) column: Column<'a>,
    /// The bodies of its cards.
    pub(super) cards: Vec<Area>,
    /// Where its first lane runs.
    pub(super) lane: f64,
}

/// One switch with what hangs under it, placed.
pub(super) struct PlacedSection<'a> {
    pub(super) hub: Option<(&'a Id, Front)>,
    /// The left upper corner of its front.
    pub(super) origin: Point,
    pub(super) columns: Vec<PlacedColumn<'a>>,
    pub(super) trunks: Vec<(&'a Id, &'a Id)>,
    zones: Vec<(Option<&'a Id>, Area)>,
}

/// A whole panel, placed.
pub(super) struct Placed<'a> {
    pub(super) sections: Vec<PlacedSection<'a>>,
    pub(super) width: f64,
    pub(super) bottom: f64,
    /// Upper edge of the drawing proper.
    pub(super) top: f64,
}

impl<'a> Placed<'a> {
    /// Cables that are drawn as lines.
    fn drawn(&self) -> BTreeSet<&'a Id> {
        let trunks = self.sections.iter().flat_map(|section| section.trunks.iter().map(|(id, _)| *id));
        let cards = self.cards().flat_map(|card| card.entries.iter().map(|entry| entry.cable).chain(card.chained.map(|(id, ..)| id)));
        trunks.chain(cards).collect()
    }

    fn cards(&self) -> impl Iterator<Item = &Card<'a>> {
        self.sections.iter().flat_map(|section| &section.columns).flat_map(|column| &column.column.cards)
    }
}

/// Heights that all sections share.
#[derive(Clone, Copy)]
struct Rows {
    /// Upper edge of the fronts.
    front: f64,
    /// Upper edge of the first row of cards.
    cards: f64,
    card_h: f64,
    /// From one row to the next.
    pitch: f64,
}

/// How wide the cards of a section are together.
pub(super) fn cards_width(section: &Section<'_>) -> f64 {
    let columns: f64 = section.columns.iter().map(column_width).sum();
    columns + zone_count(section) as f64 * (2.0 * ZONE_SIDE + ZONE_GAP - COLUMN_GAP)
}

fn column_width(column: &Column<'_>) -> f64 {
    let lanes = column.lanes();
    CARD_W + COLUMN_GAP + if lanes == 0 { 0.0 } else { LANE * lanes as f64 + 4.0 }
}

fn zone_count(section: &Section<'_>) -> usize {
    section.columns.chunk_by(|a, b| a.place == b.place).count()
}

/// Places sections side by side below `corner`.
pub(super) fn place_sections<'a>(desk: &Desk<'a>, sections: Vec<Section<'a>>, corner: Point) -> Placed<'a> {
    let rows = rows(desk, &sections, corner.y);
    let mut x = corner.x + MARGIN;
    let mut placed = Vec::new();
    for section in sections {
        let (section, right) = place_section(desk, section, (x, rows));
        placed.push(section);
        x = right + SECTION_GAP;
    }
    let cards = placed.iter().flat_map(|section| &section.columns).flat_map(|column| &column.cards);
    let lowest = cards.map(Area::bottom).fold(rows.front + FRONT_H, f64::max);
    // The lower edge leaves room for tabs and the name of the place.
    let bottom = lowest + if placed.iter().any(|section| !section.columns.is_empty()) { 60.0 } else { 20.0 };
    for zone in placed.iter_mut().flat_map(|section| &mut section.zones) {
        zone.1.h = bottom - zone.1.y - 10.0;
    }
    Placed { sections: placed, width: x - SECTION_GAP + MARGIN, bottom, top: corner.y }
}

fn rows(desk: &Desk<'_>, sections: &[Section<'_>], top: f64) -> Rows {
    let cards = || sections.iter().flat_map(|section| &section.columns).flat_map(|column| &column.cards);
    let card_h = desk.card_height(cards());
    let labels = cards().map(|card| card.entries.len().max(1)).max().unwrap_or(1) as f64;
    let band = if desk.options.layers.labels { LABEL_DROP + labels * LABEL_STEP } else { 8.0 };
    let has_front = sections.iter().any(|section| section.hub.is_some());
    let trunks = super::trunks::room_above(sections);
    let front = top + trunks;
    // Wide drawings need a higher fall, or their curves lie flat. Own choice by eye.
    let widest = sections.iter().map(cards_width).fold(0.0, f64::max);
    let fall = (widest * 0.12).clamp(70.0, 260.0);
    let start = if has_front { front + FRONT_H + fall } else { front + 10.0 };
    Rows { front, cards: start + band + TAB_H / 2.0, card_h, pitch: card_h + TAB_H + 40.0 + band }
}

fn place_section<'a>(desk: &Desk<'a>, section: Section<'a>, (left, rows): (f64, Rows)) -> (PlacedSection<'a>, f64) {
    let hub = section.hub.map(|id| (id, Front::new(desk.scene.gear(id).map(|gear| gear.port_specs()).unwrap_or_default())));
    let cards = (cards_width(&section) - ZONE_GAP).max(0.0);
    let front = hub.as_ref().map_or(0.0, |(_, front)| front.width + 24.0);
    let width = cards.max(front);
    let mut x = left + (width - cards) / 2.0;
    let (mut columns, mut zones) = (Vec::new(), Vec::new());
    for zone in section.columns.chunk_by(|a, b| a.place == b.place) {
        let start = x;
        x += ZONE_SIDE;
        for column in zone {
            columns.push(place_column(column, (x, rows)));
            x += column_width(column);
        }
        x += ZONE_SIDE - COLUMN_GAP;
        // The zone begins at the labels of the first row.
        let above = rows.pitch - rows.card_h - 46.0;
        zones.push((zone[0].place, Area::new(start, rows.cards - above, x - start, 0.0)));
        x += ZONE_GAP;
    }
    let origin = at(left + (width - front) / 2.0 + 12.0, rows.front);
    (PlacedSection { hub, origin, columns, trunks: section.trunks, zones }, left + width)
}

fn place_column<'a>(column: &Column<'a>, (x, rows): (f64, Rows)) -> PlacedColumn<'a> {
    let card = |n: usize| Area::new(x, rows.cards + rows.pitch * n as f64, CARD_W, rows.card_h);
    let cards = (0..column.cards.len()).map(card).collect();
    PlacedColumn { column: column.clone(), cards, lane: x + CARD_W + COLUMN_GAP / 2.0 + 2.0 }
}

impl PlacedColumn<'_> {
    /// Where lane `n` runs.
    pub(super) fn lane_x(&self, n: usize) -> f64 {
        self.lane + LANE * n as f64
    }
}

impl<'a> Desk<'a> {
    /// Draws every part of a placed panel.
    pub(super) fn draw_sections(&self, canvas: &mut Canvas<'_>, placed: &Placed<'a>, subject: &Subject) {
        for section in &placed.sections {
            for (place, area) in &section.zones {
                self.draw_zone(canvas, *place, area);
            }
        }
        let drawn = placed.drawn();
        let shown: BTreeSet<&Id> = placed.cards().map(|card| card.device).collect();
        for section in &placed.sections {
            if let Some((hub, front)) = &section.hub {
                self.draw_front(canvas, (*hub, front), section.origin);
            }
            for column in &section.columns {
                self.draw_column(canvas, section, column);
                let cards = column.column.cards.iter().zip(&column.cards);
                cards.for_each(|card| self.draw_stubs(canvas, card, (&drawn, &shown)));
            }
        }
        match subject {
            Subject::Switch(_) => self.draw_far_switches(canvas, placed),
            Subject::Network(_) => self.draw_trunks(canvas, placed),
        }
    }

    fn draw_zone(&self, canvas: &mut Canvas<'_>, place: Option<&'a Id>, area: &Area) {
        canvas.on(Layer::Ground);
        let ground = Fill { ink: Some(Ink::Zone), edge: Some(Pen::solid(Ink::Line, 1.0)), radius: 12.0 };
        canvas.area(*area, &ground);
        let look = Lettering::new(Typeface::Bold, 10.5, Ink::Soft);
        let name = place.map_or("no place", |place| self.scene.place_name(place));
        canvas.text_within(at(area.x + ZONE_SIDE, area.bottom() - 10.0), name, (&look, area.w - 2.0 * ZONE_SIDE));
    }
}
