//! Starting: ports, names and files that are not there.
#![allow(clippy::disallowed_methods, reason = "these tests open sockets and write files")]

use loomwright_workbench::{Failure, Options, serve};
use std::error::Error;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::mpsc;
use std::time::Duration;

fn plan(folder: &tempfile::TempDir) -> std::path::PathBuf {
    let path = folder.path().join("demo.toml");
    std::fs::write(&path, include_str!("bench/demo.toml")).expect("written");
    path
}

#[test]
fn a_port_in_use_is_said_with_the_way_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let taken = TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = taken.local_addr().expect("an address").port();
    let failure = serve(Options { port, ..Options::for_plan(plan(&folder)) }).expect_err("refused");
    let words = failure.to_string();
    assert!(matches!(failure, Failure::Listen(..)) && words.contains(&port.to_string()) && words.contains("port 0"), "{words}");
    assert!(failure.source().is_some());
}

#[test]
fn a_plan_that_is_not_there_is_said_with_its_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let failure = serve(Options { port: 0, ..Options::for_plan(folder.path().join("none.toml")) }).expect_err("refused");
    assert!(matches!(failure, Failure::Open(..)) && failure.to_string().contains("none.toml"));
}

#[test]
fn any_free_port_is_announced_and_answers_there_only() {
    let folder = tempfile::tempdir().expect("a folder");
    let (send, receive) = mpsc::channel();
    let options = Options {
        port: 0,
        on_open: Box::new(move |address: &str| send.send(address.to_owned()).expect("somebody listens")),
        ..Options::for_plan(plan(&folder))
    };
    std::thread::spawn(move || serve(options));
    let address = receive.recv_timeout(Duration::from_secs(20)).expect("announced");
    let host = address.strip_prefix("http://").and_then(|rest| rest.strip_suffix('/')).expect("an address").to_owned();
    let asked = |name: &str| {
        let mut line = TcpStream::connect(&host).expect("listening");
        line.write_all(format!("GET / HTTP/1.1\r\nHost: {name}\r\nConnection: close\r\n\r\n").as_bytes()).expect("sent");
        let mut answer = String::new();
        line.read_to_string(&mut answer).expect("answered");
        answer.lines().next().unwrap_or("").to_owned()
    };
    assert!(asked(&host).contains("200"));
    assert!(asked("localhost:1").contains("421") && asked("evil.test").contains("421"));
}

#[test]
fn the_crew_s_door_is_shut_unless_asked_for_and_listens_at_its_one_address() {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(Options::for_plan(plan(&folder)).crew.is_none());
    let (send, receive) = mpsc::channel();
    let given = send.clone();
    let options = Options {
        port: 0,
        crew: Some([127, 0, 0, 1].into()),
        on_open: Box::new(move |address: &str| send.send(address.to_owned()).expect("somebody listens")),
        on_crew: Box::new(move |invitation| given.send(invitation.tick.clone()).expect("somebody listens")),
        ..Options::for_plan(plan(&folder))
    };
    std::thread::spawn(move || serve(options));
    let next = || receive.recv_timeout(Duration::from_secs(20)).expect("announced");
    let (desk, link) = (next(), next());
    let host = |address: &str| address.trim_start_matches("http://").split('/').next().unwrap_or_default().to_owned();
    let (desk, phones) = (host(&desk), host(&link));
    assert_ne!(desk, phones);
    let asked = |at: &str, name: &str, path: &str| {
        let mut line = TcpStream::connect(at).expect("listening");
        line.write_all(format!("GET {path} HTTP/1.1\r\nHost: {name}\r\nConnection: close\r\n\r\n").as_bytes()).expect("sent");
        let mut answer = String::new();
        line.read_to_string(&mut answer).expect("answered");
        answer.lines().next().unwrap_or("").to_owned()
    };
    assert!(asked(&desk, &desk, "/linecheck").contains("200"));
    assert!(asked(&phones, &phones, "/linecheck").contains("401"));
    assert!(asked(&phones, &phones, link.split_once(&phones).expect("the link").1).contains("200"));
    assert!(asked(&phones, &desk, "/").contains("421") && asked(&desk, &phones, "/").contains("421"));
}
