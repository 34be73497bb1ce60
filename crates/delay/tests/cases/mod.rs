//! Reads a worked case of `checks/delay` into a network.

use loomwright_delay::network::NONE;
use loomwright_delay::{HopSpec, Network, PortSpec, StreamSpec};
use loomwright_model::{BitRate, ByteCount, LatencyRange, Time};
use serde_json::Value;
use std::collections::HashMap;

/// A case, and where each of its streams ends.
pub struct Case {
    pub id: String,
    pub network: Network,
    /// Name `stream->listener`, stream, hop.
    pub ends: Vec<(String, usize, usize)>,
    pub json: Value,
}

pub const CASES: [&str; 9] = [
    include_str!("../../../../checks/delay/c01_star8.json"),
    include_str!("../../../../checks/delay/c02_chain6.json"),
    include_str!("../../../../checks/delay/c03_prio.json"),
    include_str!("../../../../checks/delay/c04_tree_mc.json"),
    include_str!("../../../../checks/delay/c05_tree24.json"),
    include_str!("../../../../checks/delay/c06_chain20.json"),
    include_str!("../../../../checks/delay/c07_three_classes.json"),
    include_str!("../../../../checks/delay/c08_sevenhop.json"),
    include_str!("../../../../checks/delay/c09_sevenhop_1g.json"),
];

fn number(value: &Value) -> u64 {
    value.as_u64().expect("a whole number")
}

fn text(value: &Value) -> String {
    value.as_str().expect("a text").to_owned()
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().expect("a list")
}

/// Picoseconds of a figure in microseconds.
pub fn picoseconds(value: &Value) -> u64 {
    (value.as_f64().expect("a figure") * 1e6).round() as u64
}

pub fn load(json: &str) -> Case {
    let json: Value = serde_json::from_str(json).expect("a case is valid JSON");
    let latency: HashMap<String, u64> = list(&json["nodes"]).iter().map(|node| (text(&node[0]), number(&node[1]))).collect();
    let mut network = Network::default();
    let mut port_of = HashMap::new();
    for link in list(&json["links"]) {
        let rate = BitRate::from_bits_per_second(number(&link[2]));
        let blocking = Time::to_send(ByteCount::from_bytes(number(&link[4])), rate).expect("a rate");
        for (a, b) in [(0, 1), (1, 0)] {
            port_of.insert((text(&link[a]), text(&link[b])), (network.ports.len() as u32, rate));
            let propagation = Time::from_nanoseconds(number(&link[3]));
            network.ports.push(PortSpec { blocking, propagation, is_unbounded: false });
        }
    }
    let mut ends = Vec::new();
    for stream in list(&json["streams"]) {
        let at = network.streams.len();
        let wire = ByteCount::from_bytes(number(&stream["wire_bytes"]));
        let mut hops: Vec<HopSpec> = Vec::new();
        for (listener, path) in stream["paths"].as_object().expect("paths") {
            let mut parent = NONE;
            for step in list(path).windows(2) {
                let (port, rate) = port_of[&(text(&step[0]), text(&step[1]))];
                let known = hops.iter().position(|hop| hop.port == port);
                let wait = Time::from_nanoseconds(if parent == NONE { 0 } else { latency[&text(&step[0])] });
                let forward = LatencyRange { least: wait, most: wait };
                let send = Time::to_send(wire, rate).expect("a rate");
                parent = known.unwrap_or_else(|| {
                    hops.push(HopSpec { port, parent, send, forward });
                    hops.len() - 1
                }) as u32;
            }
            ends.push((format!("{}->{listener}", text(&stream["id"])), at, parent as usize));
        }
        let class = number(&stream["class"]) as u8;
        network.streams.push(StreamSpec { class, period: Time::from_nanoseconds(number(&stream["period_ns"])), jitter: Time::ZERO, hops });
    }
    Case { id: text(&json["id"]), network, ends, json }
}
