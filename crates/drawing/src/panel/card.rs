//! The card of a device: name, type, addresses, and a tab for every port.

use super::arrange::Card;
use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::geometry::{Area, Point, at};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::scene::microseconds;
use crate::theme::Ink;
use loomwright_model::{Id, Item, PortRef};

/// Width of a card.
pub(super) const CARD_W: f64 = 164.0;
/// Height of a port's tab.
pub(super) const TAB_H: f64 = 17.0;
/// Height of a card without its lines of addresses.
const BARE_H: f64 = 61.0;
/// Height of one line of addresses.
const LINE_H: f64 = 13.5;
/// More lines than this are not shown on a card; the address sheet has them all.
const MOST_LINES: usize = 3;

impl<'a> Desk<'a> {
    /// The lines under a device's name: where it is if elsewhere, addresses with their network's letter,
    /// then the worst delay.
    fn card_lines(&self, card: &Card<'a>) -> Vec<String> {
        let device = card.device;
        let addresses = self.plugs.addresses_of(device);
        let mut lines: Vec<String> = card.away.iter().map(|place| format!("in: {}", self.scene.place_name(place))).collect();
        let addresses = addresses.iter().take(MOST_LINES).map(|(port, address)| {
            if port.port.as_str() == "control" {
                return format!("control {}", address.address);
            }
            let letter = self.scene.network_of(address).and_then(|network| self.palette.get(network)).map(|style| style.letter);
            format!("{} {}", letter.map_or(port.port.to_string(), String::from), address.address)
        });
        lines.extend(addresses);
        if self.options.layers.delay {
            lines.extend(self.figures.delay_of(device).map(|worst| format!("worst delay {}", microseconds(worst))));
        }
        lines
    }

    /// The height that every card of a drawing gets, so that rows line up.
    pub(super) fn card_height<'c>(&self, cards: impl Iterator<Item = &'c Card<'a>>) -> f64
    where
        'a: 'c,
    {
        let lines = cards.map(|card| self.card_lines(card).len()).max().unwrap_or(0);
        BARE_H + LINE_H * lines as f64
    }

    /// Draws a card; `area` is its body without tabs.
    pub(super) fn draw_card(&self, canvas: &mut Canvas<'_>, card: &Card<'a>, area: Area) {
        let item = Item::Device(card.device.clone());
        let title = self.scene.title_of(card.device);
        canvas.on(Layer::Boxes).open(&item, &format!("Device {}, {title}", card.device), true);
        let body = Fill { ink: Some(Ink::Card), edge: Some(Pen::solid(Ink::Text, 1.1)), radius: 8.0 };
        canvas.area(area, &body);
        let room = CARD_W - 24.0;
        let x = area.x + 12.0;
        canvas.text_within(at(x, area.y + 25.0), card.device.as_str(), (&Lettering::new(Typeface::Bold, 12.5, Ink::Text), room));
        canvas.text_within(at(x, area.y + 40.0), title, (&Lettering::new(Typeface::Regular, 10.0, Ink::Soft), room));
        let look = Lettering::new(Typeface::Regular, 10.0, Ink::Text);
        for (n, line) in self.card_lines(card).iter().enumerate() {
            canvas.text_within(at(x, area.y + 43.0 + LINE_H * (n + 1) as f64), line, (&look, room));
        }
        if canvas.is_gone(&item) {
            let Area { x, y, w, h } = area;
            canvas.trace(&format!("M{x} {y}l{w} {h}M{x} {}l{w} -{h}", y + h), &Pen::solid(Ink::Danger, 2.4));
        }
        canvas.close();
        self.draw_tabs(canvas, card, area);
    }

    fn draw_tabs(&self, canvas: &mut Canvas<'_>, card: &Card<'a>, area: Area) {
        let upper = card.upper_ports();
        for (n, port) in upper.iter().enumerate() {
            self.draw_tab(canvas, &PortRef::new(card.device.clone(), (*port).clone()), at(tab_x(&area, n, upper.len()), area.y));
        }
        let lower = self.lower_ports(card);
        for (n, port) in lower.iter().enumerate() {
            self.draw_tab(canvas, &PortRef::new(card.device.clone(), port.clone()), at(tab_x(&area, n, lower.len()), area.bottom()));
        }
    }

    /// Ports that no cable of this drawing enters from above, in panel order.
    pub(super) fn lower_ports(&self, card: &Card<'a>) -> Vec<Id> {
        let upper = card.upper_ports();
        let all = self.scene.gear(card.device).map(|gear| gear.port_specs()).unwrap_or_default();
        all.into_iter().map(|spec| spec.name).filter(|name| !upper.contains(&name)).collect()
    }

    fn draw_tab(&self, canvas: &mut Canvas<'_>, port: &PortRef, centre: Point) {
        let cable = self.plugs.at(port).and_then(|id| self.scene.wiring.cables.get(id));
        let is_coloured = self.options.layers.networks;
        let ink = cable.map_or(Ink::Soft, |cable| if is_coloured { self.palette.ink(&cable.networks) } else { Ink::Trunk });
        let letters = cable.map(|cable| self.palette.letters(&cable.networks)).unwrap_or_default();
        let text = if letters.is_empty() { port.port.to_string() } else { format!("{} {letters}", port.port) };
        let look = Lettering::new(Typeface::Bold, 9.0, if cable.is_some() { Ink::OnNetwork } else { Ink::Soft }).middle();
        let shown = look.face.fit(&text, look.size, 60.0).into_owned();
        let width = (look.face.width(&shown, look.size) + 12.0).max(24.0);
        let area = Area::around(centre, width, TAB_H);
        let plugged = self.plugs.at(port).map(|id| Item::Cable(id.clone()));
        let owners: Vec<Item> = plugged.into_iter().chain([Item::Device(port.item.clone())]).collect();
        canvas.on(Layer::Boxes).open_part(&owners);
        let edge = Pen::solid(if cable.is_some() { Ink::Card } else { Ink::Soft }, 1.2);
        canvas.area(area, &Fill { ink: Some(if cable.is_some() { ink } else { Ink::Card }), edge: Some(edge), radius: 3.5 });
        canvas.text(at(centre.x, centre.y + 3.3), &shown, &look);
        canvas.close();
    }
}

/// The middle of the `n`-th of `all` tabs.
pub(super) fn tab_x(area: &Area, n: usize, all: usize) -> f64 {
    area.x + area.w * (n + 1) as f64 / (all + 1) as f64
}

impl<'a> Card<'a> {
    /// Ports that a cable enters from above.
    pub(super) fn upper_ports(&self) -> Vec<&'a Id> {
        let chained = self.chained.map(|(_, _, here)| here);
        self.entries.iter().map(|entry| entry.card_port).chain(chained).collect()
    }
}
