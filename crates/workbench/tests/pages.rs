//! Every page and every refusal, asked in process without a socket.
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

mod bench;

use axum::http::StatusCode;
use bench::Bench;
use loomwright_model::Time;
use loomwright_planfile::Source;
use loomwright_proof::Analysis;
use loomwright_replay::Replays;

const PAGES: &[&str] = &[
    "/",
    "/drawing",
    "/drawing?view=floor&layers=load,delay",
    "/drawing?view=panel&of=network:a",
    "/drawing?without=cable:A-001",
    "/drawing?without=switch:sw-a-1,feed:nowhere&frozen=1",
    "/gear",
    "/gear/places",
    "/gear/routes",
    "/gear/streams",
    "/gear/import",
    "/design",
    "/design?reasons=1",
    "/design/options",
    "/design/options?any-two=1",
    "/design/switches",
    "/design/cables",
    "/proof",
    "/proof/streams",
    "/proof/streams?stream=mics",
    "/proof/replay?stream=mics&to=desk&network=a",
    "/proof/replay?stream=nobody&to=nowhere&network=none&packets=x",
    "/proof/listening",
    "/proof/failures",
    "/proof/failures?hours=12&repair=24&all=1",
    "/proof/failures?item=switch:sw-a",
    "/proof/failures?item=cable:A-001",
    "/proof/failures?item=cable:nowhere",
    "/drawing?view=riser&layers=networks,hang",
    "/proof/links",
    "/proof/clock",
    "/proof/power",
    "/addresses",
    "/addresses/run",
    "/trouble",
    "/trouble?bad=heard:mics,power:nobody&what=A-001&answer=good",
    "/linecheck",
    "/linecheck?place=nowhere",
    "/linecheck/seen",
    "/linecheck/record?at=nothing",
    "/c/A-001",
    "/drawing?view=riser&layers=networks,linecheck",
];

#[tokio::test]
async fn every_page_answers_and_marks_itself_in_the_navigation() {
    let bench = Bench::with_demo();
    for path in PAGES.iter().copied().chain(["/sheets", "/file", "/file?which=wiring", "/explain"]) {
        let (status, text) = bench.get(path).await;
        assert_eq!(status, StatusCode::OK, "{path}");
        assert!(text.contains("<main id=\"main\"") && text.contains("class=\"skip\""), "{path}");
        let is_in_navigation = !path.starts_with("/file");
        assert_eq!(text.contains("aria-current=\"page\""), is_in_navigation || path.starts_with("/file"), "{path}");
        assert!(!text.contains("<style") && !text.contains(" style=") && !text.contains(" onclick="), "inline style or script on {path}");
    }
}

#[tokio::test]
async fn a_fragment_is_the_same_text_as_the_page() {
    let bench = Bench::with_demo();
    for &path in PAGES {
        let (_, page) = bench.get(path).await;
        let (_, fragment) = bench.get_with(path, &[("x-fragment", "1")]).await;
        let main = &fragment[fragment.find("<main").expect("a main element")..];
        assert!(page.contains(main), "{path}");
        assert!(!fragment.contains("<html"), "{path}");
    }
}

#[tokio::test]
async fn pages_of_a_broken_plan_say_what_is_wrong_and_where() {
    let bench = Bench::with("[plan]\nname = \"Broken\"\n[device.x]\ngaer = \"y\"\n", None);
    let (status, text) = bench.get("/").await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("line 4") && text.contains("gaer") && text.contains("^"), "{text}");
    for &path in PAGES {
        assert_eq!(bench.get(path).await.0, StatusCode::OK, "{path}");
    }
}

#[tokio::test]
async fn the_last_good_plan_stays_visible_while_the_file_is_broken() {
    let bench = Bench::with_demo();
    bench.write("[plan]\nname = \n");
    let (_, text) = bench.get("/gear").await;
    assert!(text.contains("cannot be proved") && text.contains("row-device-desk"), "the table of the last good plan");
    let (status, _) = bench.post("/edit/device/set", &[("id", "desk"), ("was", "{}"), ("title", "X")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    bench.write(bench::PLAN);
    assert!(!bench.get("/gear").await.1.contains("cannot be proved"));
}

#[tokio::test]
async fn unknown_pages_and_codes_are_not_found() {
    let bench = Bench::with_demo();
    for path in ["/nowhere", "/explain/no/code", "/sheets/none.pdf", "/gear/nowhere"] {
        assert_eq!(bench.get(path).await.0, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(bench.post("/edit/planet/set", &[]).await.0, StatusCode::NOT_FOUND);
    assert_eq!(bench.post("/edit/device/explode", &[]).await.0, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn text_of_the_plan_never_becomes_markup() {
    let plan = bench::PLAN.replace("Demo hall", "<script>alert(1)</script>");
    let bench = Bench::with(&plan, Some(bench::WIRING));
    for &path in PAGES {
        assert!(!bench.get(path).await.1.contains("<script>alert"), "{path}");
    }
}

#[tokio::test]
async fn the_theme_is_a_cookie_and_works_without_script() {
    let bench = Bench::with_demo();
    let answer = bench
        .send(bench.request(("POST", "/theme"), &[("content-type", "application/x-www-form-urlencoded")], "theme=dark&back=/gear"))
        .await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(answer.header("location"), "/gear");
    assert!(answer.header("set-cookie").starts_with("theme=dark;"));
    assert!(bench.get_with("/", &[("cookie", "theme=dark")]).await.1.contains("<html lang=\"en\" data-theme=\"dark\">"));
}

#[tokio::test]
async fn a_gear_list_is_shown_row_by_row_and_then_brought_in() {
    let bench = Bench::with_demo();
    let list = "Name\tType\tPlace\tCount\namp-l\tamplifier-4\tfoh\t1\nmystery\tno such thing at all\tfoh\t1\n";
    let boundary = "xxBOUNDARYxx";
    let body = format!("--{boundary}\r\nContent-Disposition: form-data; name=\"text\"\r\n\r\n{list}\r\n--{boundary}--\r\n");
    let kind = format!("multipart/form-data; boundary={boundary}");
    let answer = bench.send(bench.request(("POST", "/gear/import"), &[("content-type", &kind)], &body)).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    assert!(answer.text.contains("amp-l") && answer.text.contains("not read: "), "{}", answer.text);
    assert!(answer.text.contains("data-still"), "the preview stands still while the plan changes");
    assert_eq!(bench.on_disk(), bench::PLAN, "looking changes nothing");
    let (status, text) = bench.post("/import/take", &[("text", list), ("back", "/gear")]).await;
    assert_eq!(status, StatusCode::OK, "{text}");
    assert!(bench.on_disk().contains("[device.amp-l]") && !bench.on_disk().contains("mystery"));
    let (status, _) = bench.post("/import/take", &[("text", "")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn every_sheet_on_the_list_can_be_had() {
    let bench = Bench::with_demo();
    let (_, page) = bench.get("/sheets").await;
    let mut files: Vec<&str> =
        page.split("href=\"/sheets/").skip(1).filter_map(|rest| rest.split('"').next()).filter(|file| !file.contains('?')).collect();
    files.dedup();
    for kind in [".pdf", ".xlsx", ".csv", ".svg"] {
        assert!(files.iter().any(|file| file.ends_with(kind)), "{kind} of {files:?}");
    }
    for file in files {
        let answer = bench.send(bench.request(("GET", &format!("/sheets/{file}")), &[], "")).await;
        assert_eq!(answer.status, StatusCode::OK, "{file}");
        let begins = match file.rsplit('.').next() {
            Some("pdf") => "%PDF-",
            Some("xlsx") => "PK",
            Some("svg") => "<svg",
            _ => "",
        };
        assert!(answer.text.starts_with(begins) && answer.text.len() > 20, "{file}");
        assert!(answer.header("content-disposition").starts_with("attachment"), "{file}");
    }
}

#[tokio::test]
async fn every_finding_can_be_explained() {
    let bench = Bench::with_demo();
    let (_, page) = bench.get("/explain").await;
    let codes: Vec<&str> = page.split("href=\"/explain/").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(codes.len() > 20, "{codes:?}");
    for code in codes {
        let (status, text) = bench.get(&format!("/explain/{code}")).await;
        assert!(status == StatusCode::OK && text.contains(&format!("<code>{code}</code>")), "{code}");
    }
}

#[tokio::test]
async fn a_report_finds_suspects_and_the_answers_make_the_next_address() {
    let bench = Bench::with_demo();
    let (_, page) = bench.get("/trouble").await;
    let first = page.split("<option value=\"heard:").nth(1).and_then(|rest| rest.split('"').next()).expect("a stream to report").to_owned();
    let (_, page) = bench.get(&format!("/trouble?what={first}&answer=bad")).await;
    assert!(page.contains("suspects explain everything") || page.contains("One suspect explains everything"), "{page}");
    assert!(page.contains("Show on the drawing") && page.contains(">Yes</a>") && page.contains("take back"), "{page}");
    let (_, page) = bench.get("/trouble?bad=heard:no-such-stream").await;
    assert!(page.contains("role=\"alert\"") && page.contains("no stream is called"), "{page}");
}

#[tokio::test]
async fn failures_say_at_once_for_good_and_what_to_do() {
    let bench = Bench::with_demo();
    let (_, list) = bench.get("/proof/failures?hours=12&repair=24").await;
    for words in ["Silent at once", "Silent for good", "Longest gap, and why", "One show of 12 h, nothing repaired", "repaired within 24 h"]
    {
        assert!(list.contains(words), "{words}");
    }
    let first = list.split("/proof/failures?item=").nth(1).and_then(|rest| rest.split('"').next()).expect("a failure that is felt");
    let (_, one) = bench.get(&format!("/proof/failures?item={first}").replace("&amp;", "&")).await;
    assert!(one.contains("fails") || one.contains("freezes"), "{first}");
    let (_, cable) = bench.get("/proof/failures?item=cable:A-001").await;
    assert!(cable.contains("What to do") && cable.contains("Leave it alone while the show runs."), "{cable}");
    let (_, stream) = bench.get("/proof/streams?stream=mics").await;
    assert!(stream.contains("What silences it") && stream.contains("Nothing alone."), "{stream}");
    let (_, nowhere) = bench.get("/proof/failures?item=cable:nowhere").await;
    assert!(nowhere.contains("Nothing of that name can fail"));
}

#[tokio::test]
async fn a_longer_show_is_less_likely_to_stay_up() {
    let bench = Bench::with_demo();
    let mut before = f64::INFINITY;
    for hours in [1, 8, 72] {
        let (_, text) = bench.get(&format!("/proof/failures?hours={hours}")).await;
        let shown = text.split("id=\"show-chance\"").nth(1).and_then(|rest| rest.split(['>', '%']).nth(1)).expect("a chance");
        let chance: f64 = shown.trim().trim_start_matches("at least ").parse().expect("a figure");
        assert!(chance < before, "{hours} h: {chance} after {before}");
        before = chance;
    }
}

#[tokio::test]
async fn a_design_is_taken_and_nonsense_is_refused() {
    let bench = Bench::with_demo();
    let (_, before) = bench.get("/design/options").await;
    assert!(before.contains("Take this one") && before.contains("beaten by none"), "{before}");
    let (status, _) = bench.post("/design/choose", &[("shape", "pyramid"), ("back", "/design/options")]).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    let (status, _) = bench.post("/design/choose", &[("shape", "several-switches"), ("back", "/design/options")]).await;
    let (other, _) = bench.post("/design/choose", &[("shape", "one-switch"), ("back", "/design/options")]).await;
    assert!([status, other].contains(&StatusCode::OK), "{status} {other}");
    let (_, after) = bench.get("/").await;
    assert!(after.contains("design taken"), "{after}");
}

/// Text between tags, without tags.
fn bare(html: &str) -> String {
    html.split('<').filter_map(|piece| piece.split_once('>').map(|(_, text)| text)).collect()
}

#[tokio::test]
async fn the_worst_moment_shows_the_figures_of_the_replay() {
    let bench = Bench::with_demo();
    let plan = Source { name: "demo.toml", text: bench::PLAN };
    let wiring = Source { name: "demo.wiring.toml", text: bench::WIRING };
    let loaded = loomwright_planfile::read(plan, Some(wiring)).expect("the demo can be read");
    let analysis = Analysis::new(&loaded.plan, &loaded.wiring);
    let replays = Replays::new(analysis.delays.analysis().network());
    let words = |time: Time| time.to_string().replace(" us", " \u{b5}s");
    let micros = |time: Time| format!("{:.2} \u{b5}s", time.picoseconds() as f64 / 1e6);
    let (mut shown, mut drawn) = (0, 0);
    for (at, (flow, (id, stream), number)) in analysis.flows().enumerate() {
        for delivery in &flow.deliveries {
            let replay = replays.worst(at, delivery.hop as usize);
            let to = &stream.to[delivery.receiver as usize];
            let network = &analysis.fabric.networks[flow.network.0 as usize];
            let address = format!("/proof/replay?stream={id}&to={to}&network={network}&packets={number}");
            let (_, page) = bench.get(&address).await;
            let bound = analysis.delays.bound(at, delivery.hop).expect("the demo has bounds").worst;
            // The later of the two, where they differ by more than the picoseconds between packets of the replay.
            let constructed = analysis.delays.reached(at, delivery.hop).filter(|time| (*time - replay.reached).picoseconds() >= 1_000);
            let reached = constructed.unwrap_or(replay.reached);
            for (name, time) in [("reached", reached), ("bound", bound)] {
                assert!(page.contains(&format!("<strong id=\"{name}\">{}</strong>", words(time))), "{address}: {name} {time}");
            }
            assert_eq!(page.contains("This can happen"), !page.contains("a bound, not known to be reached"), "{address}");
            let table = page.split("<table id=\"moments\">").nth(1).and_then(|rest| rest.split("</table>").next()).expect("a table");
            let rows: Vec<&str> = table.split("<tr>").skip(2).collect();
            assert_eq!(rows.len(), replay.queues.len(), "{address}");
            for (row, queue) in rows.iter().zip(&replay.queues) {
                let own = queue.packets.last().expect("the packet itself");
                let ahead = queue.packets.iter().filter(|packet| *packet != own && packet.ends > own.arrives).count();
                let cells: Vec<String> = row
                    .split("<td class=\"figure\">")
                    .skip(1)
                    .map(|cell| bare(&format!("<td>{}", cell.split("</td>").next().unwrap_or(""))))
                    .collect();
                let times = [own.arrives, own.starts - own.arrives, own.starts, own.ends].map(micros);
                assert_eq!(cells, [vec![ahead.to_string()], times.to_vec()].concat(), "{address}");
                drawn += queue.packets.len();
            }
            let fullest = format!("fullest at {}: {} packet", micros(replay.fullest.at), replay.fullest.packets);
            assert!(page.contains(&fullest), "{address}: {fullest}");
            let (_, drawing) = bench.get(&format!("/drawing?view=riser&late={id},{to},{network},{number}")).await;
            let beside = drawing.split("id=\"moment\"").nth(1).and_then(|rest| rest.split("</ol>").next()).expect("the moment");
            assert_eq!(beside.matches("<li>").count(), replay.queues.len(), "{address}");
            let last = replay.queues.last().and_then(|queue| Some((queue.packets.split_last()?, queue)));
            let ((own, before), _) = last.expect("a queue");
            let ahead = before.iter().filter(|packet| packet.ends > own.arrives).count();
            assert!(ahead == 0 || beside.contains(&format!("{ahead} ahead, {}", words(own.starts - own.arrives))), "{address}: {ahead}");
            shown += page.split("<figure").nth(1).map_or(0, |figure| figure.matches("<title>").count());
        }
    }
    assert!(drawn > 20 && shown >= drawn, "{drawn} packets, {shown} titles");
}

#[tokio::test]
async fn a_worst_moment_that_is_not_there_is_refused_in_a_sentence() {
    let bench = Bench::with_demo();
    let cases = [
        ("stream=nobody&to=desk&network=a", "No stream is called"),
        ("stream=mics&to=nobody&network=a", "has no receiver called"),
        ("stream=mics&to=desk&network=none", "on a network called"),
        ("stream=mics&to=desk&network=a&packets=99", "No such packet stream"),
        ("", "No stream is called"),
    ];
    for (query, words) in cases {
        let (status, text) = bench.get(&format!("/proof/replay?{query}")).await;
        assert!(status == StatusCode::OK && text.contains(words) && !text.contains("<figure"), "{query}");
    }
    let (_, stream) = bench.get("/proof/streams?stream=mics").await;
    let link = stream.split("href=\"/proof/replay?").nth(1).and_then(|rest| rest.split('"').next()).expect("a link").replace("&amp;", "&");
    assert!(bench.get(&format!("/proof/replay?{link}")).await.1.contains("<figure"), "{link}");
}
