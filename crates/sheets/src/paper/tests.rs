//! Measured layout: nothing leaves the page, nothing overlaps the title block.

use super::*;
use crate::tables::Source;
use crate::testing::{Show, large, playhouse, stress};
use crate::{Options, paper::labels::LabelSheet};

fn text_area(mark: &Mark) -> Option<(&str, Area)> {
    let Mark::Text { x, y, text, look } = mark else { return None };
    Some((text, Area::new(*x, y - 0.76 * look.size, look.width(text), look.size)))
}

fn check_page(page: &Page) {
    let sheet = Area::new(0.0, 0.0, page.size.0, page.size.1).grown(-8.0);
    for mark in &page.marks {
        let area = match mark {
            Mark::Text { .. } => text_area(mark).map(|(_, area)| area),
            Mark::Fill { area, .. } | Mark::Outline { area, .. } | Mark::Picture { area, .. } => Some(*area),
            Mark::Fills { areas, by, .. } => {
                let right = areas.iter().map(Area::right).fold(0.0, f64::max);
                let bottom = areas.iter().map(Area::bottom).fold(0.0, f64::max);
                Some(Area::new(by.0, by.1, right, bottom))
            }
            Mark::Line { from, to, .. } => {
                Some(Area::new(from.0.min(to.0), from.1.min(to.1), (to.0 - from.0).abs(), (to.1 - from.1).abs()))
            }
        };
        let area = area.expect("every mark has an area");
        assert!(sheet.contains(&area), "{}: {mark:?} leaves the page", page.sheet);
    }
    let texts: Vec<(&str, Area)> = page.marks.iter().filter_map(text_area).collect();
    for (n, (text, area)) in texts.iter().enumerate() {
        // A rim of a tenth of a point: descenders and ascenders of neighbouring lines may touch.
        let other = texts[n + 1..].iter().find(|(_, other)| area.grown(-0.1).overlaps(&other.grown(-0.1)));
        assert!(other.is_none(), "{}: `{text}` overlaps {other:?}", page.sheet);
    }
}

fn shows() -> [Show; 2] {
    [playhouse(), stress()]
}

#[test]
fn everything_stays_on_the_page_and_apart() {
    for show in shows() {
        let scene = show.scene();
        let source = Source::new(&scene);
        let options = Options::default();
        let pages = book::pages(&source, &options, &mut |_| {});
        assert!(pages.len() > 8);
        pages.iter().chain(&book::label_pages(&source, &options)).chain(&book::card_pages(&source)).for_each(check_page);
    }
}

#[test]
fn drawings_keep_to_the_largest_paper_at_hand() {
    let show = stress();
    let scene = show.scene();
    let widest = |largest_paper| {
        let options = Options { largest_paper, ..Options::default() };
        let pages = book::pages(&Source::new(&scene), &options, &mut |_| {});
        pages.iter().map(|page| page.size.0).fold(0.0, f64::max)
    };
    assert!(widest(Paper::A4) <= A4.0 && widest(Paper::A1) > A4.0);
}

#[test]
fn text_is_large_enough_to_read_at_arms_length() {
    let show = playhouse();
    let scene = show.scene();
    let pages = book::pages(&Source::new(&scene), &Options::default(), &mut |_| {});
    for look in
        pages.iter().flat_map(|page| &page.marks).filter_map(|mark| if let Mark::Text { look, .. } = mark { Some(look) } else { None })
    {
        assert!(look.size >= BODY, "{look:?}");
    }
}

#[test]
fn label_codes_have_modules_a_camera_can_tell_apart() {
    let sheet = LabelSheet::default();
    let side = labels::code_side(&sheet);
    // 0.33 mm per module is the usual least size for phone cameras; common practice, no source.
    for text in ["A-001", "http://192.168.100.100:8080/cable/A-001-LONG-NAME"] {
        let code = labels::code_for(text).expect("a short text");
        let millimetres = labels::module(&code, side) * 25.4 / 72.0;
        assert!(millimetres >= 0.33, "{text}: {millimetres} mm");
    }
}

#[test]
fn a_row_higher_than_a_page_is_continued_not_cut() {
    use crate::table::{Kind, Role, Row, Table, columns};
    let mut table = Table::new(Kind::Failures, columns([("What", Role::Name), ("Long", Role::Text)]));
    let words: Vec<String> = (0..4_000).map(|n| format!("word{n}")).collect();
    table.rows.push(Row::new(vec!["one".into(), words.join(" ").into()]));
    let pages = grid::pages(&table);
    let printed: String = pages.iter().flat_map(|page| &page.marks).filter_map(text_area).map(|(text, _)| format!("{text} ")).collect();
    assert!(pages.len() > 1 && words.iter().all(|word| printed.contains(&format!("{word} "))));
    for page in &pages {
        let bottom = page.body().bottom();
        assert!(page.marks.iter().filter_map(text_area).all(|(_, area)| area.bottom() <= bottom + 0.1));
    }
}

#[test]
fn a_schedule_of_three_thousand_cables_prints_every_one_once() {
    let show = large(65);
    let scene = show.scene();
    let table = Source::new(&scene).table(crate::Kind::Cables);
    assert!(table.rows.len() > 3_000);
    let pages = grid::pages(&table);
    let printed: Vec<&str> = pages.iter().flat_map(|page| &page.marks).filter_map(text_area).map(|(text, _)| text).collect();
    let names: std::collections::BTreeSet<&str> = show.wiring.cables.keys().map(|id| id.as_str()).collect();
    assert_eq!(printed.iter().filter(|text| names.contains(*text)).count(), names.len());
    // Every page repeats the headings.
    assert_eq!(printed.iter().filter(|text| **text == "Initials").count(), pages.len());
}

#[test]
fn each_rack_has_one_card_in_black_and_large_type() {
    for show in shows() {
        let scene = show.scene();
        let pages = book::card_pages(&Source::new(&scene));
        let racks: std::collections::BTreeSet<_> = show.wiring.switches.values().map(|switch| &switch.place).collect();
        assert_eq!(pages.len(), racks.len());
        for page in &pages {
            let bottom = page.body().bottom();
            for mark in &page.marks {
                let Mark::Text { y, text, look, .. } = mark else { continue };
                let is_foot = *y > bottom;
                assert!(is_foot || look.size >= 10.0, "{text}: {look:?}");
                assert!(is_foot || [Tint(0, 0, 0), WHITE].contains(&look.tint), "{text} would fade on a bad printer");
            }
        }
        let words: String = pages.iter().flat_map(|page| &page.marks).filter_map(text_area).map(|(text, _)| format!("{text}\n")).collect();
        assert!(show.wiring.switches.keys().all(|id| words.contains(id.as_str())), "every switch is told or pointed to");
        assert!(words.contains("Spare: ") && words.contains("IF THIS GOES DARK"));
    }
}
