//! Networks of any size that are measured: stars on two networks, chains of eight, rings of eight, one large ring.

use indexmap::IndexMap;
use loomwright_forwarding::Fabric;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::*;

const PER_PLACE: usize = 20;
const CHAIN: usize = 8;
const RECEIVERS: usize = 4;

fn id(text: &str) -> Id {
    Id::new(text).expect("a bench's name is valid")
}

pub struct Grower {
    pub plan: Plan,
    pub wiring: Wiring,
    next_port: IndexMap<Id, u32>,
}

impl Grower {
    /// A network of that kind, four receivers for every sender.
    pub fn of(kind: &str, devices: usize) -> Self {
        let mut grower = Self::new();
        match kind {
            "star2" => grower.star(devices),
            "chain" => grower.chains(devices, false),
            "one-ring" => grower.one_ring(devices),
            _ => grower.chains(devices, true),
        }
        grower.streams(devices);
        grower
    }

    fn new() -> Self {
        let speed = BitRate::from_bits_per_second(1_000_000_000);
        let mut two = Gear::plain(GearKind::Endpoint, "Box");
        two.audio_ports = ["1", "2"].map(|name| AudioPort { name: id(name), speed, medium: Medium::Copper }).into();
        let mut switch = Gear::plain(GearKind::Switch, "Switch");
        switch.ports = vec![PortGroup { count: 4_000, speed, medium: Medium::Copper, poe: None }];
        switch.spanning_tree = SpanningTree::Rapid;
        (two.mtbf, switch.mtbf) = (Some(Hours::from_seconds(3_600 * 200_000)), Some(Hours::from_seconds(3_600 * 250_000)));
        let network = || Network { subnet: None, vlan: None, addresses: Addressing::LinkLocal, carries: Carries::Audio, dhcp_server: None };
        let plan = Plan {
            about: Default::default(),
            targets: Targets::default(),
            stream_format: StreamFormat::default(),
            networks: ["a", "b"].map(|name| (id(name), network())).into(),
            places: IndexMap::new(),
            routes: IndexMap::new(),
            gear: [(id("two"), two), (id("switch"), switch)].into(),
            devices: IndexMap::new(),
            streams: IndexMap::new(),
            stock: Default::default(),
            labour: Default::default(),
            listening: Default::default(),
        };
        Self { plan, wiring: Wiring::default(), next_port: IndexMap::new() }
    }

    fn place(&mut self, at: usize) -> Id {
        let place = id(&format!("place{at}"));
        let feed = id(&format!("mains{at}"));
        self.plan.places.entry(place.clone()).or_insert_with(|| Place { feeds: vec![feed], ..Place::default() });
        place
    }

    fn switch(&mut self, name: &str, network: &str, place: usize) -> Id {
        let (gear, place, networks) = (id("switch"), self.place(place), vec![id(network)]);
        let switch =
            Switch { gear, place, networks, feeds: vec![], address: None, bridge_priority: None, path_cost: IndexMap::new(), hold: false };
        self.wiring.switches.insert(id(name), switch);
        id(name)
    }

    fn device(&mut self, at: usize, pairing: Pairing) -> Id {
        let (gear, place, pairing) = (id("two"), self.place(at / PER_PLACE), Some(pairing));
        let name = id(&format!("d{at}"));
        self.plan.devices.insert(name.clone(), Device { gear, place, title: None, pairing, feeds: vec![], networks: vec![], mode: None });
        name
    }

    fn port(&mut self, item: &Id) -> PortRef {
        let next = self.next_port.entry(item.clone()).or_insert(0);
        *next += 1;
        PortRef::new(item.clone(), id(&next.to_string()))
    }

    fn join(&mut self, one: &Id, two: &Id, (network, route): (&str, &str)) {
        let ends = [self.port(one), self.port(two)];
        let (medium, length) = (Medium::Copper, Length::from_millimetres(20_000));
        let cable = Cable { ends, networks: vec![id(network)], medium, length, routes: vec![id(route)], hold: false };
        self.wiring.cables.insert(id(&format!("c{}", self.wiring.cables.len())), cable);
    }

    fn star(&mut self, devices: usize) {
        let cores = ["a", "b"].map(|network| self.switch(&format!("core-{network}"), network, 0));
        for place in 0..devices.div_ceil(PER_PLACE) {
            for (network, core) in ["a", "b"].iter().zip(&cores) {
                let edge = self.switch(&format!("sw-{network}{place}"), network, place);
                let route = if place % 4 == 0 { format!("up{place}") } else { format!("up{place}{network}") };
                self.join(core, &edge, (network, &route));
            }
            for at in place * PER_PLACE..devices.min((place + 1) * PER_PLACE) {
                let device = self.device(at, Pairing::Independent);
                for network in ["a", "b"] {
                    self.join(&id(&format!("sw-{network}{place}")), &device, (network, &format!("in{place}{network}")));
                }
            }
        }
    }

    fn chains(&mut self, devices: usize, are_rings: bool) {
        let core = self.switch("core", "a", 0);
        for place in 0..devices.div_ceil(PER_PLACE) {
            let edge = self.switch(&format!("sw{place}"), "a", place);
            self.join(&core, &edge, ("a", &format!("up{place}")));
            let far = are_rings.then(|| self.switch(&format!("sx{place}"), "a", place));
            if let Some(far) = &far {
                self.join(&core, far, ("a", &format!("far{place}")));
            }
            let here: Vec<usize> = (place * PER_PLACE..devices.min((place + 1) * PER_PLACE)).collect();
            for chain in here.chunks(CHAIN) {
                let mut last = edge.clone();
                for &at in chain {
                    let device = self.device(at, Pairing::Chained);
                    self.join(&last, &device, ("a", &format!("run{}", chain[0])));
                    last = device;
                }
                if let Some(far) = &far {
                    self.join(&last, far, ("a", &format!("back{}", chain[0])));
                }
            }
        }
    }

    /// One switch and one ring of all devices.
    fn one_ring(&mut self, devices: usize) {
        let core = self.switch("core", "a", 0);
        let mut last = core.clone();
        for at in 0..devices {
            let device = self.device(at, Pairing::Chained);
            self.join(&last, &device, ("a", &format!("run{at}")));
            last = device;
        }
        self.join(&last, &core, ("a", "back"));
    }

    fn streams(&mut self, devices: usize) {
        let mut seed = 1u64;
        for at in 0..devices {
            let mut to = Vec::new();
            while to.len() < RECEIVERS {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                let other = (seed >> 33) as usize % devices;
                if other != at {
                    to.push(id(&format!("d{other}")));
                }
            }
            let stream = Stream {
                from: id(&format!("d{at}")),
                to,
                channels: 8,
                essential: true,
                legs: Legs::Both,
                mode: Mode::Multicast,
                format: StreamFormat::default(),
                network_delay: None,
                life_safety: false,
            };
            self.plan.streams.insert(id(&format!("s{at}")), stream);
        }
    }
}

/// Blocks whatever closes a ring, in the order of the cables.
pub fn block_rings(fabric: &Fabric) -> Vec<bool> {
    let mut up: Vec<u32> = (0..fabric.nodes.len() as u32).collect();
    let close = |link: &loomwright_forwarding::fabric::Link| {
        let [one, two] = link.nodes.map(|node| root(&mut up, node.0));
        up[one as usize] = two;
        one == two
    };
    fabric.links.iter().map(close).collect()
}

fn root(up: &mut [u32], mut at: u32) -> u32 {
    while up[at as usize] != at {
        up[at as usize] = up[up[at as usize] as usize];
        at = up[at as usize];
    }
    at
}
