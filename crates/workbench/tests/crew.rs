//! The crew's door: who is let in, what each role may do, and every refusal.
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

mod bench;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use bench::Bench;
use loomwright_workbench::{Access, Role, Workbench, crew_router, router};
use std::sync::Arc;
use tower::ServiceExt;

const HOST: &str = "10.0.0.5:8750";
const OURS: (&str, &str) = ("origin", "http://10.0.0.5:8750");

struct Door {
    bench: Bench,
    desk: Router,
    phones: Router,
    access: Arc<Access>,
}

struct Said {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Door {
    fn open() -> Self {
        let bench = Bench::with_demo();
        let workbench = Workbench::open(&bench.path(), 8750).expect("opened");
        let access = workbench.open_to_crew(HOST).expect("chance");
        Self { desk: router(workbench.clone()), phones: crew_router(workbench, Arc::clone(&access)), bench, access }
    }

    async fn ask(&self, way: (&str, &str), headers: &[(&str, &str)], body: &str) -> Said {
        let mut request = Request::builder().method(way.0).uri(way.1).header("content-type", "application/x-www-form-urlencoded");
        if !headers.iter().any(|(name, _)| *name == "host") {
            request = request.header("host", HOST);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(Body::from(body.to_owned())).expect("a request");
        let (parts, body) = self.phones.clone().oneshot(request).await.expect("an answer").into_parts();
        // Live news never end.
        let is_endless = parts.headers.get("content-type").is_some_and(|kind| kind == "text/event-stream");
        let text = if is_endless { Default::default() } else { to_bytes(body, 64 * 1024 * 1024).await.expect("a body") };
        Said { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&text).into_owned() }
    }

    fn path(link: &str) -> &str {
        link.strip_prefix("http://10.0.0.5:8750").expect("our link")
    }

    /// Joins by link, PIN and name; gives the cookie.
    async fn join(&self, role: Role) -> String {
        let given = self.access.invitation();
        let link = if role == Role::Tick { given.tick } else { given.look };
        let said = self.ask(("POST", Self::path(&link)), &[OURS], &format!("pin={}&name=Ana", given.pin)).await;
        assert_eq!(said.status, StatusCode::SEE_OTHER, "{}", said.text);
        let cookie =
            said.headers.get_all("set-cookie").iter().find_map(|value| value.to_str().ok().filter(|value| value.starts_with("crew=")));
        let cookie = cookie.expect("a cookie");
        assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
        cookie.split(';').next().expect("its value").to_owned()
    }

    fn log(&self) -> String {
        std::fs::read_to_string(self.bench.folder().join("demo.crewlog")).unwrap_or_default()
    }
}

const PAGES: [&str; 6] = ["/", "/linecheck", "/c/A-001", "/file/copy", "/sheets/labels.pdf", "/events?at=/"];
const TICK: &str = "cable=A-001&port=stage-box%2F1&is=true&id=t1&back=%2Flinecheck";

#[tokio::test]
async fn nobody_comes_in_without_link_and_pin() {
    let door = Door::open();
    for path in PAGES {
        for cookie in ["", "crew=", "crew=0123456789abcdef0123456789abcdef", "theme=dark"] {
            let said = door.ask(("GET", path), &[("cookie", cookie)], "").await;
            assert_eq!(said.status, StatusCode::UNAUTHORIZED, "{path} {cookie}");
            assert!(!said.text.contains("Demo hall") && said.text.contains("crew link"), "{}", said.text);
        }
    }
    assert_eq!(door.ask(("POST", "/linecheck/tick"), &[OURS], TICK).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(door.ask(("GET", "/join/0123"), &[], "").await.status, StatusCode::NOT_FOUND);
    let form = door.ask(("GET", Door::path(&door.access.invitation().tick)), &[], "").await;
    assert_eq!(form.status, StatusCode::OK);
    assert!(!form.text.contains("Demo hall"), "the link alone shows nothing of the plan");
    assert_eq!(door.log(), "");
}

#[tokio::test]
async fn wrong_pins_are_refused_slowed_and_then_shut_out() {
    let door = Door::open();
    let given = door.access.invitation();
    let wrong = if given.pin == "000000" { "000001" } else { "000000" };
    let path = Door::path(&given.tick).to_owned();
    for _ in 0..5 {
        let said = door.ask(("POST", &path), &[OURS], &format!("pin={wrong}&name=Eve")).await;
        assert_eq!(said.status, StatusCode::FORBIDDEN);
        assert!(said.headers.get("set-cookie").is_none());
    }
    let said = door.ask(("POST", &path), &[OURS], &format!("pin={}&name=Eve", given.pin)).await;
    assert_eq!(said.status, StatusCode::TOO_MANY_REQUESTS, "even the right one waits");
    assert!(said.headers.contains_key("retry-after") && said.text.contains("Wait"), "{}", said.text);
    assert!(door.access.guests().is_empty());
}

#[tokio::test]
async fn foreign_names_are_refused_before_anything_else() {
    let door = Door::open();
    let cookie = door.join(Role::Tick).await;
    for host in ["evil.test", "evil.test:8750", "localhost:8750", "127.0.0.1:8750", "10.0.0.5", "10.0.0.5:80", ""] {
        for path in ["/", "/join/x", "/assets/app.js"] {
            let said = door.ask(("GET", path), &[("host", host), ("cookie", &cookie)], "").await;
            assert_eq!(said.status, StatusCode::MISDIRECTED_REQUEST, "{host} {path}");
        }
    }
    let desk = Request::builder().uri("/").header("host", HOST).body(Body::empty()).expect("a request");
    let answer = door.desk.clone().oneshot(desk).await.expect("an answer");
    assert_eq!(answer.status(), StatusCode::MISDIRECTED_REQUEST, "and the desk does not answer to the crew's address");
}

#[tokio::test]
async fn only_our_own_pages_may_post() {
    let door = Door::open();
    let cookie = door.join(Role::Tick).await;
    let foreign: [&[(&str, &str)]; 6] = [
        &[],
        &[("origin", "http://evil.test")],
        &[("origin", "null")],
        &[("origin", "https://10.0.0.5:8750")],
        &[("sec-fetch-site", "cross-site")],
        &[("sec-fetch-site", "cross-site"), OURS],
    ];
    for headers in foreign {
        let mut all = headers.to_vec();
        all.push(("cookie", &cookie));
        for path in ["/linecheck/tick", "/theme", "/join/x"] {
            assert_eq!(door.ask(("POST", path), &all, TICK).await.status, StatusCode::FORBIDDEN, "{path} {headers:?}");
        }
    }
    assert_eq!(door.log(), "");
    assert_eq!(door.ask(("POST", "/linecheck/tick"), &[OURS, ("cookie", &cookie)], TICK).await.status, StatusCode::SEE_OTHER);
    assert!(door.log().contains("\"who\":\"Ana\",\"hand\":\""), "{}", door.log());
}

#[tokio::test]
async fn the_crew_ticks_and_notes_and_changes_no_plan() {
    let door = Door::open();
    let cookie = door.join(Role::Tick).await;
    let (plan, wiring) = (door.bench.on_disk(), door.bench.wiring_on_disk());
    let all = [OURS, ("cookie", cookie.as_str()), ("x-fragment", "1")];
    assert_eq!(door.ask(("POST", "/linecheck/tick"), &all, TICK).await.status, StatusCode::OK);
    assert_eq!(door.ask(("POST", "/linecheck/note"), &all, "cable=A-001&text=hello&id=n1").await.status, StatusCode::OK);
    let edits = [
        "/edit/device/set",
        "/edit/device/add",
        "/edit/device/remove",
        "/edit/device/paste",
        "/undo",
        "/redo",
        "/design",
        "/design/choose",
        "/hold",
        "/gear/import",
        "/import/take",
        "/file/text",
        "/file/write",
        "/file/take",
        "/linecheck/evidence",
        "/linecheck/set-aside",
        "/linecheck/take-back",
        "/linecheck/sign",
        "/crew/renew",
        "/linecheck/tick/",
        "/nowhere",
    ];
    for path in edits {
        for method in ["POST", "PUT", "DELETE", "PATCH"] {
            let said = door.ask((method, path), &all, "id=desk&title=X&which=plan&text=&who=Eve").await;
            assert_eq!(said.status, StatusCode::FORBIDDEN, "{method} {path}");
        }
    }
    assert_eq!((door.bench.on_disk(), door.bench.wiring_on_disk()), (plan, wiring));
    assert_eq!(door.log().lines().count(), 3, "a head, a tick, a note");
    let page = door.ask(("GET", "/crew"), &all[1..2], "").await;
    assert!(page.status == StatusCode::NOT_FOUND && !page.text.contains(&door.access.invitation().pin), "the PIN is the desk's");
    for path in ["/", "/drawing", "/linecheck", "/c/A-001", "/sheets", "/trouble", "/events?at=/linecheck"] {
        assert_eq!(door.ask(("GET", path), &all[1..2], "").await.status, StatusCode::OK, "{path}");
    }
    let page = door.ask(("GET", "/linecheck"), &all[1..2], "").await.text;
    assert!(page.contains("data-role=\"crew\"") && !page.contains("href=\"/gear\""), "no way to the tables");
}

#[tokio::test]
async fn who_only_looks_changes_nothing_at_all() {
    let door = Door::open();
    let cookie = door.join(Role::Look).await;
    for path in ["/linecheck/tick", "/linecheck/note", "/linecheck/photo", "/linecheck/name", "/linecheck/sign", "/undo"] {
        let said = door.ask(("POST", path), &[OURS, ("cookie", &cookie)], TICK).await;
        assert_eq!(said.status, StatusCode::FORBIDDEN, "{path}");
    }
    assert_eq!(door.log(), "");
    let page = door.ask(("GET", "/linecheck"), &[("cookie", &cookie)], "").await;
    assert!(page.status == StatusCode::OK && page.text.contains("data-role=\"look\""));
}

#[tokio::test]
async fn a_role_cannot_be_claimed_and_ends_when_all_are_sent_away() {
    let door = Door::open();
    let said = door.ask(("GET", "/linecheck"), &[("x-loomwright-role", "crew")], "").await;
    assert_eq!(said.status, StatusCode::UNAUTHORIZED);
    let cookie = door.join(Role::Look).await;
    let said = door.ask(("GET", "/linecheck"), &[("x-loomwright-role", "crew"), ("cookie", &cookie)], "").await;
    assert!(said.text.contains("data-role=\"look\""));
    door.access.renew().expect("chance");
    assert_eq!(door.ask(("GET", "/linecheck"), &[("cookie", &cookie)], "").await.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn the_desk_shows_the_link_and_the_labels_carry_it() {
    let door = Door::open();
    let given = door.access.invitation();
    let ask = |path: &'static str| {
        let request = Request::builder().uri(path).header("host", "localhost:8750").body(Body::empty()).expect("a request");
        door.desk.clone().oneshot(request)
    };
    let page = to_bytes(ask("/crew").await.expect("an answer").into_body(), 1 << 20).await.expect("a body");
    let page = String::from_utf8_lossy(&page);
    assert!(
        page.contains(&given.pin) && page.contains(&given.tick) && page.contains("<path d=\"M4 4h7v1h-7z"),
        "a code with its corner: {page}"
    );
    let with = to_bytes(ask("/sheets/labels.pdf").await.expect("an answer").into_body(), 1 << 24).await.expect("a body");
    let without = door.bench.send(door.bench.request(("GET", "/sheets/labels.pdf"), &[], "")).await;
    assert_ne!(with.len(), without.text.len(), "codes with an address are larger than bare names");
    let closed = door.bench.get("/crew").await.1;
    assert!(closed.contains("--crew") && !closed.contains("join/"), "without the door there is nothing to hand out");
}

#[tokio::test]
async fn every_answer_at_the_door_carries_the_protecting_headers() {
    let door = Door::open();
    for (path, host) in [("/", HOST), ("/assets/app.js", HOST), ("/join/x", HOST), ("/", "evil.test")] {
        let said = door.ask(("GET", path), &[("host", host)], "").await;
        let policy = said.headers.get("content-security-policy").and_then(|value| value.to_str().ok()).unwrap_or("");
        assert!(policy.contains("default-src 'self'") && policy.contains("frame-ancestors 'none'"), "{path}: {policy}");
    }
}
