//! Lists as people send them, and what becomes of each row.

use super::*;
use crate::edit::apply;
use crate::read::{Source, read};
use loomwright_model::Plan;
use rust_xlsxwriter::Workbook;

const PLAN: &str = "[plan]\nname = \"x\"\n\n[network.a]\nsubnet = \"10.10.0.0/22\"\n[network.b]\nsubnet = \"10.20.0.0/22\"\n\n\
    [place.hall]\nname = \"Main hall\"\n[place.stage]\n\n[device.desk]\ngear = \"console-small\"\nplace = \"hall\"\n";

fn plan() -> Plan {
    read(Source { name: "p.toml", text: PLAN }, None).unwrap_or_else(|problems| panic!("{problems}")).plan
}

fn sheet(bytes: &[u8]) -> Sheet {
    read_list(bytes, "list").unwrap_or_else(|problem| panic!("{problem}"))
}

fn cells(sheet: &Sheet) -> Vec<(u32, Vec<&str>)> {
    sheet.rows.iter().map(|row| (row.number, row.cells.iter().map(String::as_str).collect())).collect()
}

/// A preview of a list with the columns name, gear, place, qty, title, power, networks, pairing.
fn shown(rows: &str, creates_places: bool) -> Preview {
    let text = format!("Name;Type;Room;Qty;Title;Power;Networks;Pairing\n{rows}");
    let sheet = sheet(text.as_bytes());
    let mapping = Mapping { creates_places, ..map_columns(&sheet) };
    assert_eq!(mapping.columns.len(), 8);
    preview(&sheet, &mapping, &plan())
}

#[test]
fn csv_in_any_dress() {
    let expected = vec![(2, vec!["Büro", "laptop"]), (4, vec!["a, b", "recorder"])];
    let plain = "name,type\nBüro,laptop\n\n\"a, b\",recorder\n";
    let dresses: [(&str, Vec<u8>); 7] = [
        ("comma", plain.into()),
        ("semicolon", "name;type\nBüro;laptop\n\n\"a, b\";recorder\n".into()),
        ("tab", "name\ttype\nBüro\tlaptop\n\na, b\trecorder".into()),
        ("carriage returns", plain.replace('\n', "\r\n").into()),
        ("mark", format!("\u{feff}{plain}").into()),
        ("Latin-1", plain.chars().map(|c| u8::try_from(u32::from(c)).expect("a letter of Latin-1")).collect()),
        ("UTF-16", [0xff, 0xfe].into_iter().chain(plain.encode_utf16().flat_map(u16::to_le_bytes)).collect()),
    ];
    for (name, bytes) in dresses {
        let sheet = sheet(&bytes);
        assert_eq!(cells(&sheet), expected, "{name}");
        assert_eq!((sheet.header.join("|").as_str(), sheet.header_row), ("name|type", 1), "{name}");
        assert_eq!(sheet.notes.len(), usize::from(name == "Latin-1"), "{name}: {:?}", sheet.notes);
    }
    assert_eq!(sheet(b"sep=;\r\nname;type\r\na;b\r\n").header, ["name", "type"]);
}

#[test]
fn the_header_may_stand_below_a_title() {
    let sheet = sheet(b"Gear for the tour;;\n;;\nprinted in May;;\nDevice;Room;Type\nx;hall;laptop\n");
    assert_eq!((sheet.header_row, cells(&sheet)), (4, vec![(5, vec!["x", "hall", "laptop"])]));
}

#[test]
fn spreadsheets_by_content() {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Cover").and_then(|page| page.write(0, 0, "Tour").map(|_| ())).expect("a page");
    let list = book.add_worksheet().set_name("Gear").expect("a name");
    for (row, line) in
        [["Device", "Gear type", "Room"], ["Desk", "console-small", "Hall"], ["Wedge amp", "amplifier-2", "Stage"]].iter().enumerate()
    {
        for (column, cell) in line.iter().enumerate() {
            let (row, column) = (row as u32 + 2, column as u16 + 1);
            list.write(row, column, *cell).expect("a cell");
        }
    }
    list.write(2, 4, "Qty").and_then(|page| page.write(4, 4, 3)).expect("a cell");
    let bytes = book.save_to_buffer().expect("a workbook");
    let sheet = sheet(&bytes);
    assert_eq!(
        cells(&sheet),
        [(4, vec!["", "Desk", "console-small", "Hall", ""]), (5, vec!["", "Wedge amp", "amplifier-2", "Stage", "3"])]
    );
    assert_eq!((sheet.header_row, sheet.notes.len()), (3, 1), "the cover is said to be left out");
}

#[test]
fn an_open_document_list() {
    let sheet = sheet(include_bytes!("../../tests/fixtures/list.ods"));
    assert_eq!(cells(&sheet), [(3, vec!["Desk", "console-small", "Hall", "1"]), (5, vec!["Wedge amp", "amplifier-2", "Stage", "3"])]);
    assert_eq!(sheet.header_row, 2);
}

#[test]
fn what_is_no_list() {
    for (bytes, code) in [
        (b"".as_slice(), "list/empty"),
        (b"\n\n;;\n", "list/empty"),
        (b"PK\x03\x04 and then nothing", "list/unreadable"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "list/unreadable"),
    ] {
        assert_eq!(read_list(bytes, "list").err().map(|problem| problem.code), Some(code));
    }
}

#[test]
fn columns_are_known_by_many_names() {
    let fields =
        |header: &str| -> Vec<(Field, usize)> { map_columns(&sheet(format!("{header}\nx\n").as_bytes())).columns.into_iter().collect() };
    assert_eq!(fields("Device,Type,Room,Qty"), [(Field::Name, 0), (Field::Gear, 1), (Field::Place, 2), (Field::Quantity, 3)]);
    assert_eq!(fields("Anzahl,Gerät,Typ,Standort"), [(Field::Quantity, 0), (Field::Name, 1), (Field::Gear, 2), (Field::Place, 3)]);
    assert_eq!(fields("ID,Model-generic,Location (room),Power feed,Network(s)")[3..], [(Field::Feeds, 3), (Field::Networks, 4)]);
    let mapping = map_columns(&sheet(b"Name,Device,Weight\nx,y,z\n"));
    assert_eq!(mapping.columns.len(), 1);
    assert_eq!(mapping.notes.len(), 4, "second name, weight, no gear, no place: {:?}", mapping.notes);
}

#[test]
fn every_row_is_read_or_says_why_not() {
    let cases = [
        ("amp;;hall;;;;;", "no gear type is given"),
        ("amp;amplifier-3;hall;;;;;", "there is no gear type `amplifier-3`; did you mean `amplifier-2`?"),
        ("amp;stage thing;hall;;;;;", "did you mean `stage-box-8`, `stage-box-16`"),
        ("amp;flux unit;hall;;;;;", "there is no gear type `flux unit`; add"),
        ("amp;amplifier-2;;;;;;", "no place is given"),
        ("amp;amplifier-2;stag;;;;;", "there is no place `stag`; did you mean `stage`?"),
        ("amp;amplifier-2;hall;two;;;;", "`two` is not a quantity"),
        ("amp;amplifier-2;hall;-1;;;;", "`-1` is not a quantity"),
        ("amp;amplifier-2;hall;1.5;;;;", "`1.5` is not a quantity"),
        ("amp;amplifier-2;hall;0;;;;", "the quantity is 0"),
        ("amp;amplifier-2;hall;5000;;;;", "more than the 999"),
        ("desk;amplifier-2;hall;;;;;", "the name `desk` is already taken by a device of the plan"),
        ("hall;amplifier-2;stage;;;;;", "taken by a place of the plan"),
        ("!!;amplifier-2;stage;;;;;", "no letter or digit"),
        ("amp;amplifier-2;hall;;;;z;", "there is no network `z`"),
        ("amp;amplifier-2;hall;;;;;both", "`both` is not a pairing"),
        ("amp;laptop;hall;;;;;chained", "gear `laptop` cannot be set to `chained`"),
        (";;;;;;spare row;", "no gear type is given"),
    ];
    for (row, reason) in cases {
        let preview = shown(row, false);
        let unread: Vec<(u32, &str)> = preview.unread().collect();
        assert!(matches!(&unread[..], [(2, said)] if said.contains(reason)), "{row}: {unread:?}");
        assert!(to_edits(&preview).is_empty());
    }
}

#[test]
fn what_is_taken_for_something_is_said() {
    let cases = [
        ("FOH Desk 2;console-small;hall;;;;;", "name `FOH Desk 2` becomes `foh-desk-2`"),
        (";recorder;hall;;;;;", "named after its gear type `recorder`"),
        ("amp;Amplifier 2;hall;;;;;", "gear `Amplifier 2` is taken as `amplifier-2`"),
        ("pc;Notebook;hall;;;;;", "gear `Notebook` is taken as `laptop`"),
        ("amp;amplifier-2;Main Hall;;;;;", "place `Main Hall` is taken as `hall`"),
        ("amp;amplifier-2;hall;;;;;redundant", "pairing `redundant` is taken as `independent`"),
        ("amp;amplifier-2;hall;;;Mains SL;;", "feed `Mains SL` becomes `mains-sl`"),
        ("sw;switch-24;hall;2;;;;", "switches are counted as stock (2 of `switch-24`)"),
    ];
    for (row, note) in cases {
        let preview = shown(row, false);
        assert!(preview.rows[0].notes.iter().any(|said| said.contains(note)), "{row}: {preview:?}");
        assert_eq!(preview.unread().count(), 0, "{row}");
    }
    let exact = shown("amp;amplifier-2;hall;1;Left;ups-1;a, B;chained", false);
    assert!(exact.rows[0].notes.is_empty(), "{exact:?}");
}

#[test]
fn edits_make_a_plan_that_reads() {
    let rows = "Wedge amp;amplifier-2;Stage;3;;mains-1 / ups-1;a+b;independent\nfoh;laptop;Sound Desk;;Show computer;;;\nrec;recorder;Sound Desk;;;;;\n\
        sw;switch-24;hall;2;;;;\nbad;nothing;hall;;;;;\nsw2;switch-24;hall;1;;;;\n";
    let preview = shown(rows, true);
    assert_eq!((preview.device_count(), preview.unread().map(|(row, _)| row).collect::<Vec<_>>()), (5, vec![6]));
    let edited =
        apply(Source { name: "p.toml", text: PLAN }, None, &to_edits(&preview)).unwrap_or_else(|refused| panic!("{}", refused.problems));
    let plan = edited.loaded.plan;
    let names: Vec<&str> = plan.devices.keys().map(|id| id.as_str()).collect();
    assert_eq!(names, ["desk", "wedge-amp-1", "wedge-amp-2", "wedge-amp-3", "foh", "rec"]);
    let amp = &plan.devices["wedge-amp-2"];
    assert_eq!((amp.place.as_str(), amp.feeds.len(), amp.networks.len(), amp.title.as_deref()), ("stage", 2, 2, Some("Wedge amp")));
    assert_eq!(plan.places["sound-desk"].name, "Sound Desk");
    assert_eq!(plan.stock.switches.and_then(|held| held.get("switch-24").copied()), Some(3));
    assert!(edited.texts.plan.starts_with("[plan]\nname = \"x\"\n"), "what stood there still stands");
}

#[test]
fn names_do_not_collide_between_rows() {
    let preview = shown(
        "amp;amplifier-2;hall;2;;;;\namp-2;laptop;hall;;;;;\nloft;laptop;Loft;;;;;\nx;laptop;Loft;;;;;\nloft;laptop;hall;;;;;\n",
        true,
    );
    let unread: Vec<(u32, &str)> = preview.unread().collect();
    assert!(matches!(&unread[..], [(3, a), (6, c)] if a.contains("taken by row 2") && c.contains("taken by row 4")), "{unread:?}");
}
