//! What is drawn between places: trunks one by one, cables to devices of other places summed up.

use super::nodes::PlaceBox;
use crate::canvas::{Canvas, Layer, Pen};
use crate::geometry::{Point, Trace};
use crate::options::Desk;
use crate::pill::{PILL, Pill};
use crate::scene::{Hang, per_cent};
use crate::theme::Ink;
use loomwright_model::{Cable, Id, Item};
use std::collections::BTreeMap;

/// More trunks than this are drawn as one line per pair of boxes. Own choice.
const MOST_TRUNKS: usize = 60;

/// One line of the drawing.
#[derive(Debug, Clone)]
pub(super) struct Link<'a> {
    /// Indexes of its nodes, in the order of all nodes of all places.
    pub(super) nodes: [usize; 2],
    pub(super) cables: Vec<(&'a Id, &'a Cable)>,
    pub(super) pill: Pill,
    is_trunk: bool,
}

/// Key of a line that stands for several cables.
type Bundle<'a> = (bool, [usize; 2], &'a [Id]);

/// Every line between different nodes.
pub(super) fn links<'a>(desk: &Desk<'a>, boxes: &[PlaceBox<'a>]) -> Vec<Link<'a>> {
    let mut node_of: BTreeMap<&Id, (usize, usize)> = BTreeMap::new();
    let mut next = 0;
    for (n, place) in boxes.iter().enumerate() {
        for node in &place.nodes {
            node_of.extend(node.items.iter().map(|item| (*item, (next, n))));
            next += 1;
        }
    }
    let wiring = desk.scene.wiring;
    let is_many = wiring.cables.values().filter(|cable| desk.scene.is_trunk(cable)).count() > MOST_TRUNKS;
    let mut single = Vec::new();
    let mut bundles: BTreeMap<Bundle<'a>, Vec<(&'a Id, &'a Cable)>> = BTreeMap::new();
    for (id, cable) in &wiring.cables {
        let [Some(a), Some(b)] = [&cable.ends[0].item, &cable.ends[1].item].map(|item| node_of.get(item)) else { continue };
        let is_trunk = desk.scene.is_trunk(cable);
        let is_shown = a.0 != b.0 && (is_trunk || a.1 != b.1);
        if is_shown && is_trunk && !is_many {
            single.push(Link { nodes: [a.0, b.0], cables: vec![(id, cable)], pill: desk.trunk_pill(id, cable), is_trunk });
        } else if is_shown {
            bundles.entry((is_trunk, [a.0.min(b.0), a.0.max(b.0)], &cable.networks)).or_default().push((id, cable));
        }
    }
    let bundled = bundles.into_iter().map(|((is_trunk, nodes, networks), cables)| {
        let pill = desk.bundle_pill(networks, &cables);
        Link { nodes, cables, pill, is_trunk }
    });
    single.into_iter().chain(bundled).collect()
}

impl<'a> Desk<'a> {
    fn trunk_pill(&self, id: &Id, cable: &Cable) -> Pill {
        let plain = self.pill(id, cable);
        // Two figures without a word between them would be taken for each other.
        let is_load_shown = self.options.layers.load || !self.options.layers.hang;
        let load = self.figures.load_of(id).filter(|_| is_load_shown).map_or(String::new(), |load| format!(" \u{b7} {}", per_cent(load)));
        let hang = self.hang_text(&Item::Cable(id.clone()));
        if self.note(id).is_some() {
            return plain;
        }
        Pill { text: format!("{id} \u{b7} {} {}{load}{hang}", cable.medium, cable.length), ..plain }
    }

    fn bundle_pill(&self, networks: &[Id], cables: &[(&'a Id, &'a Cable)]) -> Pill {
        if let [(id, cable)] = cables {
            return self.trunk_pill(id, cable);
        }
        let longest = cables.iter().map(|(_, cable)| cable.length).max().unwrap_or_default();
        let worst = cables.iter().filter_map(|(id, _)| self.figures.load_of(id)).fold(0.0, f64::max);
        let load = if self.options.layers.load { format!(" \u{b7} {}", per_cent(worst)) } else { String::new() };
        let hangs = cables.iter().filter_map(|(id, _)| self.hang(&Item::Cable((*id).clone())));
        let hang = hangs.reduce(Hang::or_more).map_or(String::new(), |hang| format!(" \u{b7} each to {}", hang.short()));
        let notes = cables.iter().filter_map(|(id, _)| self.note(id).map(|note| format!(" \u{b7} {id} {note}")));
        let text = format!("{} cables \u{b7} up to {longest}{load}{hang}{}", cables.len(), notes.collect::<String>());
        let names: Vec<&str> = cables.iter().map(|(id, _)| id.as_str()).collect();
        let letters = if self.options.layers.networks { self.palette.letters(networks) } else { String::new() };
        let ink = if self.options.layers.networks { self.palette.ink(networks) } else { Ink::Trunk };
        Pill { item: None, letters, ink, says: format!("Cables {}", names.join(", ")), text }
    }

    /// Draws a line along its corners with its label at the given point.
    pub(super) fn draw_link(&self, canvas: &mut Canvas<'_>, link: &Link<'a>, (corners, label): &(Vec<Point>, Point)) {
        let Some(&start) = corners.first() else { return };
        let trace = Trace::from(start).rounded(start, &corners[1..], 10.0);
        // A line for several cables steps back when all of them do.
        let items: Vec<Item> = link.cables.iter().map(|(id, _)| Item::Cable((*id).clone())).collect();
        let is_faint = items.len() > 1 && items.iter().all(|item| self.options.dim.contains(item));
        if is_faint {
            [Layer::Lines, Layer::Marks].into_iter().for_each(|layer| canvas.on(layer).open_part(&items));
        }
        match link.cables.as_slice() {
            [(id, cable)] => self.lay(canvas, (id, cable), &trace),
            _ => {
                let dash = link.cables.first().and_then(|(_, cable)| self.palette.main(&cable.networks)).map_or("", |style| style.dash);
                let plain = if link.is_trunk { 5.0 } else { 3.2 };
                let hangs = link.cables.iter().filter_map(|(id, _)| self.hang(&Item::Cable((*id).clone())));
                let width = hangs.reduce(Hang::or_more).map_or(plain, |hang| self.hang_width(hang));
                canvas.on(Layer::Lines).trace(trace.text(), &Pen::solid(Ink::Paper, width + 3.0));
                canvas.trace(trace.text(), &Pen { ink: link.pill.ink, width, dash });
            }
        }
        if self.options.layers.labels {
            link.pill.draw(canvas, *label, f64::MAX);
        }
        if is_faint {
            [Layer::Lines, Layer::Marks].into_iter().for_each(|layer| canvas.on(layer).close());
        }
    }
}

/// Height that a lane with a label needs.
pub(super) const LANE: f64 = PILL + 4.0;
