//! Who may ask and who may change: foreign names, foreign pages, large bodies, headers.
#![allow(clippy::disallowed_methods, reason = "these tests write files")]

mod bench;

use axum::http::StatusCode;
use bench::Bench;

#[tokio::test]
async fn foreign_names_are_refused_before_anything_else() {
    let bench = Bench::with_demo();
    for host in ["evil.test", "evil.test:8750", "localhost", "localhost:80", "127.0.0.1:8751", "localhost:8750.evil.test", ""] {
        for path in ["/", "/assets/app.css", "/events?at=/", "/file/copy"] {
            let (status, text) = bench.get_with(path, &[("host", host)]).await;
            assert_eq!(status, StatusCode::MISDIRECTED_REQUEST, "{host:?} {path}");
            assert!(!text.contains("Demo hall"));
        }
    }
    for host in ["localhost:8750", "LOCALHOST:8750", "127.0.0.1:8750", "[::1]:8750"] {
        assert_eq!(bench.get_with("/", &[("host", host)]).await.0, StatusCode::OK, "{host}");
    }
}

#[tokio::test]
async fn foreign_pages_change_nothing() {
    let bench = Bench::with_demo();
    let before = bench.on_disk();
    let posts = [
        "/edit/device/remove",
        "/edit/device/set",
        "/edit/device/add",
        "/edit/device/paste",
        "/undo",
        "/redo",
        "/design",
        "/hold",
        "/file/text",
        "/file/write",
        "/file/take",
        "/theme",
    ];
    let foreign: [&[(&str, &str)]; 4] =
        [&[("sec-fetch-site", "cross-site")], &[("sec-fetch-site", "same-site")], &[("origin", "http://evil.test")], &[("origin", "null")]];
    for path in posts {
        for headers in foreign {
            let fields = [("id", "desk"), ("which", "plan"), ("text", ""), ("was", "{}"), ("title", "X")];
            assert_eq!(bench.post_with(path, &fields, headers).await.0, StatusCode::FORBIDDEN, "{path} {headers:?}");
        }
    }
    assert_eq!(bench.on_disk(), before);
}

#[tokio::test]
async fn our_own_pages_and_plain_clients_may_change() {
    let bench = Bench::with_demo();
    for headers in [&[("sec-fetch-site", "same-origin")][..], &[("origin", "http://localhost:8750")][..], &[][..]] {
        assert_eq!(bench.post_with("/theme", &[("theme", "light")], headers).await.0, StatusCode::SEE_OTHER, "{headers:?}");
    }
}

#[tokio::test]
async fn every_answer_carries_the_protecting_headers() {
    let bench = Bench::with_demo();
    for (path, host) in [("/", "localhost:8750"), ("/assets/app.js", "localhost:8750"), ("/nowhere", "localhost:8750"), ("/", "evil.test")]
    {
        let answer = bench.send(bench.request(("GET", path), &[("host", host)], "")).await;
        let policy = answer.header("content-security-policy");
        for rule in ["default-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"] {
            assert!(policy.contains(rule), "{path}: {policy}");
        }
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert!(!answer.header("referrer-policy").is_empty(), "{path}");
    }
}

#[tokio::test]
async fn a_body_without_end_is_refused() {
    let bench = Bench::with_demo();
    let huge = "x".repeat(9 * 1024 * 1024);
    let (status, _) = bench.post("/file/text", &[("which", "plan"), ("based", ""), ("text", &huge)]).await;
    assert_eq!(status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(bench.on_disk(), bench::PLAN);
}

#[tokio::test]
async fn addresses_in_forms_and_links_cannot_leave_this_server() {
    let bench = Bench::with_demo();
    for back in ["//evil.test/", "https://evil.test/", "/\\evil.test"] {
        let body = format!("theme=dark&back={back}");
        let answer = bench.send(bench.request(("POST", "/theme"), &[("content-type", "application/x-www-form-urlencoded")], &body)).await;
        assert_eq!(answer.header("location"), "/", "{back}");
    }
}
