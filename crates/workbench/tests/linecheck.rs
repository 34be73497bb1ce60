//! The line check: ticks, notes, evidence, differences, the record.
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

mod bench;

use axum::body::Body;
use axum::http::{Request, StatusCode};
use bench::{Answer, Bench};
use std::fs;

const TICK: &str = "/linecheck/tick";

fn log(bench: &Bench) -> String {
    fs::read_to_string(bench.folder().join("demo.crewlog")).unwrap_or_default()
}

/// Posts files as a form with a file field does.
async fn send_files(bench: &Bench, path: &str, files: &[(&str, &str, &[u8])]) -> Answer {
    let mut body = Vec::new();
    for (field, name, octets) in files {
        let file = if name.is_empty() { String::new() } else { format!("; filename=\"{name}\"") };
        body.extend(format!("--b0undary\r\nContent-Disposition: form-data; name=\"{field}\"{file}\r\n\r\n").into_bytes());
        body.extend_from_slice(octets);
        body.extend(b"\r\n");
    }
    body.extend(b"--b0undary--\r\n");
    let request = Request::builder()
        .method("POST")
        .uri(path)
        .header("host", "localhost:8750")
        .header("content-type", "multipart/form-data; boundary=b0undary")
        .body(Body::from(body));
    bench.send(request.expect("a request")).await
}

fn plug<'a>(id: &'a str, is: &'a str, knew: &'a str) -> [(&'a str, &'a str); 6] {
    [("cable", "A-001"), ("port", "stage-box/1"), ("is", is), ("knew", knew), ("id", id), ("back", "/linecheck")]
}

#[tokio::test]
async fn every_end_stands_at_its_place_and_one_tap_ticks_it() {
    let bench = Bench::with_demo();
    let (status, text) = bench.get("/linecheck").await;
    assert_eq!(status, StatusCode::OK);
    assert_eq!(text.matches("<form method=\"post\" action=\"/linecheck/tick\" data-tick>").count(), 8, "four cables, two ends each");
    assert!(
        text.find("1. Stage rack").expect("the first place") < text.find("2. Front of house").expect("the next place"),
        "in walking order"
    );
    assert!(!bench.folder().join("demo.crewlog").exists(), "looking writes nothing");
    let (status, text) = bench.post(TICK, &plug("p1", "true", "0")).await;
    assert_eq!(status, StatusCode::OK, "{text}");
    assert!(text.contains("<strong class=\"value\">1</strong> of 8 ends plugged"), "{text}");
    assert!(
        log(&bench).contains("\"id\":\"p1\"")
            && log(&bench).contains("\"does\":\"plug\",\"cable\":\"A-001\",\"port\":\"stage-box/1\",\"is\":true")
    );
    let again = Bench::reopened(bench);
    assert!(again.get("/linecheck").await.1.contains("1</strong> of 8 ends plugged"), "it is there after a restart");
}

#[tokio::test]
async fn a_plain_form_comes_back_to_the_row() {
    let bench = Bench::with_demo();
    let fields = [("cable", "A-001"), ("port", "stage-box/1"), ("is", "true"), ("back", "/linecheck#end-A-001-0")];
    let body: Vec<String> =
        fields.iter().map(|(name, value)| format!("{name}={}", value.replace('/', "%2F").replace('#', "%23"))).collect();
    let answer = bench.send(bench.request(("POST", TICK), &[("content-type", "application/x-www-form-urlencoded")], &body.join("&"))).await;
    assert_eq!((answer.status, answer.header("location")), (StatusCode::SEE_OTHER, "/linecheck#end-A-001-0"));
}

#[tokio::test]
async fn the_same_tap_sent_again_counts_once() {
    let bench = Bench::with_demo();
    for _ in 0..3 {
        assert_eq!(bench.post(TICK, &plug("p1", "true", "0")).await.0, StatusCode::OK);
    }
    assert_eq!(log(&bench).matches("\"p1\"").count(), 1);
}

#[tokio::test]
async fn two_people_who_say_different_things_are_both_shown() {
    let bench = Bench::with_demo();
    let as_who = |name: &'static str| [("cookie", name), ("x-fragment", "1")];
    bench.post_with(TICK, &plug("a1", "true", "0"), &as_who("crew-name=Ana")).await;
    let (_, text) = bench.post_with(TICK, &plug("b1", "false", "0"), &as_who("crew-name=Bob")).await;
    assert!(text.contains("people said different things") && text.contains("Ana, ") && text.contains("Bob, "), "{text}");
    assert!(text.contains("0</strong> of 8 ends plugged"), "what is disputed does not count");
    let (_, text) = bench.post_with(TICK, &plug("a2", "true", "2"), &as_who("crew-name=Ana")).await;
    assert!(!text.contains("people said different things") && text.contains("1</strong> of 8 ends plugged"), "Ana saw both and decided");
}

#[tokio::test]
async fn what_the_plan_does_not_have_is_refused_and_nothing_is_written() {
    let bench = Bench::with_demo();
    for fields in [
        [("cable", "Z-9"), ("port", "stage-box/1"), ("is", "true")],
        [("cable", "A-001"), ("port", "desk/2"), ("is", "true")],
        [("cable", "A-001"), ("port", "stage-box/1"), ("is", "perhaps")],
    ] {
        let (status, text) = bench.post(TICK, &fields).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(text.starts_with("Not ticked"), "{text}");
    }
    assert_eq!(log(&bench), "");
}

#[tokio::test]
async fn a_cable_that_moves_in_the_plan_is_not_taken_for_plugged() {
    let bench = Bench::with_demo();
    bench.post(TICK, &plug("p1", "true", "0")).await;
    let moved = bench.wiring_on_disk().replace("[\"stage-box/1\", \"sw-a-1/1\"]", "[\"stage-box/1\", \"sw-a-1/3\"]");
    fs::write(bench.folder().join("demo.wiring.toml"), &moved).expect("written");
    assert!(bench.get("/linecheck").await.1.contains("1</strong> of 8"), "the end that stays is still ticked");
    bench.post(TICK, &[("cable", "A-001"), ("port", "sw-a-1/3"), ("is", "true"), ("id", "p2")]).await;
    fs::write(bench.folder().join("demo.wiring.toml"), moved.replace("sw-a-1/3", "sw-a-1/4")).expect("written");
    let (_, text) = bench.get("/c/A-001").await;
    assert!(text.contains("was plugged into <b>sw-a-1/3</b>") && text.contains("Move it"), "{text}");
}

#[tokio::test]
async fn the_label_s_page_has_both_ends_and_everything_said() {
    let bench = Bench::with_demo();
    let (status, text) = bench.get("/c/A-002").await;
    assert_eq!(status, StatusCode::OK);
    for word in
        ["desk/1", "sw-a-1/2", "Front of house", "Stage rack", "35 m", "left", "30 m", "this end plugged into", "Tested", "mute amplifiers"]
    {
        assert!(text.contains(word), "{word}: {text}");
    }
    assert_eq!(bench.get("/c/none").await.0, StatusCode::NOT_FOUND);
    let note = [("cable", "A-002"), ("text", "taped at the <door>\nsecond line"), ("id", "n1"), ("back", "/c/A-002")];
    let (status, text) = bench.post("/linecheck/note", &note).await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("taped at the &lt;door&gt;"), "{text}");
    assert_eq!(log(&bench).lines().count(), 2, "a head and one line, whatever is in the note");
    let (status, _) = bench.post("/linecheck/note", &[("cable", "A-002"), ("text", "  ")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn pictures_are_kept_beside_the_log_and_nothing_else_is() {
    let bench = Bench::with_demo();
    let picture = [b"\x89PNG\r\n\x1a\n".as_slice(), &[1; 500]].concat();
    let kept = send_files(&bench, "/linecheck/photo", &[("cable", "", b"A-001"), ("photo", "x.html", &picture)]).await;
    assert_eq!((kept.status, kept.header("location")), (StatusCode::SEE_OTHER, "/c/A-001"));
    let name = fs::read_dir(bench.folder().join("demo.photos")).expect("a folder").next().expect("a file").expect("readable").file_name();
    let shown = bench.send(bench.request(("GET", &format!("/linecheck/photo/{}", name.to_string_lossy())), &[], "")).await;
    assert_eq!((shown.status, shown.header("content-type")), (StatusCode::OK, "image/png"));
    let refused = send_files(&bench, "/linecheck/photo", &[("cable", "", b"A-001"), ("photo", "x.png", b"<script>")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let huge = vec![0xff; 13 * 1024 * 1024];
    let refused = send_files(&bench, "/linecheck/photo", &[("cable", "", b"A-001"), ("photo", "x.jpg", &huge)]).await;
    assert_eq!(refused.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(refused.text.contains("12 MB"), "{}", refused.text);
    assert_eq!(log(&bench).matches("\"photo\"").count(), 1);
    assert_eq!(bench.get("/linecheck/photo/..%2Fdemo.toml").await.0, StatusCode::NOT_FOUND);
}

const NOTES: &[u8] = b"device,port,neighbour,neighbour port\nstage-box,1,sw-a-1,3\ndesk,1,sw-a-1,2\n";

#[tokio::test]
async fn evidence_is_kept_listed_and_held_against_the_plan() {
    let bench = Bench::with_demo();
    assert!(bench.get("/linecheck/seen").await.1.contains("Nothing was seen yet"));
    let sent = send_files(&bench, "/linecheck/evidence", &[("file", "notes.csv", NOTES), ("file", "what.bin", b"\0\x01\x02garbage")]).await;
    assert_eq!((sent.status, sent.header("location")), (StatusCode::SEE_OTHER, "/linecheck/seen"), "{}", sent.text);
    assert_eq!(fs::read(bench.folder().join("demo.evidence/notes.csv")).expect("kept"), NOTES);
    let (_, text) = bench.get("/linecheck/seen").await;
    assert!(text.contains("notes (CSV)") && text.contains("2 neighbours"), "{text}");
    assert!(text.contains("what.bin") && text.contains("Not read: "), "the sentence why not: {text}");
    assert!(
        text.contains("seen/") && text.contains("sw-a-1/3") && text.contains("Planned") && text.contains("neither right nor wrong"),
        "{text}"
    );
    let (_, text) = bench.get("/linecheck").await;
    assert!(text.contains("on the network") && text.contains(">differs<") && text.contains(">seen<"), "{text}");
    assert!(log(&bench).contains("\"does\":\"evidence\",\"file\":\"notes.csv\""));
    let (status, text) = bench.post("/linecheck/set-aside", &[("file", "notes.csv"), ("back", "/linecheck/seen")]).await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("1 file set aside") && !text.contains("2 neighbours"), "{text}");
    bench.post("/linecheck/take-back", &[("file", "notes.csv"), ("back", "/linecheck/seen")]).await;
    assert!(bench.get("/linecheck/seen").await.1.contains("2 neighbours"));
}

#[tokio::test]
async fn a_file_put_into_the_folder_by_hand_counts_too() {
    let bench = Bench::with_demo();
    fs::create_dir(bench.folder().join("demo.evidence")).expect("made");
    fs::write(bench.folder().join("demo.evidence/notes.csv"), NOTES).expect("written");
    assert!(bench.get("/linecheck/seen").await.1.contains("2 neighbours"));
}

#[tokio::test]
async fn what_listens_is_held_against_the_plan_with_the_files() {
    let (bench, workbench) = Bench::with_handle();
    workbench.hear("listening on eth0", &[], loomwright_evidence::read("notes.csv", NOTES));
    let (_, text) = bench.get("/linecheck/seen").await;
    assert!(text.contains("listening on eth0") && text.contains("sw-a-1/3"), "{text}");
    let planned = text.split("Planned streams heard").nth(1).and_then(|rest| rest.split("</dd>").next()).expect("a count");
    assert!(planned.contains(">0 of "), "{planned}");
    assert!(text.contains("not heard yet") && !text.contains("Hear it live"), "{text}");
    let (bench, _) = Bench::with_handle();
    assert!(bench.get("/linecheck/seen").await.1.contains("Hear it live"), "with nobody listening it says how to");
}

#[tokio::test]
async fn the_record_says_how_it_stood_when_it_was_signed() {
    let bench = Bench::with_demo();
    bench.post(TICK, &plug("p1", "true", "0")).await;
    send_files(&bench, "/linecheck/evidence", &[("file", "notes.csv", NOTES)]).await;
    let (status, _) = bench.post("/linecheck/sign", &[("who", " ")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    let (status, text) = bench.post("/linecheck/sign", &[("who", "M. Kern"), ("remark", "B side tomorrow")]).await;
    assert_eq!(status, StatusCode::OK);
    for word in [
        "M. Kern",
        "B side tomorrow",
        "1 of 8",
        "notes.csv",
        "A-001 plugged into stage-box/1",
        "crew/unplugged",
        "seen/",
        "does not certify",
    ] {
        assert!(text.contains(word), "{word}: {text}");
    }
    let sums: Vec<&str> = text.split("class=\"long\">").skip(1).filter_map(|rest| rest.get(..64)).collect();
    assert!(sums.len() == 2 && sums.iter().all(|sum| sum.bytes().all(|digit| digit.is_ascii_hexdigit())), "{sums:?}");
    bench.post(TICK, &[("cable", "A-001"), ("port", "sw-a-1/1"), ("is", "true"), ("id", "p2")]).await;
    let (_, list) = bench.get("/linecheck/record").await;
    assert!(list.contains("M. Kern") && list.contains("1 of 8 ends"), "what was signed does not change: {list}");
    bench.write(&bench.on_disk().replace("revision = \"A\"", "revision = \"B\""));
    assert!(bench.get("/linecheck/record").await.1.contains("the plan changed since"));
}

#[tokio::test]
async fn a_full_disk_acknowledges_nothing_and_loses_nothing() {
    let Some(disk) = bench::SmallDisk::mounted() else {
        println!("skipped: nothing can be mounted here");
        return;
    };
    let bench = Bench::on(disk.path());
    assert_eq!(bench.post(TICK, &plug("p1", "true", "0")).await.0, StatusCode::OK);
    disk.fill();
    let mut refused = 0;
    for n in 0..200 {
        let id = format!("f{n}");
        let (status, text) = bench.post(TICK, &plug(&id, "true", "0")).await;
        if status != StatusCode::OK {
            assert_eq!(status, StatusCode::SERVICE_UNAVAILABLE, "the phone keeps it and tries again");
            assert!(text.contains("the disk is full") && !log(&bench).contains(&format!("\"{id}\"")), "{text}");
            refused += 1;
        } else {
            assert!(log(&bench).contains(&format!("\"{id}\"")), "acknowledged and there");
        }
    }
    assert!(refused > 0);
    disk.make_room();
    assert_eq!(bench.post(TICK, &plug("last", "true", "0")).await.0, StatusCode::OK);
    assert!(log(&bench).contains("\"p1\"") && log(&bench).contains("\"last\""));
    assert_eq!(bench.get("/linecheck").await.0, StatusCode::OK);
}
