//! A large generated system for benchmarks; invented.

use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::{
    BitRate, Cable, Device, Gear, GearKind, Id, Length, Medium, Network, Place, Plan, PortRef, SpanningTree, Stream, StreamFormat, Switch,
    Targets, Wiring,
};

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
    let group = |count, speed| PortGroup { count, speed, medium: Medium::Copper, poe: None };
    switch.ports = vec![group(24, gigabit), group(40, BitRate::from_bits_per_second(10_000_000_000))];
    (switch.snooping, switch.querier, switch.spanning_tree) = (true, true, SpanningTree::Rapid);
    [(id("box"), endpoint), (id("switch"), switch)].into()
}

/// 24 devices on every edge switch, 38 edge switches on every core, cores in a ring; a stream of eight
/// channels from every device to two others.
pub fn system(devices: usize) -> (Plan, Wiring) {
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
        listening: Default::default(),
    };
    let mut wiring = Wiring::default();
    let (edges, cores) = (devices.div_ceil(24), devices.div_ceil(24).div_ceil(38));
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
    (0..edges).for_each(|at| cable(&mut wiring, [(&names[cores + at], 64), (&names[at / 38], at % 38 + 25)]));
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
