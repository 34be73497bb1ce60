//! The values of `checks/evidence.csv` through the readers: each is found by trying every number that could stand there.

#![allow(clippy::disallowed_methods, reason = "a test reads the outside values at run time")]

use loomwright_evidence::facts::{DhcpMessage, priority_parts};
use loomwright_evidence::protocol::{dhcp, igmp, lldp, ptp, sap};
use loomwright_evidence::{Moment, Wire, WireFrame, read};

const MAC: [u8; 6] = [2, 0, 0, 0, 0, 1];

/// Feeds frames to one reader, and says whether it counted any of them as `word`.
fn is_any_carried(word: &str, frames: impl Iterator<Item = Vec<u8>>) -> bool {
    let mut wire = Wire::new("made", "eth0");
    for (n, mut octets) in frames.enumerate() {
        octets.resize(octets.len().max(60), 0);
        let (time, length) = (Moment(u64::try_from(n).expect("a count")), u32::try_from(octets.len()).expect("a short frame"));
        wire.frame(&WireFrame { time, octets: &octets, length });
    }
    wire.finish().sources[0].capture.as_ref().is_some_and(|capture| capture.carried.contains_key(word))
}

fn ethernet(kind: u16, payload: &[u8]) -> Vec<u8> {
    [&MAC[..], &MAC, &kind.to_be_bytes(), payload].concat()
}

fn udp(port: u16) -> Vec<u8> {
    let header = [40_000, port, 8 + 32, 0].map(u16::to_be_bytes).concat();
    let ip = [0x45, 0, 0, 60, 0, 0, 0, 0, 9, 17, 0, 0, 10, 0, 0, 1, 239, 1, 2, 3];
    ethernet(0x0800, &[&ip[..], &header, &[0; 32]].concat())
}

/// Every one of `numbers` whose frame is counted as `word`: halves of them are tried, and halves of those.
fn carried(word: &str, numbers: &[u16], frame: &dyn Fn(u16) -> Vec<u8>) -> Vec<u16> {
    if !is_any_carried(word, numbers.iter().map(|number| frame(*number))) {
        return Vec::new();
    }
    match numbers {
        [one] => vec![*one],
        _ => {
            let (left, right) = numbers.split_at(numbers.len() / 2);
            [carried(word, left, frame), carried(word, right, frame)].concat()
        }
    }
}

/// Numbers to try: every one near the published one, and some from everywhere.
fn numbers(published: &str) -> Vec<u16> {
    let first = published.split(';').next().unwrap_or_default();
    let middle =
        first.strip_prefix("0x").map_or_else(|| first.parse().ok(), |digits| u16::from_str_radix(digits, 16).ok()).unwrap_or_default();
    (0..=u16::MAX).filter(|number| number.abs_diff(middle) < 600 || number % 97 == 0).collect()
}

fn written(numbers: impl IntoIterator<Item = u16>, digits: Option<usize>) -> String {
    let all = numbers.into_iter().map(|number| match digits {
        Some(digits) => format!("0x{number:0digits$X}"),
        None => number.to_string(),
    });
    all.collect::<Vec<_>>().join(";")
}

/// Every number for which `is_read` holds.
fn found(numbers: impl Iterator<Item = u16>, digits: Option<usize>, is_read: impl Fn(u16) -> bool) -> String {
    written(numbers.filter(|number| is_read(*number)), digits)
}

fn igmp_type(message: &str, number: u8) -> bool {
    // A record that joins 239.1.2.3 in the third version; the group in the others.
    let payload: &[u8] = match message {
        "report-3" => &[number, 0, 0, 0, 0, 0, 0, 1, 4, 0, 0, 0, 239, 1, 2, 3],
        "query" => &[number, 100, 0, 0, 0, 0, 0, 0],
        _ => &[number, 0, 0, 0, 239, 1, 2, 3],
    };
    match (message, igmp::read(payload)) {
        ("query", Some(igmp::Igmp::Query { .. })) => true,
        ("report-2", Some(igmp::Igmp::Report { version: 2, wishes })) => wishes.iter().any(|wish| wish.change == igmp::Change::Want),
        ("leave", Some(igmp::Igmp::Report { version: 2, wishes })) => wishes.iter().any(|wish| wish.change == igmp::Change::Leave),
        ("report-3", Some(igmp::Igmp::Report { version: 3, wishes })) => wishes.len() == 1,
        _ => false,
    }
}

fn dhcp_option(value: &str, number: u8) -> bool {
    let mut message = vec![2, 1, 6, 0];
    message.resize(28, 0);
    message.extend(MAC);
    message.resize(236, 0);
    message.extend([99, 130, 83, 99]);
    if value != "message" {
        message.extend([53, 1, 2]);
    }
    let content: &[u8] = if value == "message" { &[5] } else { &[0, 0, 7, 9] };
    message.extend([number, u8::try_from(content.len()).expect("short")]);
    message.extend(content);
    message.push(255);
    let Some(said) = dhcp::read(&message) else { return false };
    let address = Some(std::net::Ipv4Addr::new(0, 0, 7, 9));
    match value {
        "mask" => said.mask == address,
        "router" => said.router == address,
        "server" => said.server == address,
        "lease" => said.lease == Some(7 * 256 + 9),
        "client-name" => said.client_name.is_some(),
        _ => said.message == DhcpMessage::Ack,
    }
}

fn ptp_message(message: &str, number: u8) -> bool {
    let mut octets = vec![number, 2, 0, 64];
    octets.resize(64, 0);
    let kind = match message {
        "sync" => ptp::Kind::Sync,
        "delay-request" => ptp::Kind::DelayRequest,
        "follow-up" => ptp::Kind::FollowUp,
        "delay-response" => ptp::Kind::DelayResponse,
        "announce" => ptp::Kind::Announce,
        _ => ptp::Kind::Management,
    };
    ptp::read(&octets).is_some_and(|read| read.kind == kind)
}

/// The header of one element among whole ones: an element of 7 octets that names the sender, or its time to live.
fn lldp_header(input: &str, header: u16) -> bool {
    let [high, low] = header.to_be_bytes();
    let mut message = Vec::new();
    let is_chassis = input == "type=1;len=7";
    message.extend(if is_chassis { [high, low] } else { [2, 7] });
    message.push(4);
    message.extend(MAC);
    message.extend([4, 3, 5, b'p', b'1']);
    message.extend(if is_chassis { [6, 2] } else { [high, low] });
    message.extend([0, 77, 10, 1, b'x', 0, 0]);
    lldp::read(&message).is_some_and(|(says, wrong)| {
        wrong.is_empty()
            && says.chassis_mac().map(|mac| mac.0) == Some(MAC)
            && says.port.as_ref().is_some_and(|port| port.text == "p1")
            && says.time_to_live == Some(77)
            && says.name.as_deref() == Some("x")
    })
}

/// Rows that give the others a port, a bridge port, a neighbour and a feeding port to speak of.
const WALK: &str = ".1.3.6.1.2.1.1.5.0 = STRING: \"sw\"
.1.3.6.1.2.1.2.2.1.2.1 = STRING: \"eth 1\"
.1.3.6.1.2.1.17.1.4.1.2.2 = INTEGER: 1
.1.0.8802.1.1.2.1.4.1.1.4.0.2.1 = INTEGER: 4
.1.0.8802.1.1.2.1.4.1.1.5.0.2.1 = Hex-STRING: 02 00 00 00 00 01
.1.0.8802.1.1.2.1.4.1.1.6.0.2.1 = INTEGER: 5
.1.0.8802.1.1.2.1.4.1.1.9.0.2.1 = STRING: \"far\"
.1.3.6.1.2.1.105.1.1.1.3.1.1 = INTEGER: 1
";

/// The number, if a row under it says what the same row under the name says, and says something.
fn column(name: &str, number: &str) -> String {
    let row = match name {
        "lldpRemPortId" | "lldpRemPortDesc" => ".0.2.1 = STRING: \"p7\"",
        "ifName" => ".1 = STRING: \"p1\"",
        "ifHCInOctets" => ".1 = Counter64: 77",
        "ifOperStatus" => ".1 = INTEGER: 2",
        "dot1dTpFdbPort" => ".2.0.0.0.0.9 = INTEGER: 2",
        "dot1qTpFdbPort" => ".1.2.0.0.0.0.9 = INTEGER: 2",
        "dot1qPvid" => ".2 = Gauge32: 77",
        "dot1dStpPortState" => ".2 = INTEGER: 5",
        "dot1dStpDesignatedRoot" => ".0 = Hex-STRING: 80 00 02 00 00 00 00 05",
        "dot3StatsDuplexStatus" => ".1 = INTEGER: 3",
        "pethPsePortDetectionStatus" => ".1.1 = INTEGER: 3",
        _ => return "no row of this test".to_owned(),
    };
    let walk = |begin: String| {
        let mut seen = read("walk.txt", format!("{WALK}{begin}{row}\n").as_bytes());
        seen.sources.clear();
        seen
    };
    let mut without = read("walk.txt", WALK.as_bytes());
    without.sources.clear();
    let (named, numbered) = (walk(format!("ANY-MIB::{name}")), walk(format!(".{number}")));
    if named == without {
        return format!("{name} is not read");
    }
    if named == numbered { number.to_owned() } else { format!("{name} stands for another number") }
}

fn part<'a>(input: &'a str, key: &str) -> &'a str {
    input.split(';').find_map(|part| part.strip_prefix(key)?.strip_prefix('=')).unwrap_or(input)
}

/// What the readers take for it; `published` says around which number to try.
fn evaluate(topic: &str, input: &str, published: &str) -> Option<String> {
    let (all, octets) = (0..=u16::MAX, 0..=255_u16);
    let small = |number: u16| u8::try_from(number).unwrap_or_default();
    Some(match topic {
        "ethertype" => written(carried(part(input, "protocol"), &numbers(published), &|kind| ethernet(kind, &[0; 46])), Some(4)),
        "udp.port" => written(carried(part(input, "protocol"), &numbers(published), &udp), None),
        "sap.port" => written(carried("sap", &numbers(published), &udp), None),
        "sap.group" => sap::GROUP.to_string(),
        "igmp.type" => found(octets, Some(2), |number| igmp_type(part(input, "message"), small(number))),
        "dhcp.option" => found(1..=254, None, |number| dhcp_option(part(input, "value"), small(number))),
        "ptp.message" => found(0..=15, Some(1), |number| ptp_message(part(input, "message"), small(number))),
        "lldp.tlv_header" => found(numbers(published).into_iter(), Some(4), |header| lldp_header(input, header)),
        "stp.bridge_prio_field" => {
            let wanted = (part(input, "priority").parse().ok()?, part(input, "vlan").parse().ok()?);
            found(all, Some(4), |field| priority_parts(field) == wanted)
        }
        "snmp.oid" => column(input, published),
        _ => return None,
    })
}

#[test]
fn every_published_number_is_the_one_that_is_read() {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../checks/evidence.csv")).expect("the values are there");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let (mut met, mut wrong) = (0, Vec::new());
    for row in reader.records().map(|row| row.expect("a row")) {
        let (topic, input, published) = (&row[1], &row[2], &row[3]);
        match evaluate(topic, input, published) {
            Some(found) if found == published => met += 1,
            Some(found) => wrong.push(format!("{} {topic} {input}: {found}, published {published}", &row[0])),
            None => wrong.push(format!("{} {topic}: nothing evaluates this topic", &row[0])),
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
    assert!(met >= 40, "only {met} values were met: were rows lost?");
}
