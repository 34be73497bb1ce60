//! Ethernet frames, each after two octets that say its length.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loomwright_evidence::{Moment, read, write};

fuzz_target!(|octets: &[u8]| {
    let mut file = write::header().to_vec();
    let mut rest = octets;
    let mut time = 0;
    while let Some((&[high, low], after)) = rest.split_first_chunk::<2>() {
        let length = usize::from(u16::from_be_bytes([high & 0x07, low])).min(after.len());
        let (frame, after) = after.split_at(length);
        write::frame(&mut file, Moment(time), frame, None);
        time += 1_000_000;
        rest = after;
    }
    read("made.pcap", &file);
});
