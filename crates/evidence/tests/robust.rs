//! Cut, scrambled and invented files never panic; what is read in pieces is what is read whole; every place lies inside the file.

use loomwright_evidence::{Evidence, Moment, Reader, Spot, read, write};
use proptest::prelude::*;

const FILES: [(&str, &[u8]); 13] = [
    ("edge.pcap", include_bytes!("fixtures/edge.pcap")),
    ("few.pcapng", include_bytes!("fixtures/few.pcapng")),
    ("lldp_sw1.json", include_bytes!("fixtures/lldp_sw1.json")),
    ("lldp_sw1_keyvalue.txt", include_bytes!("fixtures/lldp_sw1_keyvalue.txt")),
    ("lldp_sw1.txt", include_bytes!("fixtures/lldp_sw1.txt")),
    ("snmp_sw1.txt", include_bytes!("fixtures/snmp_sw1.txt")),
    ("bridge_sw1.json", include_bytes!("fixtures/bridge_sw1.json")),
    ("receivers.jsonl", include_bytes!("fixtures/receivers.jsonl")),
    ("arping_e2.txt", include_bytes!("fixtures/arping_e2.txt")),
    ("ptp_e2.txt", include_bytes!("fixtures/ptp_e2.txt")),
    ("dhcp_probe_lt.json", include_bytes!("fixtures/dhcp_probe_lt.json")),
    ("notes.csv", b"device,port,neighbour,neighbour port,heard,stream\nbox,1,sw,5,,\nbox,,,,no,foh\n"),
    ("walk.snmprec", b"1.3.6.1.2.1.2.2.1.2.1|4|p1\n1.3.6.1.2.1.2.2.1.6.1|4x|02005e100001\n1.0.8802.1.1.2.1.4.1.1.9.0.1.1|4|sw\n"),
];

/// Every observation and complaint points at a source that is there and a place that is in it.
fn places_are_inside(evidence: &Evidence, octets: &[u8]) {
    assert_eq!(evidence.sources.len(), 1);
    let lines = u64::try_from(octets.iter().filter(|octet| **octet == b'\n').count()).unwrap_or(u64::MAX) + 1;
    let size = u64::try_from(octets.len()).unwrap_or(u64::MAX);
    for complaint in &evidence.complaints {
        assert!(complaint.source == 0 && !complaint.says.is_empty() && complaint.times >= 1, "{complaint:?}");
        match complaint.spot {
            Spot::Line(line) => assert!((1..=lines).contains(&line), "{complaint:?} of {lines} lines"),
            Spot::Offset(at) => assert!(at <= size, "{complaint:?} of {size}"),
            Spot::Frame(frame) => assert!((1..=size).contains(&frame), "{complaint:?}"),
            Spot::Entry(entry) => assert!(entry >= 1, "{complaint:?}"),
            Spot::Whole => {}
        }
    }
}

fn check(name: &str, octets: &[u8]) -> Evidence {
    let evidence = read(name, octets);
    places_are_inside(&evidence, octets);
    evidence
}

#[test]
fn files_cut_anywhere() {
    for (name, octets) in FILES {
        // Every cut of small files and of a capture's beginning; then ever larger steps.
        let mut cut = 0;
        while cut < octets.len() {
            check(name, &octets[..cut]);
            cut += 1 + cut / 64;
        }
    }
}

#[test]
fn pieces_make_the_whole() {
    for (name, octets) in FILES {
        let whole = read(name, octets);
        for size in [1, 7, 1_000, 65_536] {
            let mut reader = Reader::new(name);
            octets.chunks(size).for_each(|piece| reader.feed(piece));
            assert_eq!(reader.finish(), whole, "{name} in pieces of {size}");
        }
    }
}

/// An Ethernet frame with a header and whatever else.
fn frame() -> impl Strategy<Value = Vec<u8>> {
    let kind = prop_oneof![
        Just(vec![0x88, 0xcc]),
        Just(vec![0x88, 0xf7]),
        Just(vec![0x08, 0x06, 0, 1, 8, 0, 6, 4]),
        Just(vec![0x88, 0x08]),
        Just(vec![0x81, 0x00, 0x60, 0x0a, 0x88, 0xcc]),
        Just(vec![0x00, 0x40, 0x42, 0x42, 0x03, 0, 0, 3, 2]),
        Just(vec![0x00, 0x40, 0xaa, 0xaa, 0x03, 0, 0, 0x0c, 1, 0x0b, 0, 0, 2, 2]),
        Just(vec![0x08, 0x00, 0x46, 0, 0, 60, 0, 0, 0, 0, 1, 2, 0, 0, 10, 0, 0, 1, 224, 0, 0, 22, 0x94, 4, 0, 0, 0x22]),
        Just(vec![0x86, 0xdd, 0x60, 0, 0, 0, 0, 40, 0, 1]),
        (prop_oneof![Just(319_u16), Just(320), Just(67), Just(5353), Just(9875), Just(5004)]).prop_map(|port| {
            let mut octets = vec![0x08, 0x00, 0x45, 0xb8, 0, 200, 0, 1, 0, 0, 9, 17, 0, 0, 10, 0, 0, 1, 239, 69, 0, 1];
            octets.extend(if port == 67 { 68_u16 } else { port }.to_be_bytes());
            octets.extend(port.to_be_bytes());
            octets.extend([0, 180, 0, 0]);
            octets
        }),
    ];
    (kind, prop::collection::vec(any::<u8>(), 0..300))
        .prop_map(|(kind, rest)| [vec![1, 0x80, 0xc2, 0, 0, 0, 2, 0, 0, 0, 0, 1], kind, rest].concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn scrambled_files(file in 0..FILES.len(), changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..40),
                       cut in any::<prop::sample::Index>(), is_cut in any::<bool>()) {
        let (name, octets) = FILES[file];
        let mut octets = octets.to_vec();
        for (at, octet) in changes {
            let at = at.index(octets.len());
            octets[at] = octet;
        }
        if is_cut {
            octets.truncate(cut.index(octets.len()));
        }
        check(name, &octets);
    }

    #[test]
    fn invented_frames(frames in prop::collection::vec(frame(), 1..20)) {
        let mut octets = write::header().to_vec();
        for (n, frame) in frames.iter().enumerate() {
            write::frame(&mut octets, Moment(u64::try_from(n).unwrap_or_default() * 1_000), frame, None);
        }
        let evidence = check("made.pcap", &octets);
        prop_assert_eq!(evidence.sources[0].capture.as_ref().map(|capture| capture.frames), u64::try_from(frames.len()).ok());
    }

    #[test]
    fn invented_texts(text in "[ -~\n\t]{0,400}", start in prop_oneof![Just(""), Just("{\"lldp\":"), Just("lldp.p1.via=LLDP\n"), Just(".1.3.6.1.2.1.2.2.1.2.1 = "),
                      Just("1.3.6.1|4|"), Just("lease 10.0.0.1 {\n"), Just("device,heard\n"), Just("v=0\n"), Just("ARPING \n")]) {
        check("made.txt", format!("{start}{text}").as_bytes());
    }
}
