//! Tables against the model.

use super::*;
use crate::testing::{playhouse, stress};
use std::collections::BTreeSet;

fn column(table: &Table, head: &str) -> Vec<String> {
    let n = table.columns.iter().position(|column| column.head == head).expect("a column of that name");
    table.rows.iter().map(|row| row.cells[n].text.clone()).collect()
}

#[test]
fn every_row_has_a_cell_for_every_column() {
    for show in [playhouse(), stress()] {
        let scene = show.scene();
        let source = Source::new(&scene);
        for kind in Kind::ALL {
            let table = source.table(kind);
            assert!(table.rows.iter().all(|row| row.cells.len() == table.columns.len()), "{kind:?}");
        }
    }
}

#[test]
fn the_schedule_has_every_cable_once_and_places_in_one_piece() {
    let show = playhouse();
    let scene = show.scene();
    let table = Source::new(&scene).table(Kind::Cables);
    let names = column(&table, "Cable");
    let wanted: BTreeSet<String> = show.wiring.cables.keys().map(ToString::to_string).collect();
    assert_eq!(names.iter().cloned().collect::<BTreeSet<_>>(), wanted);
    assert_eq!(names.len(), wanted.len());
    let mut places = column(&table, "From place");
    places.dedup();
    assert_eq!(places.iter().collect::<BTreeSet<_>>().len(), places.len(), "{places:?}");
}

#[test]
fn port_maps_have_every_port_and_say_which_are_spare() {
    let show = playhouse();
    let scene = show.scene();
    let table = Source::new(&scene).table(Kind::Ports);
    // Four switches of 28 ports and one of 10.
    assert_eq!(table.rows.len(), 4 * 28 + 10);
    let spare = column(&table, "Mode").iter().filter(|mode| *mode == "spare, shut").count();
    let plugged: usize =
        show.wiring.cables.values().flat_map(|cable| &cable.ends).filter(|end| show.wiring.switches.contains_key(&end.item)).count();
    assert_eq!(table.rows.len() - spare, plugged);
    let of = |head: &str, port: &str, cable: &str| {
        let n = column(&table, "Cable").iter().zip(column(&table, "Port")).position(|(c, p)| c == cable && p == port);
        column(&table, head)[n.expect("that port")].clone()
    };
    assert_eq!((of("Tagged", "25", "A-100").as_str(), of("PVID", "25", "A-100").as_str()), ("10, 30", ""));
    assert_eq!((of("Tagged", "1", "A-001").as_str(), of("PVID", "1", "A-001").as_str()), ("", "10"));
}

#[test]
fn packing_counts_add_up() {
    let show = playhouse();
    let scene = show.scene();
    let table = Source::new(&scene).table(Kind::Packing);
    let sum = |sort: &str| -> f64 { table.rows.iter().filter(|row| row.cells[1].text == sort).filter_map(|row| row.cells[3].number).sum() };
    assert_eq!(sum("Cables"), show.wiring.cables.len() as f64);
    assert_eq!(sum("Switches"), 5.0);
    assert_eq!(sum("Devices"), 12.0);
    // Three fibre cables, each with a pluggable port at both ends.
    assert_eq!(sum("Pluggable modules"), 6.0);
}

#[test]
fn life_safety_streams_are_marked_and_referred() {
    let show = playhouse();
    let scene = show.scene();
    let table = Source::new(&scene).table(Kind::Streams);
    let marks = column(&table, "Mark");
    assert_eq!(marks.iter().filter(|mark| mark.starts_with("life safety")).count(), 1);
    assert!(table.cautions.contains(&crate::cautions::LIFE_SAFETY));
}

#[test]
fn cases_hold_what_the_plan_puts_in_them() {
    let mut show = playhouse();
    let name = |text: &str| Id::new(text).expect("a name");
    let (device, place) = show.plan.devices.iter().map(|(id, device)| (id.clone(), device.place.clone())).next().expect("a device");
    show.plan.stock.cases = [(name("rack-1"), vec![device.clone()]), (name("trunk-2"), vec![place.clone()])].into_iter().collect();
    let scene = show.scene();
    let table = Source::new(&scene).table(Kind::Packing);
    let (cases, remarks) = (column(&table, "Case"), column(&table, "Remark"));
    let holding = |text: &str| {
        cases
            .iter()
            .zip(&remarks)
            .filter(|(_, remark)| remark.split(", ").any(|own| own == text))
            .map(|(case, _)| case.as_str())
            .collect::<Vec<_>>()
    };
    assert_eq!(holding(device.as_str()), ["Case rack-1"]);
    let other = show.plan.devices.iter().find(|(id, other)| other.place == place && **id != device).map(|(id, _)| id.to_string());
    assert_eq!(holding(&other.expect("another device there")), ["Case trunk-2"]);
    let mut groups = cases.clone();
    groups.dedup();
    assert_eq!(groups.iter().collect::<BTreeSet<_>>().len(), groups.len(), "each case in one piece: {groups:?}");
}

#[test]
fn pieces_reels_and_the_shop_serve_every_cable_once() {
    use loomwright_model::plan::Counted;
    use sourcing::{Origin, sourced};
    let mut show = playhouse();
    let metres = |metres: u64| loomwright_model::Length::from_millimetres(metres * 1_000);
    let copper =
        |show: &crate::testing::Show| show.wiring.cables.values().filter(|cable| cable.medium == loomwright_model::Medium::Copper).count();
    let all = copper(&show);
    (show.plan.stock.copper, show.plan.stock.fibre) = (Vec::new(), Vec::new());
    assert!(sourced(&show.scene()).iter().all(|own| own.origin == Origin::Made));
    show.plan.stock.copper_count = vec![Counted { length: metres(90), count: 3 }];
    show.plan.stock.copper_reels = vec![Counted { length: metres(100), count: 1 }];
    let scene = show.scene();
    let found = sourced(&scene);
    let count = |wanted: &dyn Fn(&Origin) -> bool| found.iter().filter(|own| own.is_copper && wanted(&own.origin)).count();
    let (pieces, cuts) = (count(&|origin| matches!(origin, Origin::Piece { .. })), count(&|origin| matches!(origin, Origin::Reel { .. })));
    assert_eq!((pieces, pieces + cuts + count(&|origin| *origin == Origin::Buy)), (3, all));
    let on_reel: u64 = found.iter().filter(|own| matches!(own.origin, Origin::Reel { .. })).map(|own| own.length.millimetres()).sum();
    assert!(cuts > 0 && on_reel <= 100_000, "{cuts} cuts of together {on_reel}");
    let table = Source::new(&scene).table(Kind::Stock);
    assert_eq!(table.rows.len(), show.wiring.cables.len());
    assert!(table.note.starts_with("The truck lacks"), "{}", table.note);
}
