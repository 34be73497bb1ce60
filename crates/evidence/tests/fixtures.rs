//! The project's own recordings, read whole: what was cabled and set there must come out.

use loomwright_evidence::facts::{BindingSource, DhcpMessage, LearnedKind, PowerStatus, TreeKind, TreeState};
use loomwright_evidence::{Evidence, Format, Spot, Trust, read};

/// Neighbours of the first bridge: own port, neighbour, its port. The cables of that network.
const FIRST_BRIDGE: [(&str, &str, &str); 5] =
    [("p1", "d1", "p1"), ("p2", "e1", "p1"), ("p23", "sw3", "p23"), ("p24", "sw2", "p24"), ("p3", "m1", "p1")];

macro_rules! fixture {
    ($name:literal) => {
        read($name, include_bytes!(concat!("fixtures/", $name)))
    };
}

fn cables(evidence: &Evidence) -> Vec<(String, String, String)> {
    let mut found: Vec<_> = evidence
        .neighbours
        .iter()
        .map(|row| {
            let port = row.says.port.as_ref().map(|port| port.text.clone()).unwrap_or_default();
            (row.local_port.clone().unwrap_or_default(), row.says.name.clone().unwrap_or_default(), port)
        })
        .collect();
    found.sort();
    found
}

#[test]
fn four_ways_to_print_neighbours_tell_the_same_cables() {
    for (evidence, format) in [
        (fixture!("lldp_sw1.json"), Format::NeighboursJson),
        (fixture!("lldp_sw1_keyvalue.txt"), Format::NeighboursKeyValue),
        (fixture!("lldp_sw1.txt"), Format::NeighboursText),
        (fixture!("snmp_sw1.txt"), Format::Walk),
    ] {
        assert_eq!(evidence.sources[0].format, Some(format));
        assert_eq!(evidence.complaints, []);
        let expected = FIRST_BRIDGE.map(|(port, name, far)| (port.to_owned(), name.to_owned(), far.to_owned()));
        assert_eq!(cables(&evidence), expected, "{format:?}");
        assert!(evidence.neighbours.iter().all(|row| row.seen.trust == Trust::Remembered && row.says.chassis_mac().is_some()));
        assert!(evidence.neighbours.iter().all(|row| !row.says.management.is_empty()), "{format:?}");
    }
    assert_eq!(fixture!("lldp_d4.json").neighbours, []);
}

#[test]
fn a_walk_tells_ports_tables_and_power() {
    let evidence = fixture!("snmp_sw1.txt");
    let system = &evidence.systems[0];
    assert_eq!((system.name.as_deref(), system.tree_priority), (Some("sw1"), Some(4_096)));
    assert_eq!(system.tree_root.map(|(priority, mac)| (priority, system.macs.contains(&mac))), Some((4_096, true)));
    assert_eq!(evidence.sources[0].system.as_deref(), Some("sw1"));
    let port = evidence.ports.iter().find(|port| port.name == "p24").expect("the trunk");
    assert_eq!((port.tree, port.is_up), (Some(TreeState::Forwarding), Some(true)));
    assert_eq!(port.speed.map(|speed| speed.bits_per_second()), Some(1_000_000_000));
    assert!(evidence.ports.iter().any(|port| port.power.is_some_and(|power| power.status == Some(PowerStatus::Delivering))));
    // The chained device and the three behind it are learned on port 1, as the chain is cabled.
    let behind = evidence.learned.iter().filter(|row| row.port.as_deref() == Some("p1") && row.kind == LearnedKind::Learned);
    assert!(behind.count() >= 4, "{:#?}", evidence.learned);
}

#[test]
fn bridge_tables_tell_who_is_a_member() {
    let evidence = fixture!("bridge_sw1.json");
    let group = "239.69.0.2".parse().ok();
    let mut ports: Vec<&str> = evidence.members.iter().filter(|row| row.group == group).map(|row| row.port.as_str()).collect();
    ports.sort_unstable();
    // d1 behind port 1 and e3 behind port 23 listen to it.
    assert_eq!(ports, ["p1", "p23"]);
    assert!(evidence.ports.iter().all(|port| port.tree == Some(TreeState::Forwarding)));
}

#[test]
fn small_tables() {
    let received = fixture!("receivers.jsonl").received;
    assert_eq!((received.len(), received[0].host.as_str(), received[0].jitter), (6, "e2", Some(25_000)));
    let probe = fixture!("arping_e2.txt").bindings;
    assert_eq!((probe.len(), probe[0].seen.times, probe[0].by), (1, 4, BindingSource::Arp));
    let lease = &fixture!("dyn.udhcpc.txt").dhcp[0];
    assert_eq!((lease.server, lease.message), ("10.78.0.40".parse().ok(), DhcpMessage::Ack));
    let offers = fixture!("dhcp_probe_lt.json").dhcp;
    let mut servers: Vec<_> = offers.iter().filter_map(|offer| offer.server).collect();
    servers.sort_unstable();
    servers.dedup();
    assert_eq!(servers.len(), 2);
    let clock = &fixture!("ptp_e2.txt").clock_states[0];
    assert_eq!((clock.steps, clock.offset, clock.parent), (Some(1), Some(5_333), clock.leader));
}

#[test]
fn a_capture_tells_everything_that_passed_one_port() {
    let evidence = fixture!("edge.pcap");
    assert_eq!(evidence.complaints, []);
    let capture = evidence.sources[0].capture.as_ref().expect("a capture");
    assert_eq!(capture.frames, 642);
    // One neighbour: the bridge at the other end of the cable.
    assert_eq!(evidence.neighbours.len(), 1);
    assert_eq!((evidence.neighbours[0].says.called(), evidence.neighbours[0].seen.times), (Some("sw1"), 11));
    // One tree; its root is that bridge.
    let bridge = &evidence.bridges[0];
    let says = bridge.last.as_ref().expect("a message");
    assert_eq!((evidence.bridges.len(), bridge.kind, says.root), (1, TreeKind::Stp, says.bridge));
    // One querier, every 5 s.
    let querier = &evidence.queriers[0];
    assert_eq!((evidence.queriers.len(), querier.address.to_string()), (1, "10.78.0.1".to_owned()));
    assert!(querier.longest_interval.is_some_and(|interval| interval.abs_diff(5_000_000_000) < 500_000_000));
    // Three announced senders, the one with two legs as such; four groups.
    assert_eq!(evidence.announcements.len(), 3);
    assert!(evidence.announcements.iter().any(|one| one.media.len() == 2 && one.duplicates.len() == 1));
    assert!(evidence.announcements.iter().flat_map(|one| &one.media).all(|media| media.sample_rate == Some(48_000)));
    // Three clocks announce until they have heard each other; e1, with the lowest first priority, goes on.
    let announcers = evidence.clocks.iter().filter(|clock| clock.announce.is_some());
    let leader = announcers.clone().max_by_key(|clock| clock.messages.announce).expect("a leader");
    assert_eq!((announcers.count(), leader.address), (3, "10.78.0.21".parse().ok()));
    assert_eq!(leader.announce.map(|announce| (announce.priority1, announce.leader)), Some((100, leader.identity)));
    // Services of two devices.
    let mut hosts: Vec<_> = evidence.services.iter().map(|service| service.kind.as_str()).collect();
    hosts.dedup();
    assert_eq!((evidence.services.len(), hosts), (2, vec!["_http._tcp"]));
}

#[test]
fn both_capture_formats_tell_the_same() {
    let (older, newer) = (fixture!("edge.pcap"), fixture!("few.pcapng"));
    assert_eq!(newer.sources[0].format, Some(Format::PcapNg));
    let words = |evidence: &Evidence| evidence.neighbours.iter().map(|row| (row.says.clone(), row.seen.times)).collect::<Vec<_>>();
    assert_eq!(words(&older), words(&newer));
    assert_eq!(older.bridges.len(), newer.bridges.len());
    let who = |evidence: &Evidence| {
        let arp = evidence.bindings.iter().filter(|row| row.by == BindingSource::Arp);
        arp.map(|row| (row.address, row.mac, row.seen.first)).collect::<Vec<_>>()
    };
    assert_eq!(who(&older), who(&newer));
    assert!(matches!(newer.neighbours[0].seen.spot, Spot::Frame(1..)));
}
