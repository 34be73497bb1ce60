//! Trunks: to cards of far switches above a single front, or in lanes above several.

use super::arrange::Section;
use super::sections::Placed;
use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::frame::MARGIN;
use crate::geometry::{Area, Point, Trace, at};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::pill::PILL;
use crate::scene::{far_end, near_end};
use crate::theme::Ink;
use loomwright_model::{Cable, Id};

/// From one lane above the fronts to the next.
const LANE: f64 = PILL + 5.0;
/// From the fronts to the lowest lane.
const RISE: f64 = 30.0;
/// Width of a far switch's card.
const FAR_W: f64 = 150.0;
/// Height of a far switch's card.
const FAR_H: f64 = 44.0;
/// From a far switch's card to the front.
const FAR_DROP: f64 = 84.0;

/// How much room the trunks of `sections` need above the fronts.
pub(super) fn room_above(sections: &[Section<'_>]) -> f64 {
    let trunks: usize = sections.iter().map(|section| section.trunks.len()).sum();
    match (sections.len(), trunks) {
        (_, 0) => 10.0,
        (1, _) => FAR_H + FAR_DROP + 6.0,
        // Each trunk is plugged twice; lanes may be shared, this is enough for all.
        (_, plugs) => RISE + LANE * (plugs.div_ceil(2) as f64 + 0.5),
    }
}

/// A trunk of a network drawing: its cable and where it leaves the two fronts.
struct Lane<'a> {
    id: &'a Id,
    cable: &'a Cable,
    ends: [(Point, Vec<Point>); 2],
}

impl Lane<'_> {
    fn exits(&self) -> [Point; 2] {
        [0, 1].map(|n| self.ends[n].1.last().copied().unwrap_or(self.ends[n].0))
    }
}

impl<'a> Desk<'a> {
    /// Draws each trunk of the one front as a curve up to a card of the switch at its other end.
    pub(super) fn draw_far_switches(&self, canvas: &mut Canvas<'_>, placed: &Placed<'a>) {
        let Some(section) = placed.sections.first() else { return };
        let Some((hub, front)) = &section.hub else { return };
        let count = section.trunks.len() as f64;
        let pitch = ((placed.width - 60.0) / count.max(1.0)).min(FAR_W + 14.0);
        let exits =
            section.trunks.iter().filter_map(|(_, port)| front.socket(port)).map(|socket| section.origin.x + socket.area.centre().x);
        let half = pitch * count / 2.0;
        let centre = (exits.sum::<f64>() / count.max(1.0)).min(placed.width - MARGIN - half + 14.0).max(MARGIN + half);
        let right = centre + half;
        for (n, (id, port)) in section.trunks.iter().enumerate() {
            let Some(cable) = self.scene.wiring.cables.get(*id) else { continue };
            let area = Area::new(right - pitch * (count - n as f64), placed.top, pitch - 14.0, FAR_H);
            let foot = at(area.centre().x, area.bottom());
            if let Some(socket) = front.socket(port) {
                let (start, corners) = socket.way_up(section.origin);
                let exit = corners.last().copied().unwrap_or(start);
                let trace = Trace::from(start).rounded(start, &corners, 5.0).fall(exit, foot);
                self.lay(canvas, (id, cable), &trace);
            }
            self.draw_far_card(canvas, (hub, cable), area);
            if self.options.layers.labels {
                self.pill(id, cable).draw(canvas, at(foot.x, foot.y + 6.0 + PILL / 2.0), pitch - 4.0);
            }
        }
    }

    fn draw_far_card(&self, canvas: &mut Canvas<'_>, (hub, cable): (&Id, &'a Cable), area: Area) {
        let far = far_end(cable, hub);
        canvas.on(Layer::Boxes).open(&self.scene.item(&far.item), &format!("Switch {}", far.item), true);
        let body = Fill { ink: Some(Ink::Metal), edge: Some(Pen::solid(Ink::MetalEdge, 1.0)), radius: 6.0 };
        canvas.area(area, &body);
        let room = area.w - 20.0;
        let name = Lettering::new(Typeface::Bold, 12.0, Ink::MetalText);
        canvas.text_within(at(area.x + 10.0, area.y + 18.0), far.item.as_str(), (&name, room));
        let place = self.scene.place_of(&far.item).map_or("", |place| self.scene.place_name(place));
        let small = Lettering::new(Typeface::Regular, 10.0, Ink::MetalText);
        canvas.text_within(at(area.x + 10.0, area.y + 34.0), &format!("port {} \u{b7} {place}", far.port), (&small, room));
        canvas.close();
    }

    /// Draws trunks between the fronts of one drawing in lanes above them.
    pub(super) fn draw_trunks(&self, canvas: &mut Canvas<'_>, placed: &Placed<'a>) {
        let mut lanes = self.trunk_lanes(placed);
        // Short trunks take the low lanes, so that long ones pass over them.
        lanes.sort_by(|a, b| reach(a).total_cmp(&reach(b)));
        let front = placed.sections.iter().map(|section| section.origin.y).fold(0.0, f64::max);
        let mut rows: Vec<Vec<(f64, f64)>> = Vec::new();
        for lane in &lanes {
            let row = self.free_row(&mut rows, lane);
            let y = front - RISE - LANE * row as f64;
            self.draw_lane(canvas, lane, y);
        }
    }

    fn trunk_lanes(&self, placed: &Placed<'a>) -> Vec<Lane<'a>> {
        let exit = |cable: &Cable, n: usize| {
            let section =
                placed.sections.iter().find(|section| section.hub.as_ref().is_some_and(|(hub, _)| **hub == cable.ends[n].item))?;
            Some(section.hub.as_ref()?.1.socket(&cable.ends[n].port)?.way_up(section.origin))
        };
        let first_ends = placed.sections.iter().flat_map(|section| section.hub.iter().map(move |(hub, _)| (*hub, &section.trunks)));
        first_ends
            .flat_map(|(hub, trunks)| trunks.iter().map(move |(id, _)| (hub, *id)))
            .filter_map(|(hub, id)| {
                let cable = self.scene.wiring.cables.get(id)?;
                let is_first = cable.ends[0].item == *hub && near_end(cable, hub) == &cable.ends[0];
                is_first.then_some((id, cable))
            })
            .filter_map(|(id, cable)| Some(Lane { id, cable, ends: [exit(cable, 0)?, exit(cable, 1)?] }))
            .collect()
    }

    /// The lowest row in which the trunk and its label overlap no other.
    fn free_row(&self, rows: &mut Vec<Vec<(f64, f64)>>, lane: &Lane<'a>) -> usize {
        let [a, b] = lane.exits();
        let half = self.pill(lane.id, lane.cable).width() / 2.0 + 8.0;
        let middle = (a.x + b.x) / 2.0;
        let span = (a.x.min(b.x).min(middle - half) - 8.0, a.x.max(b.x).max(middle + half) + 8.0);
        let is_free = |row: &Vec<(f64, f64)>| row.iter().all(|(from, to)| *to <= span.0 || *from >= span.1);
        let row = rows.iter().position(is_free).unwrap_or(rows.len());
        if row == rows.len() {
            rows.push(Vec::new());
        }
        rows[row].push(span);
        row
    }

    fn draw_lane(&self, canvas: &mut Canvas<'_>, lane: &Lane<'a>, y: f64) {
        let [(start, up), (end, down)] = &lane.ends;
        let [left, right] = lane.exits();
        let mut corners = up.clone();
        corners.extend([at(left.x, y), at(right.x, y)]);
        corners.extend(down.iter().rev().copied());
        corners.push(*end);
        self.lay(canvas, (lane.id, lane.cable), &Trace::from(*start).rounded(*start, &corners, 12.0));
        if self.options.layers.labels {
            self.pill(lane.id, lane.cable).draw(canvas, at((left.x + right.x) / 2.0, y), f64::MAX);
        }
    }
}

fn reach(lane: &Lane<'_>) -> f64 {
    let [a, b] = lane.exits();
    (a.x - b.x).abs()
}
