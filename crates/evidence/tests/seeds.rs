//! Inputs that fuzzing found to reach new code, once more: none may panic, and captures read the same whole and in pieces.

#![allow(clippy::disallowed_methods, reason = "a test reads its inputs at run time")]

use loomwright_evidence::protocol::{arp, bpdu, dhcp, dns, igmp, lldp, pause, ptp, rtp, sap, sdp};
use loomwright_evidence::{Moment, Reader, read, write};

/// The inputs of one target of `fuzz/`: each with its length in two octets before it.
fn inputs(target: &str) -> Vec<Vec<u8>> {
    let path = format!("{}/../../fuzz/seeds/{target}.bin", env!("CARGO_MANIFEST_DIR"));
    let packed = std::fs::read(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
    let (mut all, mut rest) = (Vec::new(), packed.as_slice());
    while let Some((length, after)) = rest.split_first_chunk::<2>() {
        let (one, after) = after.split_at(usize::from(u16::from_be_bytes(*length)));
        all.push(one.to_vec());
        rest = after;
    }
    assert!(all.len() > 20, "{target}: only {} inputs", all.len());
    all
}

#[test]
fn texts_and_walks() {
    for octets in inputs("texts") {
        read("made", &octets);
    }
    for octets in inputs("walks") {
        read("made.walk", &octets);
        read("made.snmprec", &octets);
    }
}

#[test]
fn captures_whole_and_in_pieces() {
    for octets in inputs("capture") {
        let mut reader = Reader::new("made.pcap");
        octets.chunks(97).for_each(|piece| reader.feed(piece));
        assert_eq!(read("made.pcap", &octets), reader.finish());
    }
}

#[test]
fn frames() {
    for octets in inputs("frames") {
        let mut file = write::header().to_vec();
        let (mut rest, mut time) = (octets.as_slice(), 0);
        while let Some((&[high, low], after)) = rest.split_first_chunk::<2>() {
            let (frame, after) = after.split_at(usize::from(u16::from_be_bytes([high & 0x07, low])).min(after.len()));
            write::frame(&mut file, Moment(time), frame, None);
            time += 1_000_000;
            rest = after;
        }
        assert!(read("made.pcap", &file).sources[0].capture.is_some());
    }
}

#[test]
fn protocols() {
    for octets in inputs("protocols") {
        let octets = octets.as_slice();
        let _ = (arp::read(octets), bpdu::read(octets, false), bpdu::read(octets, true), dhcp::read(octets));
        let _ = (dns::read(octets), igmp::read(octets), lldp::read(octets), pause::read(octets));
        let _ = (ptp::read(octets), rtp::read(octets), sap::read(octets), sdp::read(&String::from_utf8_lossy(octets)));
    }
}
