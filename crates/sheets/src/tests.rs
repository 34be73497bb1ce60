//! Documents against the model.

use super::*;
use crate::testing::{playhouse, stress};
use calamine::{Data, Reader, Xlsx};
use std::collections::BTreeSet;
use std::io::Cursor;

fn made(show: &testing::Show) -> Vec<File> {
    let options = Options { link_prefix: "http://192.168.1.20:8080/cable/".to_owned(), ..Options::default() };
    all(&show.scene(), &options, &mut |_| {}).expect("documents are made")
}

#[test]
fn same_scene_same_bytes() {
    let show = playhouse();
    assert!(made(&show) == made(&show), "two runs differ");
}

#[test]
fn every_file_has_its_own_safe_name() {
    let mut show = playhouse();
    show.plan.about.name = "../Ärger & Söhne: \"live\"/2026".to_owned();
    let files = made(&show);
    let names: BTreeSet<&str> = files.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names.len(), files.len());
    assert!(names.iter().all(|name| !name.contains("..") && !name.contains('"') && !name.contains(' ')), "{names:?}");
    assert!(files.iter().all(|file| !file.bytes.is_empty()));
}

#[test]
fn the_workbook_reads_back_as_the_tables() {
    for show in [playhouse(), stress()] {
        let scene = show.scene();
        let bytes = xlsx(&scene).expect("a workbook");
        let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).expect("a readable workbook");
        let source = Source::new(&scene);
        for kind in Kind::ALL {
            let table = source.table(kind);
            let range = book.worksheet_range(kind.title()).expect("a sheet for every table");
            assert_eq!(range.height(), table.rows.len() + 1, "{kind:?}");
            for (r, row) in table.rows.iter().enumerate() {
                for (c, cell) in row.cells.iter().enumerate() {
                    match (range.get((r + 1, c)), cell.number) {
                        (Some(Data::Float(found)), Some(number)) => assert!((found - number).abs() < 1e-9),
                        (Some(Data::String(found)), None) => assert_eq!(found, &cell.text),
                        (Some(Data::Empty) | None, None) => assert!(cell.text.is_empty()),
                        other => panic!("{kind:?} {r} {c}: {other:?}"),
                    }
                }
            }
        }
    }
}

#[test]
fn user_text_is_never_a_formula() {
    let mut show = playhouse();
    let title = "=HYPERLINK(\"http://example.org\")";
    show.plan.places[0].name = title.to_owned();
    let text = String::from_utf8(csv(&show.scene(), Kind::Cables)).expect("UTF-8");
    assert!(text.contains("\"'=HYPERLINK(") && !text.contains("\"=HYPERLINK("));
    let bytes = xlsx(&show.scene()).expect("a workbook");
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).expect("a readable workbook");
    assert!(book.worksheet_formula(Kind::Cables.title()).expect("the sheet").is_empty());
}

/// Text of a PDF by an independent reader; says why when there is none.
fn text_of(pdf: &[u8]) -> Option<String> {
    use std::io::Write;
    use std::process::{Command, Stdio};
    let child = Command::new("pdftotext").args(["-layout", "-", "-"]).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn();
    let mut child = match child {
        Ok(child) => child,
        Err(error) => {
            eprintln!("skipped: pdftotext (poppler-utils) cannot be started: {error}");
            return None;
        }
    };
    let mut input = child.stdin.take().expect("a pipe was asked for");
    let bytes = pdf.to_vec();
    // The reader answers while it is fed, so feeding needs a hand of its own.
    std::thread::scope(|scope| {
        scope.spawn(move || input.write_all(&bytes));
        let output = child.wait_with_output().expect("pdftotext ends");
        assert!(output.status.success());
        Some(String::from_utf8(output.stdout).expect("UTF-8"))
    })
}

#[test]
fn the_printed_text_has_every_cable_address_and_port() {
    for show in [playhouse(), stress()] {
        let scene = show.scene();
        let Some(text) = text_of(&pdf(&scene, &Options::default(), &mut |_| {}).expect("a PDF")) else { return };
        let words: BTreeSet<&str> = text.split_whitespace().collect();
        for (id, cable) in &show.wiring.cables {
            assert!(words.contains(id.as_str()), "{id}");
            for end in &cable.ends {
                assert!(words.contains(end.to_string().as_str()), "{end}");
            }
        }
        for interface in show.wiring.interfaces.values() {
            assert!(words.contains(interface.address.address.to_string().as_str()));
        }
        for id in show.plan.devices.keys().chain(show.wiring.switches.keys()).chain(show.plan.streams.keys()) {
            assert!(words.contains(id.as_str()), "{id}");
        }
        let pages = text.matches('\u{c}').count();
        let standing = text.matches("The responsible engineer signs.").count();
        assert!(standing >= pages, "{standing} of {pages} pages say who signs");
        assert!(text.contains(&format!("{pages} of {pages}")));
    }
}

#[test]
fn there_are_two_labels_for_every_cable() {
    let show = playhouse();
    let Some(text) = text_of(&labels(&show.scene(), &Options::default()).expect("a PDF")) else { return };
    for id in show.wiring.cables.keys() {
        assert_eq!(text.split_whitespace().filter(|word| *word == id.as_str()).count(), 2, "{id}");
    }
}

#[test]
fn one_table_alone_has_its_own_page_numbers() {
    let show = playhouse();
    let Some(text) = text_of(&table_pdf(&show.scene(), Kind::Cables).expect("a PDF")) else { return };
    let pages = text.matches('\u{c}').count();
    assert!(text.contains(&format!("{pages} of {pages}")) && text.contains("The responsible engineer signs."));
    assert!(show.wiring.cables.keys().all(|id| text.split_whitespace().any(|word| word == id.as_str())));
}
