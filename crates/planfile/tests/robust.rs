//! Broken, cut and scrambled files never panic, and every problem points into its file.

use loomwright_model::Id;
use loomwright_planfile::edit::{Edit, Kind, TableAt, Texts, Value, draft};
use loomwright_planfile::import::{map_columns, preview, read_list};
use loomwright_planfile::{Problems, Source, read, read_bytes, render, render_plain, update_wiring};
use proptest::prelude::*;

const PLAN: &str = include_str!("fixtures/harbour.toml");
const WIRING: &str = include_str!("fixtures/harbour.wiring.toml");

/// A text with one stretch replaced by something else.
fn scrambled(text: &'static str) -> impl Strategy<Value = String> {
    let junk = prop_oneof![
        Just(String::new()),
        Just("[".to_owned()),
        Just("\n[x.y]\n".to_owned()),
        Just("\"".to_owned()),
        Just(" = ".to_owned()),
        Just("{".to_owned()),
        Just("舞\u{feff}".to_owned()),
        "[\\[\\]\"'=.{},#a-z0-9 \n-]{0,12}"
    ];
    (any::<prop::sample::Index>(), 0_usize..40, junk).prop_map(move |(at, length, junk)| {
        let floor = |at: usize| (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or_default();
        let start = floor(at.index(text.len()));
        let end = floor(start + length).max(start);
        format!("{}{junk}{}", &text[..start], &text[end..])
    })
}

fn points_into(problems: &Problems, sources: &[Source<'_>]) {
    for problem in problems {
        let text = sources.iter().find(|source| source.name == problem.file).map_or("", |source| source.text);
        assert!(problem.span.start <= problem.span.end && problem.span.end <= text.len(), "{problem:?}");
        let lines = text.split('\n').count();
        assert!((1..=lines).contains(&(problem.line as usize)) && problem.column >= 1, "{problem:?}");
        assert!(!problem.message.is_empty() && !problem.help.is_empty(), "{problem:?}");
    }
    assert!(render_plain(problems.as_slice(), sources).contains(problems.as_slice()[0].code));
    assert!(render(problems.as_slice(), sources).len() > 20);
}

proptest! {
    #[test]
    fn scrambled_files_are_told_apart_or_read(plan in scrambled(PLAN), wiring in scrambled(WIRING)) {
        let sources = [Source { name: "p", text: &plan }, Source { name: "w", text: &wiring }];
        if let Err(problems) = read(sources[0], Some(sources[1])) {
            points_into(&problems, &sources);
        }
    }

    #[test]
    fn edits_of_scrambled_files_do_not_panic(plan in scrambled(PLAN), wiring in scrambled(WIRING)) {
        let name = |text: &str| Id::new(text).expect("a name");
        let desk = TableAt::plan(&["device", "desk"]);
        let edits = [
            Edit::Set { table: desk.clone(), key: "feeds".into(), value: Value::texts(["x"]) },
            Edit::Unset { table: desk.clone(), key: "gear".into() },
            Edit::Rename { kind: Kind::Network, from: name("a"), to: name("b.c") },
            Edit::Rename { kind: Kind::Stream, from: name("quay-mics"), to: name("b") },
            Edit::Add { table: TableAt::wiring(&["cable", "new"]), keys: vec![] },
            Edit::Remove { table: desk },
        ];
        let after = draft(Texts { plan, wiring: Some(wiring) }, &edits);
        prop_assert!(after.wiring.is_some_and(|text| text.contains("[cable.new]")));
    }

    #[test]
    fn an_update_of_a_scrambled_file_reads_or_refuses(wiring in scrambled(WIRING)) {
        let good = read(Source { name: "p", text: PLAN }, Some(Source { name: "w", text: WIRING })).expect("a good plan").wiring;
        if let Ok(text) = update_wiring(Source { name: "w", text: &wiring }, &good) {
            let again = read(Source { name: "p", text: PLAN }, Some(Source { name: "w", text: &text }));
            prop_assert_eq!(again.map(|loaded| loaded.wiring).map_err(|problems| problems.to_string()), Ok(good));
        }
    }

    #[test]
    fn any_bytes_are_answered(bytes in prop::collection::vec(any::<u8>(), 0..200), start in prop_oneof![Just(&b""[..]), Just(&b"PK\x03\x04"[..]), Just(&b"\xff\xfe"[..]), Just(&b"name;type\n"[..])]) {
        let bytes = [start, &bytes].concat();
        if let Err(problems) = read_bytes(("p", &bytes), Some(("w", &bytes))) {
            prop_assert!(problems.iter().all(|problem| problem.line >= 1 && problem.column >= 1));
        }
        let plan = read(Source { name: "p", text: PLAN }, None).expect("a good plan").plan;
        if let Ok(sheet) = read_list(&bytes, "list") {
            let rows = preview(&sheet, &map_columns(&sheet), &plan).rows;
            prop_assert_eq!(rows.len(), sheet.rows.len());
        }
    }
}
