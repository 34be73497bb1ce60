//! Random small plans: two networks, rings, chains, meshes, shared feeds, routes, hazards and PoE.

use indexmap::IndexMap;
use loomwright_forwarding::Fabric;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::*;

/// A seeded source of numbers (xorshift64*, Marsaglia and Vigna).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// From 0 to `below` - 1.
    pub fn roll(&mut self, below: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) as usize % below.max(1)
    }

    pub fn chance(&mut self, percent: usize) -> bool {
        self.roll(100) < percent
    }

    pub fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.roll(of.len())]
    }
}

pub fn id(text: &str) -> Id {
    Id::new(text).expect("a test's name is valid")
}

pub struct Fleet {
    pub plan: Plan,
    pub wiring: Wiring,
    /// Next free port of each box.
    next_port: IndexMap<Id, u32>,
    dice: Dice,
}

fn gears() -> IndexMap<Id, Gear> {
    let speed = BitRate::from_bits_per_second(1_000_000_000);
    let audio = |name: &str| AudioPort { name: id(name), speed, medium: Medium::Copper };
    let mut all = IndexMap::new();
    for (name, ports, poe) in [("two", 2, false), ("one", 1, false), ("fed", 1, true), ("fed-two", 2, true)] {
        let mut gear = Gear::plain(GearKind::Endpoint, name);
        gear.audio_ports = ["1", "2"][..ports].iter().map(|name| audio(name)).collect();
        gear.poe = poe.then_some(PoeClass::Class3);
        gear.mtbf = Some(Hours::from_seconds(3_600 * 100_000));
        all.insert(id(name), gear);
    }
    for (name, tree) in [("rapid", SpanningTree::Rapid), ("classic", SpanningTree::Classic), ("plain", SpanningTree::None)] {
        let mut gear = Gear::plain(GearKind::Switch, name);
        gear.ports = vec![PortGroup { count: 60, speed, medium: Medium::Copper, poe: Some(PoeClass::Class4) }];
        gear.spanning_tree = tree;
        gear.snooping = name != "plain";
        gear.mtbf = Some(Hours::from_seconds(3_600 * 50_000));
        gear.mttr = Some(Hours::from_seconds(3_600 * 4));
        all.insert(id(name), gear);
    }
    all
}

pub fn empty_plan() -> Plan {
    let network = |carries| Network { subnet: None, vlan: None, addresses: Addressing::LinkLocal, carries, dhcp_server: None };
    Plan {
        about: Default::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: [("a", Carries::Audio), ("b", Carries::Audio), ("control", Carries::Control)].map(|(n, c)| (id(n), network(c))).into(),
        places: IndexMap::new(),
        routes: IndexMap::new(),
        gear: gears(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Default::default(),
        labour: Default::default(),
        listening: Default::default(),
    }
}

impl Fleet {
    pub fn new(seed: u64) -> Self {
        let mut fleet = Self { plan: empty_plan(), wiring: Wiring::default(), next_port: IndexMap::new(), dice: Dice::new(seed) };
        fleet.add_ground();
        for network in ["a", "b"] {
            fleet.add_network(network);
        }
        if fleet.dice.chance(30) {
            fleet.merge_switches();
        }
        fleet.add_endpoints();
        fleet.add_streams();
        fleet
    }

    fn feeds(&mut self) -> Vec<Id> {
        (0..self.dice.roll(3)).map(|_| id(&format!("feed{}", self.dice.roll(4)))).collect()
    }

    fn add_ground(&mut self) {
        for n in 0..3 {
            let feeds = self.feeds();
            self.plan.places.insert(id(&format!("place{n}")), Place { feeds, ..Place::default() });
        }
        for n in 0..4 {
            let shares = if self.dice.chance(60) { vec![id(&format!("hazard{}", self.dice.roll(2)))] } else { vec![] };
            let route = Route {
                between: [id("place0"), id("place1")],
                length: Length::from_millimetres(1_000),
                takes: vec![Medium::Copper],
                shares,
            };
            self.plan.routes.insert(id(&format!("route{n}")), route);
        }
    }

    pub fn port(&mut self, item: &Id) -> PortRef {
        let next = self.next_port.entry(item.clone()).or_insert(0);
        *next += 1;
        PortRef::new(item.clone(), id(&next.to_string()))
    }

    fn cable(&mut self, from: PortRef, to: PortRef, networks: &[&str]) {
        let routes = if self.dice.chance(35) { vec![id(&format!("route{}", self.dice.roll(4)))] } else { vec![] };
        let cable = Cable {
            ends: [from, to],
            networks: networks.iter().map(|network| id(network)).collect(),
            medium: Medium::Copper,
            length: Length::from_millimetres(5_000),
            routes,
            hold: false,
        };
        self.wiring.cables.insert(id(&format!("c{}", self.wiring.cables.len())), cable);
    }

    fn join(&mut self, one: &Id, two: &Id, networks: &[&str]) {
        let (from, to) = (self.port(one), self.port(two));
        self.cable(from, to, networks);
    }

    fn add_switch(&mut self, name: &str, networks: &[&str]) -> Id {
        let gear = id(["rapid", "rapid", "classic", "plain"][self.dice.roll(4)]);
        let place = id(&format!("place{}", self.dice.roll(3)));
        let feeds = self.feeds();
        let networks = networks.iter().map(|network| id(network)).collect();
        let switch = Switch { gear, place, networks, feeds, address: None, bridge_priority: None, path_cost: IndexMap::new(), hold: false };
        self.wiring.switches.insert(id(name), switch);
        id(name)
    }

    fn add_device(&mut self, name: &str, gear: &str, pairing: Option<Pairing>) -> Id {
        let place = id(&format!("place{}", self.dice.roll(3)));
        let feeds = if gear.starts_with("fed") && self.dice.chance(80) { vec![] } else { self.feeds() };
        let device = Device { gear: id(gear), place, title: None, pairing, feeds, networks: vec![], mode: None };
        self.plan.devices.insert(id(name), device);
        id(name)
    }

    /// Switches of one network: a tree, with some cables more so that rings and meshes arise.
    fn add_network(&mut self, network: &str) {
        let count = 1 + self.dice.roll(4);
        let switches: Vec<Id> = (0..count).map(|n| self.add_switch(&format!("sw-{network}{n}"), &[network])).collect();
        for n in 1..count {
            let other = self.dice.roll(n);
            self.join(&switches[other], &switches[n], &[network]);
        }
        for _ in 0..self.dice.roll(4) {
            let (one, two) = (self.dice.roll(count), self.dice.roll(count));
            if one != two {
                self.join(&switches[one], &switches[two], &[network]);
            }
        }
        if self.dice.chance(60) {
            self.add_chain(network, &switches);
        }
    }

    /// A chain of devices from one switch, back to a switch half of the time.
    fn add_chain(&mut self, network: &str, switches: &[Id]) {
        let mut last = self.dice.pick(switches).clone();
        for n in 0..1 + self.dice.roll(5) {
            let gear = if self.dice.chance(20) { "fed-two" } else { "two" };
            let device = self.add_device(&format!("chain-{network}{n}"), gear, None);
            self.join(&last, &device, &[network]);
            last = device;
        }
        if self.dice.chance(50) {
            let end = self.dice.pick(switches).clone();
            self.join(&last, &end, &[network]);
        }
    }

    /// Two switches on both networks with one trunk for both.
    fn merge_switches(&mut self) {
        let (one, two) = (self.add_switch("both0", &["a", "b"]), self.add_switch("both1", &["a", "b"]));
        self.join(&one, &two, &["a", "b"]);
        for (network, switch) in [("a", &one), ("b", &two), ("a", &two), ("b", &one)] {
            if self.dice.chance(70) {
                self.join(&id(&format!("sw-{network}0")), switch, &[network]);
            }
        }
    }

    fn switch_on(&mut self, network: &str) -> Id {
        let on: Vec<Id> =
            self.wiring.switches.iter().filter(|(_, s)| s.networks.contains(&id(network))).map(|(id, _)| id.clone()).collect();
        self.dice.pick(&on).clone()
    }

    fn add_endpoints(&mut self) {
        for n in 0..3 + self.dice.roll(7) {
            let gear = *self.dice.pick(&["two", "two", "one", "fed"]);
            let device = self.add_device(&format!("d{n}"), gear, Some(Pairing::Independent));
            let networks: &[&str] = if gear == "two" { &["a", "b"] } else { &[["a", "b"][n % 2]] };
            for network in networks {
                let switch = self.switch_on(network);
                self.join(&switch, &device, &[network]);
            }
        }
    }

    fn add_streams(&mut self) {
        let devices: Vec<Id> = self.plan.devices.keys().cloned().collect();
        for n in 0..4 + self.dice.roll(5) {
            let from = self.dice.pick(&devices).clone();
            let to = (0..1 + self.dice.roll(3)).map(|_| self.dice.pick(&devices).clone()).collect();
            let stream = Stream {
                from,
                to,
                channels: 8,
                essential: self.dice.chance(60),
                legs: if self.dice.chance(10) { Legs::Only(vec![id("a")]) } else { Legs::Both },
                mode: if self.dice.chance(80) { Mode::Multicast } else { Mode::Unicast },
                format: StreamFormat::default(),
                network_delay: None,
                life_safety: false,
            };
            self.plan.streams.insert(id(&format!("s{n}")), stream);
        }
    }

    /// Blocks links until no network has a ring: what some spanning tree could do.
    pub fn block_rings(&mut self, fabric: &Fabric) -> Vec<bool> {
        let mut group: Vec<usize> = (0..fabric.nodes.len()).collect();
        let mut blocked = vec![false; fabric.links.len()];
        let mut order: Vec<usize> = (0..fabric.links.len()).collect();
        for n in (1..order.len()).rev() {
            order.swap(n, self.dice.roll(n + 1));
        }
        for link in order {
            let [one, two] = fabric.links[link].nodes.map(|node| group[node.0 as usize]);
            blocked[link] = one == two;
            group.iter_mut().filter(|of| **of == two).for_each(|of| *of = one);
        }
        blocked
    }

    pub fn dice(&mut self) -> &mut Dice {
        &mut self.dice
    }
}
