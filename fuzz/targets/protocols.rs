//! The payload of every protocol in turn.
#![no_main]

use libfuzzer_sys::fuzz_target;
use loomwright_evidence::protocol::{arp, bpdu, dhcp, dns, igmp, lldp, pause, ptp, rtp, sap, sdp};

fuzz_target!(|octets: &[u8]| {
    let _ = (arp::read(octets), bpdu::read(octets, false), bpdu::read(octets, true), dhcp::read(octets));
    let _ = (dns::read(octets), igmp::read(octets), lldp::read(octets), pause::read(octets));
    let _ = (ptp::read(octets), rtp::read(octets), sap::read(octets), sdp::read(&String::from_utf8_lossy(octets)));
});
