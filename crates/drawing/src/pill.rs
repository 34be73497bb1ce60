//! Cables as lines and the labels on them.

use crate::canvas::{Canvas, Fill, Layer, Lettering, Pen};
use crate::geometry::{Area, Point, Trace, at, short};
use crate::measure::Typeface;
use crate::options::Desk;
use crate::scene::{Hang, per_cent};
use crate::theme::Ink;
use loomwright_model::{Cable, Id, Item};

/// Height of a label.
pub(crate) const PILL: f64 = 17.0;
/// Size of the text in it.
const TEXT: f64 = 10.0;
/// Space left and right of the text.
const SIDE: f64 = 6.0;
/// How much wider the clear rim under a line is than the line.
const RIM: f64 = 2.8;

/// A label to put on a line.
#[derive(Debug, Clone)]
pub(crate) struct Pill {
    /// What it stands for; a tap on it means that item.
    pub(crate) item: Option<Item>,
    /// Network letters in its coloured end.
    pub(crate) letters: String,
    /// Colour of its end and rim.
    pub(crate) ink: Ink,
    /// What it says.
    pub(crate) text: String,
    /// What is read out.
    pub(crate) says: String,
}

impl Pill {
    fn head(&self) -> f64 {
        if self.letters.is_empty() { 0.0 } else { Typeface::Bold.width(&self.letters, 9.5) + 9.0 }
    }

    /// Its width with all its text.
    pub(crate) fn width(&self) -> f64 {
        self.head() + Typeface::Regular.width(&self.text, TEXT) + 2.0 * SIDE
    }

    /// Draws it around `centre`, no wider than `room`.
    pub(crate) fn draw(&self, canvas: &mut Canvas<'_>, centre: Point, room: f64) {
        let area = Area::around(centre, self.width().min(room), PILL);
        canvas.on(Layer::Marks);
        if let Some(item) = &self.item {
            canvas.open(item, &self.says, true);
        }
        let rim = Pen::solid(self.ink, 1.2);
        canvas.area(area, &Fill { ink: Some(Ink::Card), edge: Some(rim), radius: PILL / 2.0 });
        if !self.letters.is_empty() {
            canvas.shape(&left_end(&area, self.head()), self.ink);
            let look = Lettering::new(Typeface::Bold, 9.5, Ink::OnNetwork).middle();
            canvas.text(at(area.x + self.head() / 2.0 + 0.8, centre.y + 3.5), &self.letters, &look);
        }
        self.write(canvas, &area);
        if self.item.is_some() {
            canvas.close();
        }
        canvas.record_label(&self.text, area);
    }

    fn write(&self, canvas: &mut Canvas<'_>, area: &Area) {
        let is_gone = self.item.as_ref().is_some_and(|item| canvas.is_gone(item));
        let ink = if is_gone { Ink::Danger } else { Ink::Text };
        let look = Lettering::new(Typeface::Regular, TEXT, ink);
        let left = area.x + self.head() + SIDE;
        let room = area.right() - SIDE - left;
        // A label drawn at its own width must not be shortened by a rounding of the last place.
        canvas.text_within(at(left, area.y + 12.2), &self.text, (&look, room + 0.05));
        if is_gone {
            let (x, y) = (short(area.x - 5.0), short(area.y + area.h / 2.0));
            canvas.trace(&format!("M{x} {y}H{}", short(area.right() + 5.0)), &Pen::solid(Ink::Danger, 1.6));
        }
    }
}

/// The outline of a label's coloured end.
fn left_end(area: &Area, head: f64) -> String {
    let r = short(PILL / 2.0);
    let (straight, inner) = (short(area.x + PILL / 2.0), short(area.x + head));
    let (top, bottom) = (short(area.y), short(area.bottom()));
    format!("M{inner} {top}H{straight}A{r} {r} 0 0 0 {straight} {bottom}H{inner}Z")
}

impl Desk<'_> {
    /// The label of a cable: name, length, and its load where that layer is on.
    pub(crate) fn pill(&self, id: &Id, cable: &Cable) -> Pill {
        let mut text = match self.note(id) {
            Some(note) => format!("{id} \u{b7} {note}"),
            None => format!("{id} \u{b7} {}", cable.length),
        };
        if let Some(load) = self.figures.load_of(id).filter(|_| self.options.layers.load) {
            text += &format!(" \u{b7} {}", per_cent(load));
        }
        text += &self.hang_text(&Item::Cable(id.clone()));
        let letters = if self.options.layers.networks { self.palette.letters(&cable.networks) } else { String::new() };
        Pill { item: Some(Item::Cable(id.clone())), letters, ink: self.cable_ink(id, cable), text, says: self.says(id, cable) }
    }

    /// What the label says of a cable instead of what it says of all.
    pub(crate) fn note(&self, id: &Id) -> Option<&str> {
        self.options.notes.get(&Item::Cable(id.clone())).map(String::as_str)
    }

    /// What is read out for a cable.
    pub(crate) fn says(&self, id: &Id, cable: &Cable) -> String {
        let networks: Vec<&str> = cable.networks.iter().map(Id::as_str).collect();
        let [from, to] = &cable.ends;
        let load = self.figures.load_of(id).map_or(String::new(), |load| format!(", load {}", per_cent(load)));
        let hang = self.hang(&Item::Cable(id.clone())).map_or(String::new(), |hang| format!(", without it {}", hang.words()));
        let note = self.note(id).map_or(String::new(), |note| format!(", {note}"));
        format!("Cable {id}, network {}, {} {}, from {from} to {to}{load}{hang}{note}", networks.join(" and "), cable.medium, cable.length)
    }

    /// What hangs on an item, where that layer is on.
    pub(crate) fn hang(&self, item: &Item) -> Option<Hang> {
        self.figures.hang_of(item).filter(|_| self.options.layers.hang)
    }

    /// What a label says of it.
    pub(crate) fn hang_text(&self, item: &Item) -> String {
        self.hang(item).map_or(String::new(), |hang| format!(" \u{b7} {}", hang.short()))
    }

    /// The width of a line on which so much hangs: the most of the drawing is 9 units wide. Own choice.
    pub(crate) fn hang_width(&self, hang: Hang) -> f64 {
        1.2 + 7.8 * self.figures.hang_share(hang)
    }

    fn cable_ink(&self, id: &Id, cable: &Cable) -> Ink {
        let is_busy =
            self.figures.load_of(id).is_some_and(|load| load * 1e6 > f64::from(self.scene.plan.targets.link_load.parts_per_million()));
        if self.options.layers.load && is_busy {
            return Ink::Danger;
        }
        if self.hang(&Item::Cable(id.clone())).is_some_and(|hang| hang.is_grave) {
            return Ink::Danger;
        }
        if self.options.layers.networks { self.palette.ink(&cable.networks) } else { Ink::Trunk }
    }

    fn cable_pen(&self, id: &Id, cable: &Cable) -> Pen {
        let load = self.figures.load_of(id).filter(|_| self.options.layers.load);
        let plain = if self.scene.is_trunk(cable) { 5.0 } else { 2.4 };
        // Under the load layer the width tells the share: a full link is 8 units wide. Own choice.
        let width = load.map_or(plain, |load| 1.6 + 6.4 * load.min(1.0));
        let width = self.hang(&Item::Cable(id.clone())).map_or(width, |hang| self.hang_width(hang));
        let dash = if self.options.layers.networks { self.palette.main(&cable.networks).map_or("", |style| style.dash) } else { "" };
        Pen { ink: self.cable_ink(id, cable), width, dash }
    }

    /// Draws a cable along `trace`.
    pub(crate) fn lay(&self, canvas: &mut Canvas<'_>, (id, cable): (&Id, &Cable), trace: &Trace) {
        let pen = self.cable_pen(id, cable);
        let is_reachable = !self.options.layers.labels;
        canvas.on(Layer::Lines).open(&Item::Cable(id.clone()), &self.says(id, cable), is_reachable);
        canvas.trace(trace.text(), &Pen::solid(Ink::Paper, pen.width + RIM));
        canvas.trace(trace.text(), &pen);
        if self.scene.is_trunk(cable) && !self.options.layers.load && !self.options.layers.hang {
            canvas.trace(trace.text(), &Pen::solid(Ink::Paper, 1.5));
        }
        canvas.touch(trace.text());
        canvas.close();
    }
}
