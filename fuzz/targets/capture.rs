//! A capture file of either format.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loomwright_evidence::{Reader, read};

fuzz_target!(|octets: &[u8]| {
    let whole = read("made.pcap", octets);
    let mut reader = Reader::new("made.pcap");
    octets.chunks(97).for_each(|piece| reader.feed(piece));
    assert_eq!(whole, reader.finish());
});
