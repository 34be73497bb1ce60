//! Switch fronts with every port, the devices below them as cards, cables as calm curves.
//!
//! **Shape**: cards hang under their switch in the order of its ports, so cables do not cross. The first
//! cable of a column goes to its top card; the others pass in lanes right of the column, nearest row
//! first. An upper port leaves through the gap left of its column, so exits keep port order too.
//! Trunks leave upward. Labels stand above the card they lead to and never wider than it.

mod arrange;
mod card;
mod fall;
mod front;
mod sections;
mod trunks;

use crate::canvas::{Canvas, Drawing};
use crate::frame::{FOOT, Heading, SHEET_RATIO};
use crate::geometry::at;
use crate::options::{Desk, Options};
use crate::scene::Scene;
use arrange::{Finder, Section};
use loomwright_model::Id;
use sections::{Placed, place_sections};

/// What a panel drawing shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Subject {
    /// One switch with everything plugged into it.
    Switch(Id),
    /// All switches and chains of one network.
    Network(Id),
}

/// Most cards on top of each other, chains aside.
const MOST_ROWS: usize = 6;

/// Draws the panel of one switch or of one whole network.
pub fn panel(scene: &Scene<'_>, subject: &Subject, options: &Options) -> Drawing {
    let desk = Desk::new(scene, options);
    let mut canvas = Canvas::new(options.theme, &options.dim, &options.gone);
    let heading = heading(&desk, subject, &sections_of(&desk, subject, 1));
    let placed = best_layout(&desk, subject, heading.height());
    desk.draw_sections(&mut canvas, &placed, subject);
    heading.finish(&desk, canvas, (placed.width, placed.bottom))
}

/// The layout, by rows of cards, that can be printed largest on a landscape sheet.
fn best_layout<'a>(desk: &Desk<'a>, subject: &Subject, top: f64) -> Placed<'a> {
    let layout = |rows| place_sections(desk, sections_of(desk, subject, rows), at(0.0, top));
    let size = |placed: &Placed<'_>| (placed.width / SHEET_RATIO).max(placed.bottom + FOOT);
    let mut best = layout(1);
    for other in (2..=MOST_ROWS).map(layout) {
        if size(&other) < size(&best) {
            best = other;
        }
    }
    best
}

fn sections_of<'a>(desk: &Desk<'a>, subject: &Subject, rows: usize) -> Vec<Section<'a>> {
    let all = desk.scene.switching_items();
    match subject {
        Subject::Switch(id) => {
            let mut finder = Finder::new(desk, None);
            all.into_iter().filter(|item| *item == id).map(|item| finder.section(item, rows)).collect()
        }
        Subject::Network(id) => {
            let Some((network, _)) = desk.scene.plan.networks.get_key_value(id) else { return Vec::new() };
            let mut finder = Finder::new(desk, Some(network));
            let hubs = all.into_iter().filter(|item| desk.scene.networks_of(item, &desk.plugs).contains(network));
            let mut sections: Vec<Section<'a>> = hubs.map(|hub| finder.section(hub, rows)).collect();
            let loose = finder.loose(rows);
            if !loose.columns.is_empty() {
                sections.push(loose);
            }
            sections
        }
    }
}

fn heading(desk: &Desk<'_>, subject: &Subject, sections: &[Section<'_>]) -> Heading {
    let devices: usize = sections.iter().flat_map(|section| &section.columns).map(|column| column.cards.len()).sum();
    let title = match subject {
        Subject::Switch(id) => format!("Switch {id}"),
        Subject::Network(id) => format!("Wiring of network {id}"),
    };
    let switches = sections.iter().filter(|section| section.hub.is_some()).count();
    let counts = match subject {
        Subject::Switch(_) => format!("{devices} devices"),
        Subject::Network(_) => format!("{switches} switches, {devices} devices"),
    };
    Heading::new(desk, title, counts)
}

#[cfg(test)]
mod tests;
