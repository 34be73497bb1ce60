//! The output of an SNMP walk, or a recorded one.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loomwright_evidence::read;

fuzz_target!(|octets: &[u8]| {
    read("made.walk", octets);
    read("made.snmprec", octets);
});
