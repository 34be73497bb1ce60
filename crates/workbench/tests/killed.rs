//! The server is killed at random moments while eight phones tick and one sends evidence: nothing that was acknowledged is lost, and every
//! file reads. `LOOMWRIGHT_KILLS=200 cargo test -p loomwright-workbench --test killed` is the long run; the suite does a few.
//!
//! Killing a program is not cutting its power: what the operating system had taken stays. That lines are flushed to the medium before they
//! are acknowledged is in the code, not in this test.
#![allow(clippy::disallowed_methods, reason = "this test starts programs and writes files")]

use loomwright_crewlog::{Book, read};
use loomwright_workbench::{Options, serve};
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Kills in the ordinary suite.
const KILLS: usize = 6;
/// Phones at once.
const PHONES: usize = 8;
/// Longest that the ordinary suite may take. Own choice.
const PATIENCE: Duration = Duration::from_secs(90);
/// Latest moment of a kill after the first acknowledgement. **Unit**: millisecond. Own choice: some hundred ticks.
const LATEST: u64 = 300;
const ENDS: [(&str, &str); 4] = [("A-001", "stage-box%2F1"), ("A-002", "desk%2F1"), ("B-001", "stage-box%2F2"), ("B-002", "desk%2F2")];
const EVIDENCE: &str = "device,port,neighbour,neighbour port\nstage-box,1,sw-a-1,1\n";

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.first().map(String::as_str) {
        Some("serve") => act_as_server(&arguments[1]),
        Some("--list") => println!("nothing_acknowledged_is_lost: test"),
        _ => nothing_acknowledged_is_lost(),
    }
}

fn act_as_server(plan: &str) {
    let on_open = Box::new(|address: &str| println!("{address}"));
    serve(Options { port: 0, on_open, ..Options::for_plan(plan) }).expect("serves until it is killed");
}

fn number(name: &str, otherwise: usize) -> usize {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

fn nothing_acknowledged_is_lost() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("demo.toml"), include_str!("bench/demo.toml")).expect("written");
    std::fs::write(folder.path().join("demo.wiring.toml"), include_str!("bench/demo.wiring.toml")).expect("written");
    let (kills, seed) = (number("LOOMWRIGHT_KILLS", KILLS), number("LOOMWRIGHT_SEED", 7));
    let mut chance = oorandom::Rand64::new(seed as u128);
    let (start, mut done) = (Instant::now(), 0);
    let (acknowledged, files, sent) = (Mutex::new(Vec::new()), Mutex::new(Vec::new()), AtomicUsize::new(0));
    while done < kills && (kills > KILLS || start.elapsed() < PATIENCE) {
        let (mut server, host) = started(folder.path());
        std::thread::scope(|scope| {
            for phone in 0..PHONES {
                let (host, all, sent) = (&host, &acknowledged, &sent);
                scope.spawn(move || tick_until_it_ends(host, (done, phone), (all, sent)));
            }
            scope.spawn(|| send_evidence(&host, done, &files));
            let before = acknowledged.lock().expect("no thread panics").len();
            while acknowledged.lock().expect("no thread panics").len() == before {
                std::thread::sleep(Duration::from_millis(1));
            }
            std::thread::sleep(Duration::from_millis(chance.rand_range(0..LATEST)));
            server.kill().expect("killed");
            server.wait().expect("gone");
        });
        done += 1;
        hold(folder.path(), &acknowledged.lock().expect("no thread panics"), &files.lock().expect("no thread panics"));
    }
    let (mut server, host) = started(folder.path());
    let answer = asked(&host, "GET /linecheck HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\n\r\n");
    server.kill().expect("killed");
    server.wait().expect("gone");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    let log = read(&std::fs::read(folder.path().join("demo.crewlog")).expect("readable"));
    let count = acknowledged.into_inner().expect("no thread panics").len();
    assert!(count > done && sent.into_inner() > count, "the kills fell among ticks");
    println!(
        "{done} kills (seed {seed}): {count} ticks acknowledged, 0 lost; {} files acknowledged, 0 lost; {} entries, {} torn lines",
        files.into_inner().expect("no thread panics").len(),
        log.entries.len(),
        log.unreadable.len()
    );
}

/// Everything acknowledged is there, each once in meaning, and nothing else than a torn end is unreadable.
fn hold(folder: &Path, acknowledged: &[String], files: &[String]) {
    let log = read(&std::fs::read(folder.join("demo.crewlog")).expect("readable"));
    let ids: BTreeSet<&str> = log.entries.iter().map(|entry| entry.id.as_str()).collect();
    for id in acknowledged {
        assert!(ids.contains(id.as_str()), "{id} was acknowledged and is lost");
    }
    assert!(log.unreadable.iter().all(|line| line.says == "was cut off or damaged"), "{:?}", log.unreadable);
    assert_eq!(Book::of(&log).len(), ids.len());
    for file in files {
        assert_eq!(std::fs::read_to_string(folder.join("demo.evidence").join(file)).expect("acknowledged and there"), EVIDENCE);
    }
    let evidence = std::fs::read_dir(folder.join("demo.evidence")).into_iter().flatten().flatten();
    for file in evidence.filter(|entry| !entry.file_name().to_string_lossy().starts_with('.')) {
        assert_eq!(std::fs::read_to_string(file.path()).expect("readable"), EVIDENCE, "a file is whole or not there");
    }
    assert_eq!(std::fs::read_to_string(folder.join("demo.toml")).expect("readable"), include_str!("bench/demo.toml"));
}

fn started(folder: &Path) -> (Child, String) {
    let own = std::env::current_exe().expect("this test");
    let mut child = Command::new(own).arg("serve").arg(folder.join("demo.toml")).stdout(Stdio::piped()).spawn().expect("started");
    let mut line = String::new();
    BufReader::new(child.stdout.take().expect("its words")).read_line(&mut line).expect("an address");
    (child, line.trim().trim_start_matches("http://").trim_end_matches('/').to_owned())
}

/// Ticks and takes back, one after the other, until nobody answers.
fn tick_until_it_ends(host: &str, (round, phone): (usize, usize), (all, sent): (&Mutex<Vec<String>>, &AtomicUsize)) {
    for n in 0.. {
        let (cable, port) = ENDS[(phone + n) % ENDS.len()];
        let id = format!("r{round}-p{phone}-n{n}");
        let body = format!("cable={cable}&port={port}&is={}&id={id}&back=%2Flinecheck", n % 2 == 0);
        let request = format!(
            "POST /linecheck/tick HTTP/1.1\r\nHost: HOST\r\nCookie: crew-name=phone{phone}\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        );
        sent.fetch_add(1, Ordering::Relaxed);
        if !asked(host, &request).starts_with("HTTP/1.1 303") {
            return;
        }
        all.lock().expect("no thread panics").push(id);
    }
}

/// Sends three files; a name is noted when it is acknowledged.
fn send_evidence(host: &str, round: usize, files: &Mutex<Vec<String>>) {
    for n in 0..3 {
        let name = format!("r{round}_n{n}.csv");
        let body = format!("--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\r\n{EVIDENCE}\r\n--b--\r\n");
        let request = format!(
            "POST /linecheck/evidence HTTP/1.1\r\nHost: HOST\r\nContent-Type: multipart/form-data; boundary=b\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        );
        if !asked(host, &request).starts_with("HTTP/1.1 303") {
            return;
        }
        files.lock().expect("no thread panics").push(name);
    }
}

/// The whole answer; empty if the server is gone.
fn asked(host: &str, request: &str) -> String {
    let mut answer = Vec::new();
    let Ok(mut line) = TcpStream::connect(host) else { return String::new() };
    let sent = line.write_all(request.replace("HOST", host).as_bytes());
    if sent.is_ok() {
        // What came before a broken line still counts: an acknowledgement was read.
        let _ = line.read_to_end(&mut answer);
    }
    String::from_utf8_lossy(&answer).into_owned()
}
