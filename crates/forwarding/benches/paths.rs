//! Prints how long compiling and forwarding take, best of several runs.
//!
//! 10,000 devices, 24 on every edge switch, edge switches in a ring of cores with snooping, a querier and
//! spanning tree; 10,000 streams of one packet stream each to two receivers.
//! Run: `cargo bench -p loomwright-forwarding`.

#![allow(clippy::disallowed_methods, reason = "a benchmark needs a clock")]

use indexmap::IndexMap;
use loomwright_forwarding::{Fabric, forward};
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::{
    BitRate, Cable, Device, Gear, GearKind, Id, Length, Medium, Network, Place, Plan, PortRef, SpanningTree, Stream, StreamFormat, Switch,
    Targets, Wiring,
};
use std::time::Instant;

fn id(text: &str) -> Id {
    Id::new(text).expect("a valid name")
}

fn cable(wiring: &mut Wiring, ends: [(&str, usize); 2]) {
    let name = id(&format!("C{}", wiring.cables.len()));
    let ends = ends.map(|(item, port)| PortRef::new(id(item), id(&port.to_string())));
    let length = Length::from_millimetres(20_000);
    let cable = Cable { ends, networks: vec![id("a")], medium: Medium::Copper, length, routes: Vec::new(), hold: false };
    wiring.cables.insert(name, cable);
}

fn gear() -> IndexMap<Id, Gear> {
    let gigabit = BitRate::from_bits_per_second(1_000_000_000);
    let mut endpoint = Gear::plain(GearKind::Endpoint, "Box");
    endpoint.audio_ports = vec![AudioPort { name: id("1"), speed: gigabit, medium: Medium::Copper }];
    let mut switch = Gear::plain(GearKind::Switch, "Switch");
    switch.ports = vec![PortGroup { count: 64, speed: gigabit, medium: Medium::Copper, poe: None }];
    (switch.snooping, switch.querier, switch.spanning_tree) = (true, true, SpanningTree::Rapid);
    [(id("box"), endpoint), (id("switch"), switch)].into()
}

fn system(devices: usize) -> (Plan, Wiring) {
    let network = Network { subnet: None, vlan: None, addresses: Addressing::LinkLocal, carries: Carries::Audio, dhcp_server: None };
    let mut plan = Plan {
        about: Default::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: [(id("a"), network)].into(),
        places: [(id("here"), Place::default())].into(),
        routes: IndexMap::new(),
        gear: gear(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Default::default(),
        labour: Default::default(),
    };
    let mut wiring = Wiring::default();
    let (edges, cores) = (devices.div_ceil(24), devices.div_ceil(24).div_ceil(48));
    let names: Vec<String> = (0..cores).map(|at| format!("core-{at}")).chain((0..edges).map(|at| format!("edge-{at}"))).collect();
    for name in &names {
        let switch = Switch {
            gear: id("switch"),
            place: id("here"),
            networks: vec![id("a")],
            feeds: Vec::new(),
            address: None,
            bridge_priority: name.starts_with("core").then_some(4_096),
            path_cost: IndexMap::new(),
            hold: false,
        };
        wiring.switches.insert(id(name), switch);
    }
    wiring.querier.insert(id("a"), id("core-0"));
    (0..cores).for_each(|at| cable(&mut wiring, [(&names[at], 63), (&names[(at + 1) % cores], 64)]));
    (0..edges).for_each(|at| cable(&mut wiring, [(&names[cores + at], 64), (&names[at / 48], at % 48 + 1)]));
    for at in 0..devices {
        let name = format!("box-{at}");
        let device =
            Device { gear: id("box"), place: id("here"), title: None, pairing: None, feeds: Vec::new(), networks: Vec::new(), mode: None };
        plan.devices.insert(id(&name), device);
        cable(&mut wiring, [(&name, 1), (&names[cores + at / 24], at % 24 + 1)]);
        let to = [(at * 7 + 1) % devices, (at * 13 + 5) % devices].map(|to| id(&format!("box-{to}")));
        let stream = Stream {
            from: id(&name),
            to: to.into(),
            channels: 8,
            essential: false,
            legs: Legs::Both,
            mode: Mode::Multicast,
            format: StreamFormat::default(),
            network_delay: None,
            life_safety: false,
        };
        plan.streams.insert(id(&format!("s-{at}")), stream);
    }
    (plan, wiring)
}

fn main() {
    for devices in [1_000, 10_000] {
        let (plan, wiring) = system(devices);
        let (mut compile, mut walk, mut hops) = (f64::MAX, f64::MAX, 0);
        for _ in 0..10 {
            let start = Instant::now();
            let fabric = Fabric::new(&plan, &wiring);
            compile = compile.min(start.elapsed().as_secs_f64() * 1e3);
            let start = Instant::now();
            let forwarding = forward(&plan, &wiring, &fabric);
            walk = walk.min(start.elapsed().as_secs_f64() * 1e3);
            hops = forwarding.flows.iter().map(|flow| flow.hops.len()).sum();
        }
        println!("{devices} devices, {devices} streams: fabric {compile:.1} ms, forwarding {walk:.1} ms, {hops} hops");
    }
}
