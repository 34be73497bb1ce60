//! Rules of the trade, as plans that keep or break them.

use crate::row::Row;
use loomwright_model::{Nowhere, Plan, Wiring};
use loomwright_planfile::{Source, read};
use loomwright_proof::prove;
use std::fmt::Write;

/// Findings that the rules are about; others do not count here.
const CODES: [&str; 4] = ["wiring/chained-twice", "wiring/same-network-twice", "wiring/networks-joined", "wiring/port-convention"];

const PLAN: &str = r#"
[plan]
name = "Rules"
[network.a]
subnet = "10.1.0.0/24"
addresses = "fixed"
[network.b]
subnet = "10.2.0.0/24"
addresses = "fixed"
[place.here]
name = "Here"
[gear.two-ports]
kind = "endpoint"
title = "Two ports"
audio-ports = [ { name = "1", speed = "1 Gb/s", medium = "copper" }, { name = "2", speed = "1 Gb/s", medium = "copper" } ]
pairing = ["chained", "independent"]
[gear.eight]
kind = "switch"
title = "Eight ports"
ports = [ { count = 8, speed = "1 Gb/s", medium = "copper" } ]
spanning-tree = "rapid"
[device.sender]
gear = "two-ports"
place = "here"
[device.other]
gear = "two-ports"
place = "here"
[stream.s]
from = "sender"
to = ["other"]
channels = 8
"#;

/// The plan above with `more` plan text, and a wiring with switches sw-a and sw-c on network a, sw-b on b.
pub fn two_networks(more: &str, wiring: &str) -> (Plan, Wiring) {
    let mut text = String::new();
    for (switch, network) in [("sw-a", "a"), ("sw-b", "b"), ("sw-c", "a")] {
        write!(text, "[switch.{switch}]\ngear = \"eight\"\nplace = \"here\"\nnetworks = [\"{network}\"]\n").expect("text takes text");
    }
    load(&format!("{PLAN}{more}"), &format!("{text}{wiring}"))
}

/// Bridges `bridge1` and so on, joined by links of so many megabits.
pub fn bridges(links: &[(&str, &str, u64)]) -> (Plan, Wiring) {
    let (mut gear, mut wiring) = (String::new(), String::new());
    let names: std::collections::BTreeSet<&str> = links.iter().flat_map(|(one, two, _)| [*one, *two]).collect();
    let ports: Vec<String> =
        links.iter().map(|(_, _, speed)| format!("{{ count = 1, speed = \"{speed} Mb/s\", medium = \"copper\" }}")).collect();
    writeln!(gear, "[gear.bridge]\nkind = \"switch\"\ntitle = \"Bridge\"\nports = [{}]\nspanning-tree = \"rapid\"", ports.join(", "))
        .expect("text takes text");
    for name in names {
        writeln!(wiring, "[switch.bridge{name}]\ngear = \"bridge\"\nplace = \"here\"\nnetworks = [\"a\"]").expect("text takes text");
    }
    for (at, (one, two, _)) in links.iter().enumerate() {
        wiring.push_str(&cable(at, &format!("bridge{one}/{}", at + 1), &format!("bridge{two}/{}", at + 1), "a"));
    }
    load(&format!("{PLAN}{gear}"), &wiring)
}

fn load(plan: &str, wiring: &str) -> (Plan, Wiring) {
    let source = |name, text| Source { name, text };
    match read(source("plan", plan), Some(source("wiring", wiring))) {
        Ok(loaded) => (loaded.plan, loaded.wiring),
        Err(problems) => panic!("{problems:?}\n{plan}\n{wiring}"),
    }
}

fn cable(at: usize, from: &str, to: &str, network: &str) -> String {
    format!("[cable.X-{at}]\nends = [\"{from}\", \"{to}\"]\nnetwork = \"{network}\"\nmedium = \"copper\"\nlength = \"5 m\"\n")
}

/// `chained=` or `independent=` lists where the two ports of a device go; `trunk=` adds a cable between two switches.
pub fn evaluate(row: &Row) -> Option<String> {
    if row.topic != "rule.findings" {
        return None;
    }
    let pairing = if row.word("chained").is_empty() { "independent" } else { "chained" };
    let mut wiring = format!("[setting.sender]\npairing = \"{pairing}\"\n");
    let network = |port: &str| if port.starts_with("sw-b") { "b" } else { "a" };
    for (at, port) in row.word(pairing).split(',').enumerate() {
        wiring.push_str(&cable(at, &format!("sender/{}", at + 1), port, network(port)));
    }
    if let Some((one, two)) = row.word("trunk").split_once(',') {
        wiring.push_str(&cable(9, one, two, network(one)));
    }
    let (plan, wiring) = two_networks("", &wiring);
    let report = prove(&plan, &wiring, &Nowhere);
    let told: Vec<&str> = report.findings.iter().map(|finding| finding.code.as_str()).filter(|code| CODES.contains(code)).collect();
    Some(if told.is_empty() { "none".to_owned() } else { told.join(" ") })
}
