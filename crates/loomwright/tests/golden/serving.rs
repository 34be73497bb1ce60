//! The pages, as far as the command line is concerned.

use crate::running::{program, run, with_starter};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Stdio};
use std::time::Duration;

/// A server that is stopped when the test is done with it.
struct Server {
    child: Child,
    at: String,
}

impl Server {
    fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut child = program(folder, arguments).stderr(Stdio::piped()).spawn().expect("the program was built with this test");
        let mut lines = BufReader::new(child.stderr.take().expect("it is piped")).lines();
        let at = lines.by_ref().map_while(Result::ok).find_map(|line| {
            let rest = line.split_once("http://")?.1;
            Some(rest.chars().take_while(|c| *c != '/').collect::<String>())
        });
        std::thread::spawn(move || lines.map_while(Result::ok).for_each(drop));
        Self { child, at: at.expect("it says its address") }
    }

    /// The status line and all that follows.
    fn get(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(&self.at).expect("it listens where it says");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a time-out can be set");
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", self.at).expect("it reads");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("it answers in text");
        answer
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_port_in_use_is_named_with_a_way_out() {
    let folder = with_starter();
    let taken = TcpListener::bind("127.0.0.1:0").expect("some port is free");
    let port = taken.local_addr().expect("it is bound").port().to_string();
    let opened = run(folder.path(), &["open", "hall.toml", "--no-browser", "--port", &port]);
    assert_eq!(opened.code, 2);
    assert!(opened.err.contains(&port) && opened.err.contains("another port"), "{}", opened.err);
}

#[test]
fn serves_a_plan_and_outlives_its_file() {
    let folder = with_starter();
    let server = Server::start(folder.path(), &["open", "hall.toml", "--no-browser", "--port", "0"]);
    assert!(server.get("/").starts_with("HTTP/1.1 200"));
    std::fs::remove_file(folder.path().join("hall.toml")).expect("the file can be removed");
    for _ in 0..2 {
        assert!(server.get("/").starts_with("HTTP/1.1 200"), "the pages go on and say that the file is gone");
    }
}

#[test]
fn the_demo_is_a_copy_each_time() {
    let folder = tempfile::tempdir().expect("a scratch folder");
    for copy in ["playhouse", "playhouse-2"] {
        let server = Server::start(folder.path(), &["open", "--no-browser", "--port", "0"]);
        assert!(server.get("/").starts_with("HTTP/1.1 200"));
        assert!(folder.path().join("data/loomwright").join(copy).join("playhouse.toml").is_file(), "{copy}");
    }
}

#[test]
fn phones_come_in_only_where_asked_and_only_at_a_local_address() {
    let folder = with_starter();
    for address in ["8.8.4.4", "0.0.0.0"] {
        let refused = run(folder.path(), &["open", "hall.toml", "--no-browser", "--port", "0", &format!("--crew={address}")]);
        assert_eq!(refused.code, 2);
        assert!(refused.err.contains("not an address of a local network") && refused.err.contains("--crew="), "{}", refused.err);
    }
    let arguments = ["open", "hall.toml", "--no-browser", "--port", "0", "--crew=127.0.0.1"];
    let mut child = program(folder.path(), &arguments).stderr(Stdio::piped()).spawn().expect("the program was built with this test");
    let mut lines = BufReader::new(child.stderr.take().expect("it is piped")).lines();
    let line = lines.by_ref().map_while(Result::ok).find(|line| line.contains("with the PIN")).expect("it says the link and the PIN");
    let at: String = line.split_once("http://").expect("a link").1.chars().take_while(|c| *c != '/').collect();
    let server = Server { child, at };
    assert!(server.get("/").starts_with("HTTP/1.1 401"), "the link's address shows nothing without the PIN");
}

#[test]
fn labels_carry_the_address_of_the_cables_page_when_asked() {
    let folder = tempfile::tempdir().expect("a scratch folder");
    assert_eq!(run(folder.path(), &["new", "room.toml", "--demo", "meeting-room"]).code, 0);
    let labels = |to: &str, link: &str| {
        let made = run(folder.path(), &["sheets", "room.toml", "--to", to, "--only", "labels", "--link", link]);
        assert_eq!(made.code, 0, "{}", made.err);
        std::fs::read(folder.path().join(made.out.trim())).expect("it wrote what it says")
    };
    let (bare, linked) = (labels("bare", ""), labels("linked", "http://10.0.0.5:8750/c/"));
    assert!(linked.len() > bare.len(), "a code with an address has more modules: {} and {} octets", linked.len(), bare.len());
}
