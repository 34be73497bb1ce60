//! Edits, conflicts, undo, outside edits, and disks that refuse.
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

mod bench;

use axum::http::StatusCode;
use bench::{Bench, PLAN};

const DESK: &str = r#"{"title":"","gear":"box","place":"foh","pairing":"independent","feeds":"mains-foh, ups-foh","networks":""}"#;

fn based(page: &str) -> String {
    let at = page.find("name=\"based\" value=\"").expect("a page says what it is based on") + 20;
    page[at - 1..].trim_start_matches('"').split('"').next().expect("a value").to_owned()
}

#[tokio::test]
async fn one_cell_changes_one_line_and_keeps_the_comments() {
    let bench = Bench::with_demo();
    let (status, page) = bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("place", "stage"), ("back", "/gear")]).await;
    assert_eq!(status, StatusCode::OK, "{page}");
    let desk = &PLAN[PLAN.find("[device.desk]").expect("there")..];
    let expected = PLAN.replace(desk, &desk.replacen("place = \"foh\"", "place = \"stage\"", 1));
    assert_eq!(bench.on_disk(), expected);
    assert!(page.contains("row-device-desk"));
}

#[tokio::test]
async fn wiring_that_no_longer_fits_yields_is_named_and_comes_back_with_undo() {
    let bench = Bench::with_demo();
    let before = bench.wiring_on_disk();
    assert_eq!(
        bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("place", "stage"), ("back", "/gear")]).await.0,
        StatusCode::OK
    );
    let now = bench.wiring_on_disk();
    assert!(!now.contains("[cable.A-002]") && !now.contains("[cable.B-002]") && now.contains("[cable.A-001]"), "{now}");
    let (_, page) = bench.get("/").await;
    assert!(page.contains("taken out of the wiring: cable A-002, cable B-002"), "the edit says what it took");
    assert_eq!(bench.post("/undo", &[("based", &based(&page))]).await.0, StatusCode::OK);
    assert_eq!((bench.on_disk().as_str(), bench.wiring_on_disk()), (PLAN, before));
    assert_eq!(bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("rename", "foh-desk")]).await.0, StatusCode::OK);
    assert!(
        bench.wiring_on_disk().contains("foh-desk/1") && bench.on_disk().contains("to = [\"foh-desk\"]"),
        "a new name reaches every mention"
    );
}

#[tokio::test]
async fn every_kind_of_cell_can_be_set_and_cleared() {
    let bench = Bench::with_demo();
    let edits = [
        ("device", "desk", "title", "Desk \"A\"", "title = "),
        ("device", "desk", "networks", "a, b", "networks = [\"a\", \"b\"]"),
        ("place", "foh", "at", "1.5, -2, 3", "at = [1.5, -2"),
        ("route", "left", "length", "31.5 m", "length = \"31.5 m\""),
        ("route", "left", "takes", "fibre, copper", "takes = [\"fibre\", \"copper\"]"),
        ("stream", "mics", "channels", "16", "channels = 16"),
        ("stream", "returns", "essential", "true", "essential = true\n"),
        ("stream", "mics", "network-delay", "2 ms", "network-delay = \"2 ms\""),
        ("stream", "mics", "legs", "a", "legs = [\"a\"]"),
    ];
    for (table, id, key, value, written) in edits {
        let (_, page) = bench.get(page_of(table)).await;
        let was = was_of(&page, table, id);
        let (status, text) = bench.post(&format!("/edit/{table}/set"), &[("id", id), ("was", &was), (key, value)]).await;
        assert_eq!(status, StatusCode::OK, "{table} {key}: {text}");
        assert!(bench.on_disk().contains(written), "{table} {key}: {}", bench.on_disk());
    }
    let (_, page) = bench.get("/gear").await;
    let (status, _) = bench.post("/edit/device/set", &[("id", "desk"), ("was", &was_of(&page, "device", "desk")), ("title", "")]).await;
    assert_eq!(status, StatusCode::OK);
    assert!(!bench.on_disk().contains("Desk \\\"A") && !bench.on_disk().contains("title = \"\""));
}

fn page_of(table: &str) -> &'static str {
    match table {
        "device" => "/gear",
        "place" => "/gear/places",
        "route" => "/gear/routes",
        "switch" => "/design/switches",
        "cable" => "/design/cables",
        _ => "/gear/streams",
    }
}

/// The hidden field that says what a row showed.
fn was_of(page: &str, table: &str, id: &str) -> String {
    let row = &page[page.find(&format!("id=\"row-{table}-{id}\"")).expect("the row")..];
    let field = &row[row.find("name=\"was\" value=\"").expect("the field") + 18..];
    field.split('"').next().expect("a value").replace("&quot;", "\"").replace("&amp;", "&")
}

#[tokio::test]
async fn a_wrong_value_is_refused_in_words_and_nothing_changes() {
    let bench = Bench::with_demo();
    for (table, id, key, value, word) in [
        ("device", "desk", "place", "moon", "moon"),
        ("route", "left", "length", "30", "24 m"),
        ("route", "left", "length", "-3 m", "24 m"),
        ("stream", "mics", "channels", "many", "channels"),
        ("stream", "mics", "to", "nobody", "nobody"),
        ("place", "foh", "at", "here", "at"),
    ] {
        let (_, page) = bench.get(page_of(table)).await;
        let (status, text) =
            bench.post(&format!("/edit/{table}/set"), &[("id", id), ("was", &was_of(&page, table, id)), (key, value)]).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{key}={value}: {text}");
        assert!(text.contains(word), "{key}={value}: {text}");
    }
    assert_eq!(bench.on_disk(), PLAN);
}

#[tokio::test]
async fn two_people_on_different_cells_do_not_meet_and_on_the_same_cell_do() {
    let bench = Bench::with_demo();
    assert_eq!(bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("title", "Main desk")]).await.0, StatusCode::OK);
    assert_eq!(bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("place", "stage")]).await.0, StatusCode::OK);
    let (status, text) = bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("title", "Other desk")]).await;
    assert_eq!(status, StatusCode::CONFLICT);
    assert!(text.contains("Main desk") && text.contains("Other desk"), "both versions are shown: {text}");
    assert!(bench.on_disk().contains("Main desk") && !bench.on_disk().contains("Other desk"));
    let plain = bench.post_with("/edit/device/set", &[("id", "desk"), ("was", DESK), ("title", "Other desk")], &[]).await;
    assert!(plain.0 == StatusCode::CONFLICT && plain.1.contains("<h1>") && plain.1.contains("Theirs"));
}

#[tokio::test]
async fn rows_come_and_go() {
    let bench = Bench::with_demo();
    let (status, text) = bench.post("/edit/device/add", &[("id", "amp-1"), ("gear", "amplifier-4"), ("place", "foh")]).await;
    assert_eq!(status, StatusCode::OK, "{text}");
    assert!(bench.on_disk().contains("[device.amp-1]"));
    assert_eq!(
        bench.post("/edit/device/add", &[("id", "amp-1"), ("gear", "amplifier-4"), ("place", "foh")]).await.0,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(
        bench.post("/edit/device/add", &[("id", "a b"), ("gear", "amplifier-4"), ("place", "foh")]).await.0,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    assert_eq!(bench.post("/edit/device/remove", &[("id", "amp-1")]).await.0, StatusCode::OK);
    assert!(!bench.on_disk().contains("amp-1") && bench.on_disk().contains("this comment must survive"));
    let (status, text) = bench.post("/edit/place/remove", &[("id", "foh")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "what others need stays: {text}");
}

#[tokio::test]
async fn a_block_from_a_spreadsheet_is_one_edit() {
    let bench = Bench::with_demo();
    let block = "amp-1\tAmp left\tamplifier-4\tfoh\namp-2\tAmp right\tamplifier-4\tstage\ndesk\tThe desk\n";
    let (status, text) = bench.post("/edit/device/paste", &[("block", block)]).await;
    assert_eq!(status, StatusCode::OK, "{text}");
    let disk = bench.on_disk();
    assert!(disk.contains("[device.amp-2]") && disk.contains("The desk"), "{disk}");
    let now = based(&bench.get("/").await.1);
    assert_eq!(bench.post("/undo", &[("based", &now)]).await.0, StatusCode::OK);
    assert_eq!(bench.on_disk(), PLAN);
    let column = [("block", "stage\nstage"), ("row", "stage-box"), ("column", "3")];
    assert_eq!(bench.post("/edit/device/paste", &column).await.0, StatusCode::OK);
    assert!(!bench.on_disk().contains("place = \"foh\""));
    let (status, text) = bench.post("/edit/device/paste", &[("block", "x\ty\tno-such-gear\tfoh")]).await;
    assert!(status == StatusCode::UNPROCESSABLE_ENTITY && text.contains("no-such-gear"), "{text}");
}

#[tokio::test]
async fn what_the_design_decided_can_be_held_by_hand() {
    let bench = Bench::with_demo();
    let (_, page) = bench.get("/design/cables").await;
    let (status, text) =
        bench.post("/edit/cable/set", &[("id", "A-002"), ("was", &was_of(&page, "cable", "A-002")), ("hold", "true")]).await;
    assert_eq!(status, StatusCode::OK, "{text}");
    assert_eq!(bench.wiring_on_disk().matches("hold = true").count(), 1);
    assert_eq!(bench.post("/hold", &[("what", "all"), ("hold", "true")]).await.0, StatusCode::OK);
    assert_eq!(bench.wiring_on_disk().matches("hold = true").count(), 6);
    let before = bench.wiring_on_disk();
    assert_eq!(bench.post("/design", &[("back", "/design?reasons=1")]).await.0, StatusCode::OK);
    let cables = |text: &str| {
        text.split("[cable.A-002]").nth(1).map(|rest| {
            rest.lines().skip(1).take_while(|line| !line.is_empty() && !line.starts_with('[')).map(str::to_owned).collect::<Vec<_>>()
        })
    };
    let mut lines = [cables(&before), cables(&bench.wiring_on_disk())].map(|lines| lines.expect("the held cable stays"));
    lines.iter_mut().for_each(|lines| lines.sort());
    let [before, after] = lines;
    for line in after {
        assert!(before.contains(&line) || line.starts_with("routes"), "a held cable changed: {line}");
    }
    assert_eq!(bench.post("/hold", &[("what", "all"), ("hold", "false")]).await.0, StatusCode::OK);
    assert!(!bench.wiring_on_disk().contains("hold = true"));
}

#[tokio::test]
async fn an_edit_by_another_program_is_seen_and_undo_reaches_across_it() {
    let bench = Bench::with_demo();
    bench.write(&PLAN.replace("Demo hall", "Renamed outside"));
    let (_, page) = bench.get("/").await;
    assert!(page.contains("Renamed outside") && page.contains("an edit outside these pages"));
    assert_eq!(bench.post("/undo", &[("based", "stale")]).await.0, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(bench.post("/undo", &[("based", &based(&page))]).await.0, StatusCode::OK);
    assert_eq!(bench.on_disk(), PLAN);
    let now = based(&bench.get("/").await.1);
    assert_eq!(bench.post("/redo", &[("based", &now)]).await.0, StatusCode::OK);
    assert!(bench.on_disk().contains("Renamed outside"));
}

#[tokio::test]
async fn saving_a_text_that_somebody_else_changed_shows_both() {
    let bench = Bench::with_demo();
    let old = based(&bench.get("/file").await.1);
    bench.write(&PLAN.replace("Demo hall", "Their hall"));
    let mine = PLAN.replace("Demo hall", "My hall");
    let (status, text) = bench.post_with("/file/text", &[("which", "plan"), ("based", &old), ("text", &mine)], &[]).await;
    assert!(status == StatusCode::CONFLICT && text.contains("Their hall") && text.contains("My hall"));
    assert!(bench.on_disk().contains("Their hall"));
    let now = based(&bench.get("/file").await.1);
    assert_eq!(
        bench.post("/file/text", &[("which", "plan"), ("based", &now), ("text", &mine.replace('\n', "\r\n"))]).await.0,
        StatusCode::OK
    );
    assert_eq!(bench.on_disk(), mine, "line ends stay as they were");
}

#[tokio::test]
async fn a_removed_file_is_said_clearly_and_offered_for_download() {
    let bench = Bench::with_demo();
    std::fs::remove_file(bench.path()).expect("removed");
    let (status, page) = bench.get("/gear").await;
    assert!(status == StatusCode::OK && page.contains("The plan file is gone") && page.contains("/file/copy"));
    assert_eq!(bench.get("/file/copy").await.1, PLAN);
    assert_eq!(bench.post("/file/write", &[]).await.0, StatusCode::OK);
    assert_eq!(bench.on_disk(), PLAN);
    assert!(!bench.get("/gear").await.1.contains("The plan file is gone"));
}

#[tokio::test]
async fn a_full_disk_keeps_the_edit_in_memory() {
    let Some(small) = bench::SmallDisk::mounted() else {
        println!("skipped: a small disk cannot be mounted here");
        return;
    };
    let bench = Bench::on(small.path());
    small.fill();
    let (status, page) = bench.post("/edit/device/set", &[("id", "desk"), ("was", DESK), ("title", "Kept in memory")]).await;
    assert_eq!(status, StatusCode::OK);
    assert!(page.contains("Not saved: the disk is full"), "{page}");
    assert_eq!(bench.on_disk(), PLAN, "the old file is whole");
    assert!(bench.get("/file/copy").await.1.contains("Kept in memory"));
    small.make_room();
    let (_, page) = bench.post("/file/write", &[]).await;
    assert!(!page.contains("Not saved"));
    assert!(bench.on_disk().contains("Kept in memory"));
}
