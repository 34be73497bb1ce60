//! Cables from a switch down to its cards, and along chains.

use super::arrange::Card;
use super::card::{CARD_W, TAB_H, tab_x};
use super::sections::{LABEL_DROP, LABEL_STEP, PlacedColumn, PlacedSection};
use crate::canvas::Canvas;
use crate::geometry::{Area, Point, Trace, at};
use crate::options::Desk;
use crate::pill::{PILL, Pill};
use crate::scene::far_end;
use loomwright_model::{Id, PortRef};
use std::collections::BTreeSet;

impl<'a> Desk<'a> {
    /// Draws the cards of a column with the cables that lead to them.
    pub(super) fn draw_column(&self, canvas: &mut Canvas<'_>, section: &PlacedSection<'a>, placed: &PlacedColumn<'a>) {
        let mut lane = 0;
        for (row, (card, area)) in placed.column.cards.iter().zip(&placed.cards).enumerate() {
            self.draw_card(canvas, card, *area);
            let tabs = card.upper_ports().len();
            for (n, entry) in card.entries.iter().enumerate() {
                let tab = at(tab_x(area, n, tabs), area.y - TAB_H / 2.0);
                let through = if row == 0 { None } else { Some((placed.lane_x(lane), placed.cards[row - 1])) };
                lane += usize::from(row > 0);
                let Some(cable) = self.scene.wiring.cables.get(entry.cable) else { continue };
                let trace = way(section, entry.hub_port, (through, placed.cards[0].y), tab);
                self.lay(canvas, (entry.cable, cable), &trace);
            }
            self.label_entries(canvas, card, area);
            if row > 0 {
                self.draw_chain_link(canvas, (&placed.column.cards[row - 1], card), (&placed.cards[row - 1], area));
            }
        }
    }

    /// Labels side by side where they fit, else one above the other, the first on top.
    fn label_entries(&self, canvas: &mut Canvas<'_>, card: &Card<'a>, area: &Area) {
        if !self.options.layers.labels {
            return;
        }
        let pills: Vec<_> =
            card.entries.iter().filter_map(|entry| Some(self.pill(entry.cable, self.scene.wiring.cables.get(entry.cable)?))).collect();
        let share = CARD_W / pills.len().max(1) as f64;
        let fits = pills.iter().all(|pill| pill.width() <= share - 2.0);
        for (n, pill) in pills.iter().enumerate() {
            let raised = if fits { 0 } else { pills.len() - 1 - n };
            let y = area.y - TAB_H / 2.0 - LABEL_DROP - PILL / 2.0 - LABEL_STEP * raised as f64;
            let half = pill.width().min(CARD_W) / 2.0;
            let x = tab_x(area, n, pills.len()).clamp(area.x + half, area.right() - half);
            pill.draw(canvas, at(x, y), CARD_W);
        }
    }

    /// Below a card, the labels of cables to other cards of this drawing that no line shows, such as the one
    /// that closes a ring; each says where it goes.
    pub(super) fn draw_stubs(
        &self,
        canvas: &mut Canvas<'_>,
        (card, area): (&Card<'a>, &Area),
        (drawn, shown): (&BTreeSet<&Id>, &BTreeSet<&Id>),
    ) {
        let lower = self.lower_ports(card);
        let stub = |(n, port): (usize, &Id)| {
            let id = self.plugs.at(&PortRef::new(card.device.clone(), port.clone()))?;
            let cable = self.scene.wiring.cables.get(id).filter(|_| !drawn.contains(id))?;
            let far = far_end(cable, card.device);
            shown.contains(&far.item).then(|| (n, Pill { text: format!("{id} to {far}"), ..self.pill(id, cable) }))
        };
        let stubs: Vec<(usize, Pill)> = lower.iter().enumerate().filter_map(stub).collect();
        let room = CARD_W / stubs.len().max(1) as f64;
        for (n, pill) in &stubs {
            let half = pill.width().min(room) / 2.0;
            let x = tab_x(area, *n, lower.len()).clamp(area.x + half, area.right() - half);
            pill.draw(canvas, at(x, area.bottom() + TAB_H / 2.0 + PILL / 2.0 + 2.0), room);
        }
    }

    fn draw_chain_link(&self, canvas: &mut Canvas<'_>, (above, below): (&Card<'a>, &Card<'a>), (from, to): (&Area, &Area)) {
        let Some((id, port_above, _)) = below.chained else { return };
        let Some(cable) = self.scene.wiring.cables.get(id) else { return };
        let lower = self.lower_ports(above);
        let n = lower.iter().position(|port| port == port_above).unwrap_or(0);
        let start = at(tab_x(from, n, lower.len().max(1)), from.bottom() + TAB_H / 2.0);
        let end = at(tab_x(to, 0, 1), to.y - TAB_H / 2.0);
        self.lay(canvas, (id, cable), &Trace::from(start).fall(start, end));
        if self.options.layers.labels {
            self.pill(id, cable).draw(canvas, at(end.x, end.y - LABEL_DROP - PILL / 2.0), CARD_W);
        }
    }
}

/// From a switch port to a card's tab; `through` is the lane and the card above, for cards below the first row.
fn way(section: &PlacedSection<'_>, port: &Id, (through, first_row): (Option<(f64, Area)>, f64), tab: Point) -> Trace {
    let socket = section.hub.as_ref().and_then(|(_, front)| front.socket(port));
    let (start, corners) = socket.map_or((tab, vec![tab]), |socket| socket.way_down(section.origin));
    let exit = corners.last().copied().unwrap_or(start);
    let trace = Trace::from(start).rounded(start, &corners, 5.0);
    let Some((lane, above)) = through else {
        return trace.fall(exit, tab);
    };
    // All cables of a section fall through the same height, so none overtakes another.
    let (entry, leave) = (at(lane, first_row - TAB_H / 2.0), at(lane, above.bottom()));
    trace.fall(exit, entry).line(leave).fall(leave, tab)
}
