//! Any file, recognised by its content.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loomwright_evidence::read;

fuzz_target!(|octets: &[u8]| {
    read("made", octets);
});
