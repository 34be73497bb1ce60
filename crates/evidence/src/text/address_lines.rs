//! Which address has which hardware address: a machine's own table, and answers to probes.

use super::{complain, line_number};
use crate::evidence::Evidence;
use crate::facts::{Binding, BindingSource};
use crate::mac::Mac;
use crate::seen::{Seen, Spot, Trust};
use std::net::IpAddr;

fn bind(spot: Spot, by: BindingSource, address: IpAddr, mac: Option<Mac>) -> Binding {
    let trust = if by == BindingSource::Table { Trust::Remembered } else { Trust::Measured };
    Binding { seen: Seen::at(spot, trust), by, address, mac, name: None, system: None, port: None, vlan: None }
}

/// Reads `10.0.0.1 dev eth0 lladdr 02:.. REACHABLE` lines, or the same as JSON.
pub fn cache(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    if text.trim_start().starts_with(['[', '{']) {
        for value in super::json(text, &mut evidence) {
            for (n, row) in value.as_array().into_iter().flatten().enumerate() {
                let word = |key: &str| row.get(key).and_then(serde_json::Value::as_str);
                let parts = (word("dst"), word("dev"), word("lladdr"));
                add(super::entry_number(n), parts, &mut evidence);
            }
        }
        return evidence;
    }
    for (n, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let words: Vec<&str> = line.split_whitespace().collect();
        let after = |key: &str| words.iter().position(|word| *word == key).and_then(|at| words.get(at + 1).copied());
        add(line_number(n), (words.first().copied(), after("dev"), after("lladdr")), &mut evidence);
    }
    evidence
}

/// A row without hardware address is a question that nobody answered.
fn add(spot: Spot, (address, port, mac): (Option<&str>, Option<&str>, Option<&str>), evidence: &mut Evidence) {
    match (address.and_then(|address| address.parse().ok()), mac.map(str::parse)) {
        (Some(address), Some(Ok(mac))) => {
            let row = bind(spot, BindingSource::Table, address, Some(mac));
            evidence.bindings.push(Binding { port: port.map(str::to_owned), ..row });
        }
        (Some(_), None) => {}
        _ => complain(evidence, spot, "a row whose address makes no sense"),
    }
}

/// Reads what a probe printed: `Unicast reply from 10.0.0.1 [02:..]` or `60 bytes from 02:.. (10.0.0.1)`. Several answers of one
/// hardware address count as one: some machines answer twice.
pub fn probe(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for (n, line) in text.lines().enumerate() {
        let found = line.split_once("reply from ").map(|(_, rest)| between(rest, '[', ']')).or_else(|| {
            let (mac, address) = between(line.split_once(" bytes from ")?.1, '(', ')');
            Some((address, mac))
        });
        let Some((address, mac)) = found else { continue };
        let (Ok(address), Ok(mac)) = (address.parse(), mac.parse()) else {
            complain(&mut evidence, line_number(n), "an answer whose address makes no sense");
            continue;
        };
        let again = evidence.bindings.iter_mut().find(|row| row.address == address && row.mac == Some(mac));
        match again {
            Some(row) => row.seen.again(None),
            None => evidence.bindings.push(bind(line_number(n), BindingSource::Arp, address, Some(mac))),
        }
    }
    evidence
}

/// The first word, and what stands between the marks.
fn between(text: &str, open: char, close: char) -> (&str, &str) {
    let inside = text.split_once(open).and_then(|(_, rest)| rest.split_once(close)).map_or("", |(inside, _)| inside);
    (text.split_whitespace().next().unwrap_or_default(), inside)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_owners_of_one_address_are_seen() {
        let text = "ARPING 10.0.0.9 from 10.0.0.1 p1\nUnicast reply from 10.0.0.9 [02:00:5E:10:00:01]  2.0ms\n\
                    Unicast reply from 10.0.0.9 [02:00:5E:10:00:01]  2.1ms\n60 bytes from 02:00:5e:10:00:02 (10.0.0.9): index=0\n";
        let found = probe(text).bindings;
        assert_eq!(found.iter().map(|row| row.seen.times).collect::<Vec<_>>(), [2, 1]);
    }

    #[test]
    fn unanswered_questions_bind_nothing() {
        let text = "10.0.0.1 dev eth0 lladdr 02:00:5e:10:00:01 REACHABLE\n10.0.0.2 dev eth0  FAILED\nx dev eth0 lladdr y\n";
        let evidence = cache(text);
        assert_eq!((evidence.bindings.len(), evidence.complaints.len()), (1, 1));
        let json = r#"[{"dst":"10.0.0.1","dev":"eth0","lladdr":"02:00:5e:10:00:01","state":["REACHABLE"]}]"#;
        assert_eq!(cache(json).bindings[0].port.as_deref(), Some("eth0"));
    }
}
