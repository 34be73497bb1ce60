//! Captures from lines such as `0..5000/1000 query from=10.78.0.1`: from, to and step in milliseconds, what, and its particulars.

use loomwright_evidence::{Mac, Moment, write};
use std::collections::BTreeMap;
use std::net::Ipv4Addr;

/// The particulars of a line.
struct Line<'a>(BTreeMap<&'a str, &'a str>);

impl Line<'_> {
    fn text(&self, key: &str) -> &str {
        self.0.get(key).unwrap_or_else(|| panic!("{key} is missing in {:?}", self.0))
    }

    fn number(&self, key: &str, otherwise: u32) -> u32 {
        self.0.get(key).map_or(otherwise, |text| text.parse().expect("a number"))
    }

    fn address(&self, key: &str) -> Ipv4Addr {
        self.text(key).parse().expect("an address")
    }

    fn mac(&self, key: &str) -> [u8; 6] {
        self.text(key).parse::<Mac>().expect("a hardware address").0
    }
}

/// The whole capture, in order of time.
pub fn capture(text: &str) -> Vec<u8> {
    let mut all: Vec<(u64, Vec<u8>)> = Vec::new();
    for line in text.lines().filter(|line| !line.trim().is_empty()) {
        let mut words = line.split_whitespace();
        let times = words.next().expect("a time");
        let what = words.next().expect("what comes");
        let line = Line(words.map(|word| word.split_once('=').expect("key=value")).collect());
        for (n, at) in moments(times).into_iter().enumerate() {
            let n = u32::try_from(n).expect("a short capture");
            // Every so many packets one is lost.
            if n > 0 && n.checked_rem(line.number("without", 0)) == Some(0) {
                continue;
            }
            let late = u64::from(line.number("late", 0)) * u64::from(n % 2);
            // So many packets come at once, in their order.
            let bunch = u64::from(line.number("bunch", 1));
            let at = at / bunch * bunch * 1_000_000 + (at % bunch) * 10_000 * u64::from(bunch > 1);
            all.push((at + late * 1_000, frame(what, n, &line)));
        }
    }
    all.sort();
    let mut file = write::header().to_vec();
    for (at, frame) in all {
        write::frame(&mut file, Moment(1_700_000_000_000_000_000 + at), &frame, None);
    }
    file
}

fn moments(text: &str) -> Vec<u64> {
    let number = |text: &str| text.parse::<u64>().expect("milliseconds");
    match text.split_once("..").and_then(|(from, rest)| Some((from, rest.split_once('/')?))) {
        Some((from, (to, step))) => (number(from)..number(to)).step_by(usize::try_from(number(step)).expect("a step")).collect(),
        None => vec![number(text)],
    }
}

fn frame(what: &str, n: u32, line: &Line<'_>) -> Vec<u8> {
    match what {
        "query" => query(line.address("from")),
        "rtp" => rtp(n, line),
        "arp" => arp(line.address("from"), line.mac("mac")),
        "ask" => ask(n, line.address("from")),
        "offer" => offer(line),
        "announce" => announce(n, line),
        "tree" => tree(line),
        "pause" => ethernet([0x01, 0x80, 0xc2, 0, 0, 1], line.mac("mac"), &[0x88, 0x08, 0, 1, 0xff, 0xff]),
        "same" => ethernet([0x33, 0x33, 0, 0, 0, 0x16], line.mac("mac"), &[0x88, 0xb5, 0, 1, 2, 3]),
        other => panic!("no frame is called {other}"),
    }
}

fn ethernet(to: [u8; 6], from: [u8; 6], rest: &[u8]) -> Vec<u8> {
    let mut frame = [&to[..], &from, rest].concat();
    frame.resize(frame.len().max(60), 0);
    frame
}

/// The hardware address that everything from `address` has, unless it says another.
fn own(address: Ipv4Addr) -> [u8; 6] {
    let [a, b, c, d] = address.octets();
    [2, 0x10, a, b, c, d]
}

fn packet((from, to): (Ipv4Addr, Ipv4Addr), (protocol, service): (u8, u8), payload: &[u8]) -> Vec<u8> {
    let length = u16::try_from(20 + payload.len()).expect("a short packet").to_be_bytes();
    let mut packet = vec![0x08, 0x00, 0x45, service, length[0], length[1], 0, 0, 0, 0, 16, protocol, 0, 0];
    packet.extend(from.octets());
    packet.extend(to.octets());
    packet.extend(payload);
    let [_, b, c, d] = to.octets();
    let group = if to.is_multicast() { [1, 0, 0x5e, b & 0x7f, c, d] } else { [0xff; 6] };
    ethernet(group, own(from), &packet)
}

fn udp(ends: (Ipv4Addr, Ipv4Addr), ports: (u16, u16), (service, payload): (u8, &[u8])) -> Vec<u8> {
    let length = u16::try_from(8 + payload.len()).expect("a short packet");
    let header = [ports.0, ports.1, length, 0].map(u16::to_be_bytes).concat();
    packet(ends, (17, service), &[&header, payload].concat())
}

fn query(from: Ipv4Addr) -> Vec<u8> {
    packet((from, Ipv4Addr::new(224, 0, 0, 1)), (2, 0xc0), &[0x11, 100, 0, 0, 0, 0, 0, 0, 2, 125, 0, 0])
}

fn rtp(n: u32, line: &Line<'_>) -> Vec<u8> {
    let samples = line.number("samples", 48);
    let sequence = u16::try_from(n % 65_536).expect("16 bits").to_be_bytes();
    let mut payload = vec![0x80, 98, sequence[0], sequence[1]];
    payload.extend((n * samples).to_be_bytes());
    payload.extend(line.number("number", 7).to_be_bytes());
    payload.resize(12 + 288, 0);
    let service = u8::try_from(line.number("dscp", 46) << 2).expect("six bits");
    udp((line.address("from"), line.address("to")), (5004, 5004), (service, &payload))
}

fn arp(from: Ipv4Addr, mac: [u8; 6]) -> Vec<u8> {
    let mut payload = vec![0x08, 0x06, 0, 1, 8, 0, 6, 4, 0, 2];
    payload.extend(mac);
    payload.extend(from.octets());
    payload.extend([0; 6]);
    payload.extend(from.octets());
    ethernet([0xff; 6], mac, &payload)
}

/// Asks who has an address, each time another one: no two frames are alike.
fn ask(n: u32, from: Ipv4Addr) -> Vec<u8> {
    let mut payload = vec![0x08, 0x06, 0, 1, 8, 0, 6, 4, 0, 1];
    payload.extend(own(from));
    payload.extend(from.octets());
    payload.extend([0; 6]);
    payload.extend((0x0a4e_0000 + n).to_be_bytes());
    ethernet([0xff; 6], own(from), &payload)
}

fn offer(line: &Line<'_>) -> Vec<u8> {
    let server = line.address("server");
    let mut message = vec![2, 1, 6, 0, 0, 0, 0, 1, 0, 0, 0x80, 0];
    message.extend([0; 4]);
    message.extend(line.address("gives").octets());
    message.extend([0; 8]);
    message.extend([2, 0, 0, 0, 0, 9]);
    message.resize(236, 0);
    message.extend([99, 130, 83, 99, 53, 1, 2, 54, 4]);
    message.extend(server.octets());
    message.push(255);
    udp((server, Ipv4Addr::BROADCAST), (67, 68), (0, &message))
}

fn identity(mac: [u8; 6]) -> [u8; 8] {
    let [a, b, c, d, e, f] = mac;
    [a, b, c, 0xff, 0xfe, d, e, f]
}

fn announce(n: u32, line: &Line<'_>) -> Vec<u8> {
    let from = line.address("from");
    let [_, domain] = u16::try_from(line.number("domain", 0)).expect("a domain").to_be_bytes();
    let mut message = vec![0x0b, 2, 0, 64, domain, 0, 0, 0];
    message.extend([0; 12]);
    message.extend(identity(own(from)));
    message.extend([0, 1]);
    message.extend(u16::try_from(n).expect("16 bits").to_be_bytes());
    // Announces come every second: two to the power of 0.
    message.extend([5, 0]);
    message.extend([0; 12]);
    message.extend([0, 128, 248, 0xfe, 0xff, 0xff, 128]);
    message.extend(identity(own(from)));
    message.extend([0, 0, 0xa0]);
    assert_eq!(message.len(), 64);
    udp((from, Ipv4Addr::new(224, 0, 1, 129)), (320, 320), (46 << 2, &message))
}

/// A configuration message of the older protocol.
fn tree(line: &Line<'_>) -> Vec<u8> {
    let priority = |key| u16::try_from(line.number(key, 32_768)).expect("16 bits").to_be_bytes();
    let mut message = vec![0x42, 0x42, 3, 0, 0, 0, 0, 0];
    message.extend(priority("priority"));
    message.extend(line.mac("root"));
    message.extend([0, 0, 0, 4]);
    message.extend(priority("priority"));
    message.extend(line.mac("root"));
    message.extend([0x80, 1, 0, 0, 20, 0, 2, 0, 15, 0]);
    let length = u16::try_from(message.len()).expect("a short message").to_be_bytes();
    ethernet([1, 0x80, 0xc2, 0, 0, 0], line.mac("root"), &[&length[..], &message].concat())
}
