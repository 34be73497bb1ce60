//! The front of a switch with every port.

use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::geometry::{Area, Point, at};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::theme::Ink;
use loomwright_model::{Cable, Id, Item, PortRef, PortSpec};
use std::collections::BTreeMap;

/// Width of a port.
const PORT_W: f64 = 23.0;
/// Height of a port.
const PORT_H: f64 = 27.0;
/// From one port column to the next.
const PITCH: f64 = 29.0;
/// From the upper row to the lower.
const ROW: f64 = 31.0;
/// Extra space between runs of equal ports, and after each six columns.
const GAP: f64 = 12.0;
/// Columns between two such spaces. Common practice on fronts, no source.
const RUN: usize = 6;
/// Space for name, place and address.
const NAME_W: f64 = 178.0;
/// Height of the whole front.
pub(super) const FRONT_H: f64 = 88.0;
/// Up to this many ports stand in one row. Own choice.
const ONE_ROW: usize = 10;

/// Where one port is and where a cable leaves it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Socket {
    pub(super) area: Area,
    /// Whether another port lies below it.
    is_upper: bool,
    /// Whether the front has two rows.
    is_paired: bool,
}

/// A front placed with its left upper corner at the origin.
#[derive(Debug, Clone)]
pub(super) struct Front {
    pub(super) width: f64,
    pub(super) specs: Vec<PortSpec>,
    sockets: BTreeMap<Id, Socket>,
}

impl Front {
    pub(super) fn new(specs: Vec<PortSpec>) -> Self {
        let is_paired = specs.len() > ONE_ROW;
        let mut sockets = BTreeMap::new();
        let (mut x, mut column, mut is_upper) = (NAME_W, 0, true);
        for (n, spec) in specs.iter().enumerate() {
            let is_new_run = n > 0 && (specs[n - 1].medium, specs[n - 1].speed) != (spec.medium, spec.speed);
            if is_new_run {
                x += if is_upper { GAP } else { PITCH + GAP };
                (column, is_upper) = (0, true);
            } else if is_paired && is_upper && column > 0 && column % RUN == 0 {
                x += GAP / 2.0;
            }
            let y = match (is_paired, is_upper) {
                (false, _) => (FRONT_H - PORT_H) / 2.0,
                (true, true) => (FRONT_H - ROW - PORT_H) / 2.0,
                (true, false) => (FRONT_H + ROW - PORT_H) / 2.0,
            };
            let area = Area::new(x + (PITCH - PORT_W) / 2.0, y, PORT_W, PORT_H);
            sockets.insert(spec.name.clone(), Socket { area, is_upper: is_upper && is_paired, is_paired });
            let ends_column = !is_paired || !is_upper;
            if ends_column {
                x += PITCH;
                column += 1;
            }
            is_upper = !is_paired || !is_upper;
        }
        let width = x + if is_upper { 0.0 } else { PITCH } + 20.0;
        Self { width, specs, sockets }
    }

    pub(super) fn socket(&self, port: &Id) -> Option<&Socket> {
        self.sockets.get(port)
    }
}

impl Socket {
    /// The way of a cable out of the lower edge of a front at `origin`: the port first, then the corners.
    /// An upper port leaves through the gap left of its column, so that exits keep the order of the ports.
    pub(super) fn way_down(&self, origin: Point) -> (Point, Vec<Point>) {
        let start = at(origin.x + self.area.centre().x, origin.y + self.area.bottom() - 4.0);
        let edge = origin.y + FRONT_H;
        if !self.is_upper {
            return (start, vec![at(start.x, edge)]);
        }
        let (gap, turn) = (start.x - PITCH / 2.0, start.y + 6.0);
        (start, vec![at(start.x, turn), at(gap, turn), at(gap, edge)])
    }

    /// The way of a trunk out of the upper edge. A lower port leaves through the gap right of its column.
    pub(super) fn way_up(&self, origin: Point) -> (Point, Vec<Point>) {
        let start = at(origin.x + self.area.centre().x, origin.y + self.area.y + 4.0);
        if self.is_upper || !self.is_paired {
            return (start, vec![at(start.x, origin.y)]);
        }
        let (gap, turn) = (start.x + PITCH / 2.0, start.y - 6.0);
        (start, vec![at(start.x, turn), at(gap, turn), at(gap, origin.y)])
    }
}

impl<'a> Desk<'a> {
    /// Draws the front of `hub` at `origin`; ports with cables of other networks than `network` stay quiet.
    pub(super) fn draw_front(&self, canvas: &mut Canvas<'_>, (hub, front): (&'a Id, &Front), origin: Point) {
        let item = self.scene.item(hub);
        canvas.on(Layer::Ground).open(&item, &self.front_says(hub, front), true);
        let ear = Fill { ink: Some(Ink::MetalEdge), edge: None, radius: 3.0 };
        for x in [origin.x - 12.0, origin.x + front.width - 6.0] {
            canvas.area(Area::new(x, origin.y + 7.0, 18.0, FRONT_H - 14.0), &ear);
        }
        for (x, y) in [(-6.0, 18.0), (-6.0, FRONT_H - 18.0), (front.width + 6.0, 18.0), (front.width + 6.0, FRONT_H - 18.0)] {
            canvas.dot(at(origin.x + x, origin.y + y), 2.4, Ink::Metal);
        }
        let body = Fill { ink: Some(Ink::Metal), edge: Some(Pen::solid(Ink::MetalEdge, 1.0)), radius: 7.0 };
        canvas.area(Area::new(origin.x, origin.y, front.width, FRONT_H), &body);
        self.write_front(canvas, hub, origin);
        if canvas.is_gone(&item) {
            let (x, y, w) = (origin.x, origin.y, front.width);
            canvas.trace(&format!("M{x} {y}l{w} {FRONT_H}M{x} {}l{w} -{FRONT_H}", y + FRONT_H), &Pen::solid(Ink::Danger, 3.0));
        }
        canvas.close();
        for spec in &front.specs {
            if let Some(socket) = front.socket(&spec.name) {
                self.draw_socket(canvas, &PortRef::new(hub.clone(), spec.name.clone()), (socket, origin));
            }
        }
    }

    fn front_says(&self, hub: &Id, front: &Front) -> String {
        let used = self.plugs.of(hub).len();
        format!("Switch {hub}, {used} of {} ports used", front.specs.len())
    }

    fn write_front(&self, canvas: &mut Canvas<'_>, hub: &'a Id, origin: Point) {
        let room = NAME_W - 30.0;
        let name = Lettering::new(Typeface::Bold, 15.0, Ink::MetalText);
        let small = Lettering::new(Typeface::Regular, 10.5, Ink::MetalText);
        let x = origin.x + 16.0;
        canvas.text_within(at(x, origin.y + 28.0), hub.as_str(), (&name, room));
        let place = self.scene.place_of(hub).map_or("", |place| self.scene.place_name(place));
        canvas.text_within(at(x, origin.y + 46.0), place, (&small, room));
        let own = self.scene.wiring.switches.get(hub).and_then(|switch| switch.address);
        let address = own.map(|address| address.address.to_string()).unwrap_or_default();
        let networks = self.palette.words(&self.scene.networks_of(hub, &self.plugs));
        let line = if address.is_empty() { networks } else { address };
        canvas.text_within(at(x, origin.y + 62.0), &line, (&small, room));
        let (used, all) = (self.plugs.of(hub).len(), self.scene.gear(hub).map_or(0, |gear| gear.switch_port_count()));
        let last = match self.hang(&self.scene.item(hub)) {
            Some(hang) => format!("without it: {}", hang.short()),
            None => format!("{used} of {all} ports used"),
        };
        canvas.text_within(at(x, origin.y + 77.0), &last, (&small, room));
    }

    fn draw_socket(&self, canvas: &mut Canvas<'_>, port: &PortRef, (socket, origin): (&Socket, Point)) {
        let area = Area { x: origin.x + socket.area.x, y: origin.y + socket.area.y, ..socket.area };
        let plugged = self.plugs.at(port).and_then(|id| Some((id, self.scene.wiring.cables.get(id)?)));
        let cable = plugged.map(|(id, _)| Item::Cable(id.clone()));
        let owners: Vec<Item> = cable.into_iter().chain([self.scene.item(&port.item)]).collect();
        canvas.on(Layer::Boxes).open_part(&owners);
        if let Some((id, cable)) = plugged {
            canvas.open(&Item::Port(port.clone()), &format!("Port {port}, {}", self.says(id, cable)), true);
            self.fill_socket(canvas, (port, cable), area);
            canvas.close();
        } else {
            let free = Fill { ink: Some(Ink::Port), edge: Some(Pen::solid(Ink::MetalEdge, 1.0)), radius: 3.0 };
            canvas.area(area, &free);
            let look = Lettering::new(Typeface::Regular, 9.5, Ink::PortText).middle();
            canvas.text(at(area.centre().x, area.y + 17.0), port.port.as_str(), &look);
        }
        canvas.close();
    }

    fn fill_socket(&self, canvas: &mut Canvas<'_>, (port, cable): (&PortRef, &Cable), area: Area) {
        let ink = if self.options.layers.networks { self.palette.ink(&cable.networks) } else { Ink::Trunk };
        let used = Fill { ink: Some(ink), edge: Some(Pen::solid(Ink::Paper, 1.4)), radius: 3.0 };
        canvas.area(area, &used);
        let number = Lettering::new(Typeface::Bold, 10.5, Ink::OnNetwork).middle();
        let letter = Lettering { size: 8.5, ..number };
        let x = area.centre().x;
        canvas.text(at(x, area.y + 12.5), port.port.as_str(), &number);
        let letters = self.palette.letters(&cable.networks);
        canvas.text_within(at(x, area.y + 22.8), &letters, (&letter, area.w - 2.0));
    }
}
