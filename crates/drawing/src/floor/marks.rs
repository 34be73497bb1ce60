//! Routes, hazards and names on the floor plan, each at the nearest free spot.

use super::spots::Spots;
use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::geometry::{Area, Point, Trace, at, distance};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::pill::{PILL, Pill};
use crate::theme::Ink;
use loomwright_model::{Id, Item, Route};
use std::collections::BTreeMap;

/// Radius of a place's dot.
const DOT: f64 = 7.0;
/// Height of a place's name tag.
const TAG_H: f64 = 36.0;
/// Between parallel lines of one route.
const STRAND: f64 = 5.0;
/// How far two routes between the same places bow apart.
const BOW: f64 = 46.0;

/// One route as drawn.
struct Way<'a> {
    id: &'a Id,
    ends: [Point; 2],
    bend: Point,
    /// Cables in it by network letter.
    counts: BTreeMap<String, (usize, Ink, &'static str)>,
    /// How broad it is under the layer of what hangs on it.
    hang: Option<f64>,
    pills: Vec<(Pill, Area)>,
}

/// A place's name as drawn.
struct Tag<'a> {
    id: &'a Id,
    point: Point,
    area: Area,
    line: String,
}

/// Everything on the plan; first measured and settled, then drawn.
pub(super) struct Board<'d, 'a> {
    desk: &'d Desk<'a>,
    ways: Vec<Way<'a>>,
    tags: Vec<Tag<'a>>,
}

impl<'d, 'a> Board<'d, 'a> {
    pub(super) fn new(desk: &'d Desk<'a>, spots: &Spots<'a>) -> Self {
        let mut board = Self { desk, ways: Vec::new(), tags: Vec::new() };
        let mut twins: BTreeMap<[&Id; 2], Vec<(&'a Id, &'a Route)>> = BTreeMap::new();
        for (id, route) in &desk.scene.plan.routes {
            let [a, b] = &route.between;
            twins.entry(if a <= b { [a, b] } else { [b, a] }).or_default().push((id, route));
        }
        for (between, routes) in twins {
            let [Some(a), Some(b)] = between.map(|place| spots.of(place)) else { continue };
            for (n, (id, route)) in routes.iter().enumerate() {
                let side = n as f64 - (routes.len() - 1) as f64 / 2.0;
                board.add_way(id, route, ([a, b], side));
            }
        }
        for (id, point) in &spots.points {
            board.add_tag(id, *point);
        }
        board
    }

    fn add_way(&mut self, id: &'a Id, route: &Route, (ends, side): ([Point; 2], f64)) {
        let [a, b] = ends;
        let length = distance(a, b).max(1.0);
        let normal = at(-(b.y - a.y) / length, (b.x - a.x) / length);
        let bend = at((a.x + b.x) / 2.0 + normal.x * BOW * 2.0 * side, (a.y + b.y) / 2.0 + normal.y * BOW * 2.0 * side);
        let mut counts = BTreeMap::new();
        for cable in self.desk.scene.wiring.cables.values().filter(|cable| cable.routes.contains(id)) {
            let palette = &self.desk.palette;
            let letters = palette.letters(&cable.networks);
            let dash = palette.main(&cable.networks).map_or("", |style| style.dash);
            let is_coloured = self.desk.options.layers.networks;
            let look = if is_coloured { (palette.ink(&cable.networks), dash) } else { (Ink::Trunk, "") };
            counts.entry(letters).or_insert((0, look.0, look.1)).0 += 1;
        }
        let hang = self.desk.hang(&Item::Route(id.clone())).map(|hang| self.desk.hang_width(hang));
        let mut way = Way { id, ends, bend, counts, hang, pills: Vec::new() };
        let mut pill = way.route_pill(route);
        pill.text += &self.desk.hang_text(&Item::Route(id.clone()));
        way.pills.push((pill, Area::default()));
        way.pills.extend(route.shares.iter().map(|hazard| (hazard_pill(hazard), Area::default())));
        self.ways.push(way);
    }

    fn add_tag(&mut self, id: &'a Id, point: Point) {
        let scene = &self.desk.scene;
        let switches = scene.wiring.switches.values().filter(|switch| switch.place == *id).count();
        let devices = scene.plan.devices.values().filter(|device| device.place == *id).count();
        let counted = |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
        let line = format!("{}, {}", counted(switches, "switch", "switches"), counted(devices, "device", "devices"));
        let name = Typeface::Bold.width(scene.place_name(id), 11.5);
        let width = (name.max(Typeface::Regular.width(&line, 10.0)) + 20.0).clamp(80.0, 230.0);
        self.tags.push(Tag { id, point, area: Area::new(0.0, 0.0, width, TAG_H), line });
    }

    /// Gives every tag and label the nearest free spot to where it belongs.
    pub(super) fn settle(&mut self) {
        let mut taken: Vec<Area> = self.tags.iter().map(|tag| Area::around(tag.point, 2.0 * DOT + 4.0, 2.0 * DOT + 4.0)).collect();
        // Middles of routes stay clear of names, since their labels want to stand there.
        let middles: Vec<Area> = self.ways.iter().map(|way| Area::around(way.along(0.5), 60.0, PILL)).collect();
        for tag in &mut self.tags {
            let (w, h) = (tag.area.w, tag.area.h);
            let offsets = beside(w, h);
            let is_free = |area: &Area| !taken.iter().chain(&middles).any(|other| other.overlaps(&area.grown(3.0)));
            tag.area = nearest_free(tag.point, (&offsets, (w, h)), is_free);
            taken.push(tag.area);
        }
        if !self.desk.options.layers.labels {
            return;
        }
        for way in &mut self.ways {
            for n in 0..way.pills.len() {
                let width = way.pills[n].0.width();
                // A route's label tries the middle of the route first, then other points of it; its hazards
                // stand next to that label.
                let spots: Vec<Point> = match way.pills[..n].last() {
                    None => [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74].into_iter().map(|t| way.along(t)).collect(),
                    Some((_, last)) => beside_label(last, width),
                };
                let is_free = |area: &Area| !taken.iter().any(|other| other.overlaps(&area.grown(2.0)));
                let on_route = spots.iter().map(|spot| Area::around(*spot, width, PILL)).find(|area| is_free(area));
                let area = on_route.unwrap_or_else(|| nearest_free(spots[0], (&[], (width, PILL)), is_free));
                way.pills[n].1 = area;
                taken.push(area);
            }
        }
    }

    /// The box around everything.
    pub(super) fn extent(&self) -> Area {
        let dots = self.tags.iter().map(|tag| Area::around(tag.point, 2.0 * DOT, 2.0 * DOT));
        let pills = self.ways.iter().flat_map(|way| way.pills.iter().map(|(_, area)| *area)).filter(|area| area.w > 0.0);
        let lines = self.ways.iter().flat_map(|way| [0.25, 0.5, 0.75].map(|t| Area::around(way.along(t), 24.0, 24.0)));
        let all: Vec<Area> = dots.chain(self.tags.iter().map(|tag| tag.area)).chain(pills).chain(lines).collect();
        let Some(first) = all.first() else { return Area::new(0.0, 0.0, 200.0, 80.0) };
        all.iter().fold(*first, |sum, area| {
            let (x, y) = (sum.x.min(area.x), sum.y.min(area.y));
            Area::new(x, y, sum.right().max(area.right()) - x, sum.bottom().max(area.bottom()) - y)
        })
    }

    /// Draws everything, moved by `shift`.
    pub(super) fn draw(&self, canvas: &mut Canvas<'_>, shift: Point) {
        for way in &self.ways {
            way.draw(canvas, shift);
        }
        for tag in &self.tags {
            self.draw_tag(canvas, tag, shift);
        }
        for (pill, area) in self.ways.iter().flat_map(|way| &way.pills).filter(|(_, area)| area.w > 0.0) {
            pill.draw(canvas, at(area.centre().x + shift.x, area.centre().y + shift.y), f64::MAX);
        }
    }

    fn draw_tag(&self, canvas: &mut Canvas<'_>, tag: &Tag<'a>, shift: Point) {
        let name = self.desk.scene.place_name(tag.id);
        let area = Area { x: tag.area.x + shift.x, y: tag.area.y + shift.y, ..tag.area };
        let point = at(tag.point.x + shift.x, tag.point.y + shift.y);
        canvas.on(Layer::Boxes).open(&Item::Place(tag.id.clone()), &format!("Place {name}, {}", tag.line), false);
        let foot = at(point.x.clamp(area.x, area.right()), point.y.clamp(area.y, area.bottom()));
        canvas.trace(Trace::from(point).line(foot).text(), &Pen::solid(Ink::Soft, 1.0));
        canvas.dot(point, DOT, Ink::Text);
        canvas.dot(point, DOT - 3.0, Ink::Card);
        canvas.area(area, &Fill { ink: Some(Ink::Card), edge: Some(Pen::solid(Ink::Line, 1.0)), radius: 6.0 });
        let room = area.w - 19.0;
        canvas.text_within(at(area.x + 10.0, area.y + 15.5), name, (&Lettering::new(Typeface::Bold, 11.5, Ink::Text), room));
        canvas.text_within(at(area.x + 10.0, area.y + 29.0), &tag.line, (&Lettering::new(Typeface::Regular, 10.0, Ink::Soft), room));
        canvas.close();
    }
}

impl Way<'_> {
    fn route_pill(&self, route: &Route) -> Pill {
        let counts: Vec<String> = self.counts.iter().map(|(letters, (count, ..))| format!("{count} {letters}")).collect();
        let cables = if counts.is_empty() { "no cable".to_owned() } else { counts.join(", ") };
        let text = format!("{} \u{b7} {} \u{b7} {cables}", self.id, route.length);
        let says = format!("Route {}, {}, cables: {cables}", self.id, route.length);
        Pill { item: Some(Item::Route(self.id.clone())), letters: String::new(), ink: Ink::Soft, text, says }
    }

    /// The point at `t` of the way, from 0 to 1.
    fn along(&self, t: f64) -> Point {
        let [a, b] = self.ends;
        let (p, q, r) = ((1.0 - t) * (1.0 - t), 2.0 * t * (1.0 - t), t * t);
        at(p * a.x + q * self.bend.x + r * b.x, p * a.y + q * self.bend.y + r * b.y)
    }

    /// The way moved sideways by `aside` and by `shift`.
    fn strand(&self, aside: f64, shift: Point) -> Trace {
        let [a, b] = self.ends;
        let length = distance(a, b).max(1.0);
        let by = at(shift.x - (b.y - a.y) / length * aside, shift.y + (b.x - a.x) / length * aside);
        let moved = |p: Point| at(p.x + by.x, p.y + by.y);
        Trace::from(moved(a)).bow(moved(self.bend), moved(b))
    }

    fn draw(&self, canvas: &mut Canvas<'_>, shift: Point) {
        let item = Item::Route(self.id.clone());
        let strands = self.counts.len();
        let middle = self.strand(0.0, shift);
        canvas.on(Layer::Lines).open(&item, &format!("Route {}", self.id), false);
        let bed = 4.0 + STRAND * strands as f64 + self.hang.map_or(0.0, |width| 2.0 * width);
        canvas.trace(middle.text(), &Pen::solid(Ink::Line, bed));
        for (n, (_, ink, dash)) in self.counts.values().enumerate() {
            let aside = (n as f64 - (strands as f64 - 1.0) / 2.0) * STRAND;
            canvas.trace(self.strand(aside, shift).text(), &Pen { ink: *ink, width: 2.4, dash });
        }
        canvas.touch(middle.text());
        canvas.close();
    }
}

fn hazard_pill(hazard: &Id) -> Pill {
    let says = format!("Hazard {hazard}: everything that shares it goes together");
    Pill { item: Some(Item::Hazard(hazard.clone())), letters: "!".to_owned(), ink: Ink::Caution, text: hazard.to_string(), says }
}

/// Spots next to a label for one of `width`: below, above, right, left.
fn beside_label(label: &Area, width: f64) -> Vec<Point> {
    let (c, aside) = (label.centre(), (label.w + width) / 2.0 + 6.0);
    vec![at(c.x, c.y + PILL + 3.0), at(c.x, c.y - PILL - 3.0), at(c.x + aside, c.y), at(c.x - aside, c.y)]
}

/// Spots right beside a dot, best first.
fn beside(w: f64, h: f64) -> [Point; 8] {
    let (x, y) = (w / 2.0 + DOT + 5.0, h / 2.0 + DOT + 5.0);
    [at(x, 0.0), at(-x, 0.0), at(0.0, -y), at(0.0, y), at(x, -y), at(x, y), at(-x, -y), at(-x, y)]
}

/// The first of `offsets` from `centre` that is free, else the nearest free spot on growing rings.
fn nearest_free(centre: Point, (offsets, (w, h)): (&[Point], (f64, f64)), is_free: impl Fn(&Area) -> bool) -> Area {
    let beside = offsets.iter().map(|by| Area::around(at(centre.x + by.x, centre.y + by.y), w, h));
    let rings = (1..400).flat_map(|ring| {
        let radius = 8.0 * f64::from(ring);
        (0..16).map(move |n| {
            let angle = std::f64::consts::TAU * f64::from(n) / 16.0;
            Area::around(at(centre.x + radius * 1.6 * angle.cos(), centre.y + radius * angle.sin()), w, h)
        })
    });
    beside.chain(rings).find(|area| is_free(area)).unwrap_or_else(|| Area::around(centre, w, h))
}
