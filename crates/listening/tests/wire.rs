//! A real wire: two ends of a virtual cable in a network of their own. Nothing leaves it, and it goes away with the test.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods, reason = "this test starts itself again in a network of its own")]

use loomwright_evidence::facts::BindingSource;
use loomwright_evidence::{Wire, wire};
use loomwright_listening::{CannotListen, Ear, Groups, Interface, PacketTap, Tap, ask};
use std::net::Ipv4Addr;
use std::process::Command;
use std::time::Duration;

/// Set inside the network of its own.
const INSIDE: &str = "LOOMWRIGHT_TEST_INSIDE";
const PATIENCE: Duration = Duration::from_millis(1_500);

/// Runs `test` of this file in a network namespace of its own; `false` if this system does not allow that.
fn is_outside(test: &str) -> bool {
    if std::env::var_os(INSIDE).is_some() {
        return false;
    }
    let allowed = Command::new("unshare").args(["-rn", "true"]).status().is_ok_and(|status| status.success());
    let has_tool = Command::new("ip").arg("-V").output().is_ok_and(|output| output.status.success());
    if !allowed || !has_tool {
        eprintln!("not tried: this system allows no network of its own");
        return true;
    }
    let own = std::env::current_exe().expect("a running program knows where it lies");
    let output = Command::new("timeout")
        .args(["60", "unshare", "-rn"])
        .arg(own)
        .args(["--exact", test, "--nocapture", "--test-threads=1"])
        .env(INSIDE, "1")
        .output()
        .expect("unshare was there a moment ago");
    assert!(output.status.success(), "{}\n{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    true
}

fn ip(line: &str) {
    let status = Command::new("ip").args(line.split_whitespace()).status().expect("ip is there");
    assert!(status.success(), "ip {line}");
}

/// A cable from `near` to `far`, both ends up, quiet.
fn cable() -> (Interface, Interface) {
    ip("link add near type veth peer name far");
    ip("link set near addrgenmode none");
    ip("link set far addrgenmode none");
    ip("addr add 10.9.0.1/24 dev near");
    ip("link set near up");
    ip("link set far up");
    let find = |name| Interface::find(name).expect("the cable was just made");
    (find("near"), find("far"))
}

fn listen(ear: &mut Ear<'_>) {
    assert!(ear.listen(PATIENCE).expect("the wire does not fail"));
}

#[test]
fn what_goes_in_at_one_end_is_heard_at_the_other() {
    if is_outside("what_goes_in_at_one_end_is_heard_at_the_other") {
        return;
    }
    let (near, far) = cable();
    let mut speaking = PacketTap::open(&near).expect("root of its own network may");
    let mut ear = Ear::new(PacketTap::open(&far).expect("root of its own network may"), Wire::new("far", "far"));
    let mut sent = Vec::new();
    let capture = include_bytes!("../../evidence/tests/fixtures/edge.pcap");
    wire::frames(capture, &mut |frame| sent.push(frame.octets.to_vec()));
    // The same frames once more with a VLAN tag, which the kernel takes out and hands over beside them.
    let tagged = sent.iter().map(|frame| [&frame[..12], &[0x81, 0, 0x60, 42], &frame[12..]].concat()).collect::<Vec<_>>();
    let all: Vec<&Vec<u8>> = sent.iter().chain(&tagged).filter(|frame| frame.len() <= 1_514).collect();
    for frame in &all {
        speaking.send(frame).expect("the cable is up");
    }
    listen(&mut ear);
    let frames = ear.frames();
    let heard = ear.finish().expect("nothing is written");
    assert!(frames >= all.len().try_into().expect("a short capture"), "{frames} of {}", all.len());
    assert!(heard.complaints.iter().all(|one| !one.says.contains("too slow")), "{:?}", heard.complaints);
    let mut vlans: Vec<_> = heard.flows.iter().filter(|flow| !flow.rtp.is_empty()).map(|flow| flow.vlan).collect();
    vlans.sort_unstable();
    vlans.dedup();
    assert_eq!(vlans, [None, Some(42)], "untagged and tagged");
    let lost: u64 = heard.flows.iter().flat_map(|flow| &flow.rtp).map(|rtp| rtp.lost).sum();
    let planned = loomwright_evidence::read("edge.pcap", capture);
    let expected: u64 = planned.flows.iter().flat_map(|flow| &flow.rtp).map(|rtp| rtp.lost).sum();
    assert_eq!(lost, expected * 2, "as much as the recording itself lost, twice");
}

#[test]
fn own_frames_are_not_heard() {
    if is_outside("own_frames_are_not_heard") {
        return;
    }
    let (near, _) = cable();
    let mut tap = PacketTap::open(&near).expect("root of its own network may");
    tap.send(&ask::who_has(near.mac, Ipv4Addr::new(10, 9, 0, 77))).expect("the cable is up");
    let mut ear = Ear::new(tap, Wire::new("near", "near"));
    listen(&mut ear);
    assert_eq!(ear.finish().expect("nothing is written").bindings, []);
}

#[test]
fn a_probe_finds_who_has_an_address() {
    if is_outside("a_probe_finds_who_has_an_address") {
        return;
    }
    let (near, far) = cable();
    let mut ear = Ear::new(PacketTap::open(&far).expect("root of its own network may"), Wire::new("far", "far"));
    ear.send(&ask::who_has(far.mac, Ipv4Addr::new(10, 9, 0, 1))).expect("the cable is up");
    ear.send(&ask::who_has(far.mac, Ipv4Addr::new(10, 9, 0, 2))).expect("the cable is up");
    listen(&mut ear);
    let heard = ear.finish().expect("nothing is written");
    let found: Vec<_> = heard.bindings.iter().filter(|row| row.by == BindingSource::Arp).map(|row| (row.address, row.mac)).collect();
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].0.to_string(), found[0].1.map(|mac| mac.0)), ("10.9.0.1".to_owned(), Some(near.mac)));
}

#[test]
fn groups_are_asked_for_and_given_up() {
    if is_outside("groups_are_asked_for_and_given_up") {
        return;
    }
    let (near, far) = cable();
    let mut ear = Ear::new(PacketTap::open(&far).expect("root of its own network may"), Wire::new("far", "far"));
    // More than one socket may ask for.
    let groups: Vec<Ipv4Addr> = (1..=45).map(|n| Ipv4Addr::new(239, 69, 0, n)).collect();
    let joined = Groups::join(&near, &groups).expect("the interface has an address");
    listen(&mut ear);
    let wanted = |ear: &Ear<'_>| ear.so_far().memberships.iter().filter(|row| row.is_member && groups.contains(&row.group)).count();
    assert_eq!((joined.count(), wanted(&ear)), (45, 45));
    drop(joined);
    listen(&mut ear);
    assert_eq!(wanted(&ear), 0);
}

#[test]
fn says_why_it_cannot_listen() {
    if is_outside("says_why_it_cannot_listen") {
        return;
    }
    cable();
    let missing = Interface::find("nowhere");
    assert!(matches!(&missing, Err(CannotListen::NoSuchInterface(known)) if known.contains(&"near".to_owned())), "{missing:?}");
    ip("link set far down");
    let far = Interface::find("far").expect("the cable was just made");
    let down = PacketTap::open(&far).map(|_| ());
    assert!(matches!(down, Err(CannotListen::IsDown)), "{down:?}");
}
