//! Small plans for tests, written in a few words.

#![allow(dead_code, reason = "each test file uses its part")]

use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::{
    BitRate, Cable, Device, Gear, GearKind, Id, Length, Medium, Network, Pairing, Place, Plan, SpanningTree, Stream, StreamFormat, Switch,
    Targets, Wiring,
};

/// A plan and its wiring, grown call by call.
pub struct Rig {
    /// What is asked.
    pub plan: Plan,
    /// What is decided.
    pub wiring: Wiring,
}

/// A name.
pub fn id(text: &str) -> Id {
    Id::new(text).expect("a test's name is valid")
}

fn audio(name: &str) -> AudioPort {
    AudioPort { name: id(name), speed: BitRate::from_bits_per_second(1_000_000_000), medium: Medium::Copper }
}

fn switch_gear(tree: SpanningTree, is_snooping: bool) -> Gear {
    let mut gear = Gear::plain(GearKind::Switch, "Switch");
    let group = |count, bits, medium| PortGroup { count, speed: BitRate::from_bits_per_second(bits), medium, poe: None };
    gear.ports =
        vec![group(8, 1_000_000_000, Medium::Copper), group(2, 10_000_000_000, Medium::SfpPlus), group(20, 1_000_000_000, Medium::Copper)];
    gear.spanning_tree = tree;
    gear.snooping = is_snooping;
    gear.querier = is_snooping;
    gear
}

impl Rig {
    /// Networks a, b (audio) and control; gear `box` (two audio ports), `one` (one), `smart`
    /// (snooping, rapid tree), `plain` (snooping, no tree), `dumb` (neither).
    pub fn new() -> Self {
        let network = |carries| Network { subnet: None, vlan: None, addresses: Addressing::LinkLocal, carries, dhcp_server: None };
        let mut two = Gear::plain(GearKind::Endpoint, "Box");
        two.audio_ports = vec![audio("1"), audio("2")];
        two.control = Some(loomwright_model::Control::MergedWith(id("1")));
        let mut one = Gear::plain(GearKind::Computer, "Computer");
        one.audio_ports = vec![audio("1")];
        let mut router = Gear::plain(GearKind::WifiRouter, "Router");
        router.ports = switch_gear(SpanningTree::None, false).ports;
        let plan = Plan {
            about: Default::default(),
            targets: Targets::default(),
            stream_format: StreamFormat::default(),
            networks: [("a", Carries::Audio), ("b", Carries::Audio), ("control", Carries::Control)]
                .map(|(n, c)| (id(n), network(c)))
                .into(),
            places: [(id("here"), Place::default())].into(),
            routes: IndexMap::new(),
            gear: [
                (id("box"), two),
                (id("one"), one),
                (id("router"), router),
                (id("smart"), switch_gear(SpanningTree::Rapid, true)),
                (id("plain"), switch_gear(SpanningTree::None, true)),
                (id("dumb"), switch_gear(SpanningTree::None, false)),
            ]
            .into(),
            devices: IndexMap::new(),
            streams: IndexMap::new(),
            stock: Default::default(),
            labour: Default::default(),
            listening: Default::default(),
        };
        Self { plan, wiring: Wiring::default() }
    }

    /// Adds a device that is chained unless `pairing` says otherwise.
    pub fn device(&mut self, name: &str, gear: &str, pairing: Option<Pairing>) -> &mut Self {
        let device =
            Device { gear: id(gear), place: id("here"), title: None, pairing, feeds: Vec::new(), networks: Vec::new(), mode: None };
        self.plan.devices.insert(id(name), device);
        self
    }

    /// Adds a switch on `networks`, separated by spaces.
    pub fn switch(&mut self, name: &str, gear: &str, networks: &str) -> &mut Self {
        let switch = Switch {
            gear: id(gear),
            place: id("here"),
            networks: networks.split_whitespace().map(id).collect(),
            feeds: Vec::new(),
            address: None,
            bridge_priority: None,
            path_cost: IndexMap::new(),
            hold: false,
        };
        self.wiring.switches.insert(id(name), switch);
        self
    }

    /// Adds 10 m cables: `name end end networks..`, one a line.
    pub fn cables(&mut self, lines: &str) -> &mut Self {
        for line in lines.lines().map(str::trim).filter(|line| !line.is_empty()) {
            let words: Vec<&str> = line.split_whitespace().collect();
            let cable = Cable {
                ends: [words[1], words[2]].map(|end| end.parse().expect("a test's port is valid")),
                networks: words[3..].iter().map(|network| id(network)).collect(),
                medium: Medium::Copper,
                length: Length::from_millimetres(10_000),
                routes: Vec::new(),
                hold: false,
            };
            self.wiring.cables.insert(id(words[0]), cable);
        }
        self
    }

    /// Adds a stream of eight channels; `way` is the sender, then the receivers.
    pub fn stream(&mut self, name: &str, way: &str, mode: Mode) -> &mut Self {
        let mut way = way.split_whitespace().map(id);
        let stream = Stream {
            from: way.next().expect("a test's stream has a sender"),
            to: way.collect(),
            channels: 8,
            essential: false,
            legs: Legs::Both,
            mode,
            format: StreamFormat::default(),
            network_delay: None,
            life_safety: false,
        };
        self.plan.streams.insert(id(name), stream);
        self
    }

    /// Makes `switch` ask on `network`.
    pub fn querier(&mut self, network: &str, switch: &str) -> &mut Self {
        self.wiring.querier.insert(id(network), id(switch));
        self
    }
}
