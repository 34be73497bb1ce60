//! What DHCP servers gave out and clients got: lease files of two kinds, a client's log, and offers that a probe collected.

use super::{complain, entry_number, line_number};
use crate::evidence::Evidence;
use crate::facts::{Binding, BindingSource, DhcpMessage, DhcpSaid};
use crate::seen::{Moment, Seen, Spot, Trust};
use serde_json::Value;
use std::net::Ipv4Addr;

/// Reads leases: one a line (`end hardware-address address name id`), or in blocks (`lease ADDRESS { hardware ethernet ..; }`).
pub fn leases(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    let mut open: Option<Binding> = None;
    for (n, line) in text.lines().enumerate() {
        let line = line.trim();
        let spot = line_number(n);
        if let Some(address) = line.strip_prefix("lease ").and_then(|rest| rest.strip_suffix('{')) {
            open = address.trim().parse().ok().map(|address| lease(spot, address));
        } else if let Some(row) = &mut open {
            inside(line, row);
            if line == "}" {
                evidence.bindings.extend(open.take());
            }
        } else if !line.is_empty() && !line.starts_with('#') {
            short(line, spot, &mut evidence);
        }
    }
    if open.is_some() {
        complain(&mut evidence, line_number(text.lines().count().saturating_sub(1)), "the file ends within a lease");
    }
    evidence
}

fn lease(spot: Spot, address: Ipv4Addr) -> Binding {
    Binding {
        seen: Seen::at(spot, Trust::Remembered),
        by: BindingSource::Lease,
        address: address.into(),
        mac: None,
        name: None,
        system: None,
        port: None,
        vlan: None,
    }
}

fn inside(line: &str, row: &mut Binding) {
    let line = line.trim_end_matches(';');
    if let Some(mac) = line.strip_prefix("hardware ethernet ") {
        row.mac = mac.trim().parse().ok();
    } else if let Some(name) = line.strip_prefix("client-hostname ") {
        row.name = Some(name.trim().trim_matches('"').to_owned());
    }
}

fn short(line: &str, spot: Spot, evidence: &mut Evidence) {
    let words: Vec<&str> = line.split_whitespace().collect();
    let found = match words[..] {
        [end, mac, address, name, ..] => end.parse::<u64>().ok().zip(mac.parse().ok()).zip(address.parse().ok()).map(|found| (found, name)),
        _ => None,
    };
    match found {
        Some((((end, mac), address), name)) => {
            let mut row = lease(spot, address);
            row.mac = Some(mac);
            row.name = Some(name).filter(|name| *name != "*").map(str::to_owned);
            row.seen.last = Some(Moment(end.saturating_mul(1_000_000_000))).filter(|_| end != 0);
            evidence.bindings.push(row);
        }
        // Other settings stand between blocks.
        None if line.ends_with(';') || line.ends_with('{') || line == "}" || line.starts_with("duid ") => {}
        None => complain(evidence, spot, "a line that is no lease"),
    }
}

fn said(spot: Spot, message: DhcpMessage, server: Option<Ipv4Addr>, address: Option<Ipv4Addr>) -> DhcpSaid {
    DhcpSaid {
        seen: Seen::at(spot, Trust::Reported),
        message,
        server,
        server_mac: None,
        client: None,
        client_name: None,
        address,
        mask: None,
        router: None,
        lease: None,
        vlan: None,
    }
}

/// Reads `lease of ADDRESS obtained from SERVER, lease time 120` lines of a client.
pub fn log(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for (n, line) in text.lines().enumerate() {
        let words: Vec<&str> = line.split([' ', ',']).filter(|word| !word.is_empty()).collect();
        let after = |key: &str| words.iter().position(|word| *word == key).and_then(|at| words.get(at + 1).copied());
        let obtained = line.contains("obtained from").then(|| (after("of"), DhcpMessage::Ack));
        let offered = line.contains("DHCPOFFER").then(|| (after("of").or_else(|| words.get(1).copied()), DhcpMessage::Offer));
        let Some((address, message)) = obtained.or(offered) else { continue };
        let parse = |word: Option<&str>| word.and_then(|word| word.parse().ok());
        let mut row = said(line_number(n), message, parse(after("from")), parse(address));
        row.lease = after("time").and_then(|time| time.parse().ok());
        evidence.dhcp.push(row);
    }
    evidence
}

/// Reads `[{"offer": .., "server": .., "server_mac": .., "router": ..}]`.
pub fn offers(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    for value in super::json(text, &mut evidence) {
        for (n, row) in value.as_array().into_iter().flatten().enumerate() {
            let word = |key: &str| row.get(key).and_then(Value::as_str);
            let address = |key: &str| word(key).and_then(|address| address.parse().ok());
            let mut row = said(entry_number(n), DhcpMessage::Offer, address("server"), address("offer"));
            row.seen.trust = Trust::Measured;
            row.server_mac = word("server_mac").and_then(|mac| mac.parse().ok());
            row.router = address("router");
            match row.server.or(row.address) {
                Some(_) => evidence.dhcp.push(row),
                None => complain(&mut evidence, entry_number(n), "an offer without server and address"),
            }
        }
    }
    evidence
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_kinds_of_lease_file() {
        let blocks = "server-duid \"x\";\nlease 10.0.0.200 {\n  hardware ethernet 02:00:5e:10:00:01;\n  client-hostname \"desk\";\n}\n";
        let lines = "1795606400 02:00:5e:10:00:01 10.0.0.200 desk *\n";
        for text in [blocks, lines] {
            let evidence = leases(text);
            let row = &evidence.bindings[0];
            assert_eq!((row.name.as_deref(), row.mac), (Some("desk"), "02:00:5e:10:00:01".parse().ok()), "{text}");
            assert!(evidence.complaints.is_empty());
        }
        assert_eq!(leases("lease 10.0.0.200 {\n").complaints.len(), 1);
        assert_eq!(leases("soon 02:00 x\n").complaints.len(), 1);
    }

    #[test]
    fn a_client_tells_who_gave_what() {
        let row = &log("udhcpc: lease of 10.0.0.203 obtained from 10.0.0.40, lease time 120\n").dhcp[0];
        assert_eq!((row.server, row.address, row.lease), ("10.0.0.40".parse().ok(), "10.0.0.203".parse().ok(), Some(120)));
    }
}
