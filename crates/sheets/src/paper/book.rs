//! All sheets in order, with their title blocks.

use super::block::{self, Title};
use super::{Page, card, cover, grid, labels, picture};
use crate::cautions;
use crate::table::Kind;
use crate::tables::Source;
use crate::{Options, Progress};
use loomwright_drawing::{Drawing, Subject, Theme, panel, riser};
use loomwright_drawing::{Layers, floor};

/// How many drawings stand in front of the tables; the panels come after the port maps.
const FIRST: usize = 3;

/// How drawings on sheets are made.
pub(crate) fn drawing_options(is_bare: bool) -> loomwright_drawing::Options {
    let layers = Layers { load: false, ..Layers::default() };
    loomwright_drawing::Options { theme: Theme::Print, layers, bare: is_bare, ..Default::default() }
}

/// The layer of what hangs on each item.
fn hanging(is_bare: bool) -> loomwright_drawing::Options {
    let layers = Layers { load: false, hang: true, ..Layers::default() };
    loomwright_drawing::Options { layers, ..drawing_options(is_bare) }
}

/// One drawing with the name of its sheet and its file.
pub(crate) struct Named {
    pub(crate) title: String,
    pub(crate) word: String,
    pub(crate) note: &'static str,
    pub(crate) drawing: Drawing,
}

/// Every drawing of the document: places and trunks, floor plan, one panel per switch.
pub(crate) fn drawings(source: &Source<'_>, is_bare: bool) -> Vec<Named> {
    let options = drawing_options(is_bare);
    let scene = &source.scene;
    let mut all = vec![
        Named {
            title: "Places and trunks".to_owned(),
            word: "riser".to_owned(),
            note: "Places by height, then from left to right. Trunks with medium, length and load.",
            drawing: riser(scene, &options),
        },
        Named {
            title: "What hangs on what".to_owned(),
            word: "riser-hang".to_owned(),
            note: "The same, with what happens when one cable or switch alone fails. 19/51: 19 deliveries (a stream at one receiver) fall silent, 51 carry on with one leg less; ! an essential stream is among the silent. The broader the line, the more hangs on it.",
            drawing: riser(scene, &hanging(is_bare)),
        },
        Named {
            title: "Floor plan".to_owned(),
            word: "floor".to_owned(),
            note: "Places and the routes between them.",
            drawing: floor(scene, &options),
        },
    ];
    for switch in scene.switching_items() {
        all.push(Named {
            title: format!("Panel of {switch}"),
            word: format!("panel-{switch}"),
            note: "Every port with what is plugged into it.",
            drawing: panel(scene, &Subject::Switch(switch.clone()), &options),
        });
    }
    all.retain(|named| named.drawing.width > 0.0);
    all
}

/// The pages of the document, complete.
pub(crate) fn pages(source: &Source<'_>, options: &Options, progress: &mut Progress<'_>) -> Vec<Page> {
    let mut pages = vec![cover::page(source)];
    let mut pictures = drawings(source, true).into_iter();
    let cautions = [cautions::SOUND, cautions::FIBRE, cautions::TRIP, cautions::HEIGHT];
    let page = |named: Named| picture::page(named.drawing, (&named.title, named.note), (&cautions, options.largest_paper));
    pages.extend(pictures.by_ref().take(FIRST).map(page));
    for kind in Kind::ALL {
        progress(kind.title());
        if kind == Kind::Failures {
            pages.extend(pictures.by_ref().map(page));
        }
        let table = source.table(kind);
        // A system without switches has no port maps; but that nothing was found is worth a page.
        let may_be_left_out = matches!(kind, Kind::Ports | Kind::Delay | Kind::Groups | Kind::Power);
        if !(may_be_left_out && table.rows.is_empty()) {
            pages.extend(grid::pages(&table));
        }
    }
    draw_blocks(&mut pages, source);
    pages
}

/// The pages of one table, complete.
pub(crate) fn table_pages(source: &Source<'_>, kind: Kind) -> Vec<Page> {
    let mut pages = grid::pages(&source.table(kind));
    draw_blocks(&mut pages, source);
    pages
}

fn draw_blocks(pages: &mut [Page], source: &Source<'_>) {
    let title = Title::new(&source.scene);
    let count = pages.len();
    for (n, page) in pages.iter_mut().enumerate() {
        block::draw(page, &title, (n + 1, count));
    }
}

/// One page for each rack with switches, complete.
pub(crate) fn card_pages(source: &Source<'_>) -> Vec<Page> {
    let mut pages = card::pages(source);
    draw_blocks(&mut pages, source);
    pages
}

/// The pages of labels, complete.
pub(crate) fn label_pages(source: &Source<'_>, options: &Options) -> Vec<Page> {
    let mut pages = labels::pages(source, &options.label_sheet, &options.link_prefix);
    let title = labels::foot_title(&Title::new(&source.scene));
    let count = pages.len();
    for (n, page) in pages.iter_mut().enumerate() {
        labels::draw_foot(page, &title, (n + 1, count));
    }
    pages
}
