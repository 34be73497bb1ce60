//! A small good plan to spoil: two networks, two devices, one essential stream, nothing to complain of.
//! For tests only.

use loomwright_model::gear::{AudioPort, PortGroup, StreamCapacity};
use loomwright_model::plan::{About, Addressing, Carries, Labour, Legs, Mode, RouterMode, Stock};
use loomwright_model::wiring::ClockChoice;
use loomwright_model::{
    BitRate, ByteCount, Cable, ClockAbility, ClockSupport, Device, Gear, GearKind, Hours, Id, Interface, Length, Medium, Network, Pairing,
    Place, Plan, PoeClass, PortRef, Power, Route, SpanningTree, Stream, StreamFormat, Survive, Switch, Targets, Time, Wiring,
};

const GIGABIT: BitRate = BitRate::from_bits_per_second(1_000_000_000);
const FAST: BitRate = BitRate::from_bits_per_second(100_000_000);

pub(crate) fn id(name: &str) -> Id {
    Id::new(name).expect("tests use valid names")
}

pub(crate) fn port(name: &str) -> PortRef {
    name.parse().expect("tests use valid ports")
}

fn ids(names: &[&str]) -> Vec<Id> {
    names.iter().map(|name| id(name)).collect()
}

/// A plan and its wiring, with short ways to change them.
#[derive(Debug, Clone)]
pub(crate) struct Trial {
    pub plan: Plan,
    pub wiring: Wiring,
}

impl Trial {
    /// Nothing but networks, places, feeds, routes and gear types.
    pub fn bare() -> Self {
        let plan = Plan {
            about: About { name: "Trial".into(), revision: "A".into(), ..About::default() },
            targets: Targets { survive: Survive::AnyOne, clock_error: Time::from_microseconds(200), ..Targets::default() },
            stream_format: StreamFormat::default(),
            networks: [("a", "10.1.0.0/24"), ("b", "10.2.0.0/24"), ("control", "10.3.0.0/24")]
                .map(|(name, subnet)| (id(name), network(name, subnet)))
                .into(),
            places: [("stage", 0), ("foh", 30_000)].map(|(name, y)| (id(name), place(name, y))).into(),
            routes: ["left", "right"].map(|name| (id(name), route(name))).into(),
            gear: gear().into_iter().map(|(name, gear)| (id(name), gear)).collect(),
            devices: indexmap::IndexMap::new(),
            streams: indexmap::IndexMap::new(),
            stock: Stock::default(),
            labour: Labour::default(),
            listening: Default::default(),
        };
        Self { plan, wiring: Wiring::default() }
    }

    /// Sender on stage, desk at front of house, a switch for each network, each with its own feed and route.
    pub fn good() -> Self {
        let mut trial = Self::bare();
        trial.device("box-1", "box", "stage").device("desk", "box", "foh");
        trial.switch("sw-a", ("switch", "stage"), &["a"]).switch("sw-b", ("switch", "foh"), &["b"]);
        for device in ["box-1", "desk"] {
            trial.set(device, Pairing::Independent);
            trial.plan.devices[device].feeds = ids(&["mains-stage", "mains-foh"]);
        }
        trial.cable("A-001", ["box-1/1", "sw-a/1"], "a").cable("A-002", ["desk/1", "sw-a/2"], "a").lay("A-002", &["left"]);
        trial.cable("B-001", ["box-1/2", "sw-b/1"], "b").lay("B-001", &["right"]).cable("B-002", ["desk/2", "sw-b/2"], "b");
        for (name, address) in
            [("box-1/1", "10.1.0.11/24"), ("box-1/2", "10.2.0.11/24"), ("desk/1", "10.1.0.12/24"), ("desk/2", "10.2.0.12/24")]
        {
            trial.address(name, address);
        }
        trial.stream("mics", "box-1", &["desk"], 8);
        trial.plan.streams["mics"].essential = true;
        trial.group(("mics", 1), "a", "239.192.1.1").group(("mics", 1), "b", "239.192.2.1");
        trial.wiring.clock = ClockChoice { leader: Some(id("desk")), backup: Some(id("box-1")) };
        trial.wiring.settings[&id("desk")].clock_priority = Some(10);
        trial.wiring.settings[&id("box-1")].clock_priority = Some(20);
        trial.wiring.querier = [(id("a"), id("sw-a")), (id("b"), id("sw-b"))].into();
        trial.wiring.switches["sw-a"].address = Some("10.1.0.2/24".parse().expect("an address"));
        trial.wiring.switches["sw-b"].address = Some("10.2.0.2/24".parse().expect("an address"));
        trial
    }

    pub fn device(&mut self, name: &str, gear: &str, place: &str) -> &mut Self {
        let device = Device { gear: id(gear), place: id(place), title: None, pairing: None, feeds: vec![], networks: vec![], mode: None };
        self.plan.devices.insert(id(name), device);
        self
    }

    pub fn switch(&mut self, name: &str, (gear, place): (&str, &str), networks: &[&str]) -> &mut Self {
        let switch = Switch {
            gear: id(gear),
            place: id(place),
            networks: ids(networks),
            feeds: vec![],
            address: None,
            bridge_priority: None,
            path_cost: indexmap::IndexMap::new(),
            hold: false,
        };
        self.wiring.switches.insert(id(name), switch);
        self
    }

    /// A copper cable of 10 m within a place; see [`Trial::lay`].
    pub fn cable(&mut self, name: &str, ends: [&str; 2], network: &str) -> &mut Self {
        let networks = network.split('+').map(id).collect();
        let cable = Cable {
            ends: ends.map(port),
            networks,
            medium: Medium::Copper,
            length: Length::from_millimetres(10_000),
            routes: vec![],
            hold: false,
        };
        self.wiring.cables.insert(id(name), cable);
        self
    }

    /// Lays a cable along routes, 50 m of it.
    pub fn lay(&mut self, cable: &str, routes: &[&str]) -> &mut Self {
        self.wiring.cables[cable].routes = ids(routes);
        self.long(cable, 50)
    }

    pub fn long(&mut self, cable: &str, metres: u64) -> &mut Self {
        self.wiring.cables[cable].length = Length::from_millimetres(metres * 1_000);
        self
    }

    pub fn unplug(&mut self, cable: &str) -> &mut Self {
        self.wiring.cables.shift_remove(cable);
        self
    }

    pub fn set(&mut self, device: &str, pairing: Pairing) -> &mut Self {
        self.wiring.settings.entry(id(device)).or_default().pairing = Some(pairing);
        self
    }

    pub fn address(&mut self, name: &str, address: &str) -> &mut Self {
        let address = address.parse().expect("tests use valid addresses");
        self.wiring.interfaces.insert(port(name), Interface { address, hold: false });
        self
    }

    pub fn stream(&mut self, name: &str, from: &str, to: &[&str], channels: u32) -> &mut Self {
        let stream = Stream {
            from: id(from),
            to: ids(to),
            channels,
            essential: false,
            legs: Legs::Both,
            mode: Mode::Multicast,
            format: self.plan.stream_format.clone(),
            network_delay: None,
            life_safety: false,
        };
        self.plan.streams.insert(id(name), stream);
        self
    }

    pub fn group(&mut self, (stream, number): (&str, u32), network: &str, group: &str) -> &mut Self {
        let group = group.parse().expect("tests use valid groups");
        self.wiring.groups.entry((id(stream), number)).or_default().insert(id(network), group);
        self
    }

    /// A chain `n` long of devices `c1..` hanging on `from`, in network a.
    pub fn chain(&mut self, from: &str, n: usize) -> &mut Self {
        let mut last = from.to_owned();
        for at in 1..=n {
            let (name, first) = (format!("c{at}"), format!("c{at}/1"));
            self.device(&name, "box", "stage").set(&name, Pairing::Chained).cable(&format!("C-{at:03}"), [&last, &first], "a");
            self.address(&first, &format!("10.1.0.{}/24", 100 + at));
            last = format!("c{at}/2");
        }
        self
    }

    pub fn router(&mut self, name: &str, mode: RouterMode) -> &mut Self {
        self.device(name, "wifi", "stage");
        self.plan.devices[name].mode = Some(mode);
        self
    }
}

fn network(name: &str, subnet: &str) -> Network {
    let carries = if name == "control" { Carries::Control } else { Carries::Audio };
    Network { subnet: Some(subnet.parse().expect("a subnet")), vlan: None, addresses: Addressing::Fixed, carries, dhcp_server: None }
}

fn place(name: &str, y: i64) -> Place {
    Place { name: name.into(), at: Some(loomwright_model::plan::Position { x: 0, y, z: 0 }), feeds: vec![id(&format!("mains-{name}"))] }
}

fn route(name: &str) -> Route {
    let (length, takes) = (Length::from_millimetres(40_000), vec![Medium::Copper, Medium::Fibre]);
    Route { between: [id("stage"), id("foh")], length, takes, shares: vec![id(&format!("{name}-side"))] }
}

fn audio_port(name: &str, speed: BitRate) -> AudioPort {
    AudioPort { name: id(name), speed, medium: Medium::Copper }
}

fn endpoint(title: &str, ports: &[BitRate]) -> Gear {
    Gear {
        audio_ports: ports.iter().enumerate().map(|(n, speed)| audio_port(&(n + 1).to_string(), *speed)).collect(),
        pairing: if ports.len() > 1 { vec![Pairing::Chained, Pairing::Independent] } else { vec![] },
        clock: ClockAbility { can_lead: true, quality: 248 },
        streams: Some(StreamCapacity { send: 16, receive: 16 }),
        draws: Some(Power::from_milliwatts(60_000)),
        mtbf: Some(Hours::from_seconds(200_000 * 3_600)),
        ..Gear::plain(GearKind::Endpoint, title)
    }
}

fn switch_gear(title: &str, ports: u32) -> Gear {
    Gear {
        ports: vec![
            PortGroup { count: ports, speed: GIGABIT, medium: Medium::Copper, poe: None },
            PortGroup { count: 2, speed: GIGABIT, medium: Medium::Sfp, poe: None },
        ],
        draws: Some(Power::from_milliwatts(20_000)),
        snooping: true,
        querier: true,
        buffer: Some(ByteCount::from_bytes(512_000)),
        spanning_tree: SpanningTree::Rapid,
        clock_support: ClockSupport::Transparent,
        mtbf: Some(Hours::from_seconds(250_000 * 3_600)),
        ..Gear::plain(GearKind::Switch, title)
    }
}

fn gear() -> Vec<(&'static str, Gear)> {
    let with_power = |budget| {
        let mut gear = switch_gear("Switch that powers", 8);
        gear.ports[0].poe = Some(PoeClass::Class3);
        gear.poe_budget = Some(Power::from_milliwatts(budget));
        gear
    };
    let plain = Gear { snooping: false, querier: false, spanning_tree: SpanningTree::None, ..switch_gear("Plain switch", 8) };
    let slow = endpoint("Slow box", &[FAST]);
    let powered = |class| Gear { poe: Some(class), ..endpoint("Powered box", &[GIGABIT]) };
    let wifi = Gear { dhcp_server: true, radio_rate: Some(BitRate::from_bits_per_second(6_000_000)), ..plain.clone() };
    vec![
        ("box", endpoint("Box", &[GIGABIT, GIGABIT])),
        ("mono", endpoint("Box with one port", &[GIGABIT])),
        ("slow", slow),
        ("speaker", powered(PoeClass::Class3)),
        ("big-speaker", powered(PoeClass::Class4)),
        ("laptop", Gear { kind: GearKind::Computer, ..endpoint("Laptop", &[GIGABIT]) }),
        ("switch", switch_gear("Switch", 8)),
        ("plain-switch", plain),
        ("poe-switch", with_power(100_000)),
        ("weak-poe-switch", with_power(20_000)),
        ("wifi", Gear { kind: GearKind::WifiRouter, ..wifi }),
    ]
}

/// Asserts that a rule finds nothing in the good plan, and something once that is spoilt.
pub(crate) fn fires(rule: &crate::rule::Rule) {
    let mut trial = Trial::good();
    let check = |trial: &Trial| (rule.check)(&crate::Analysis::new(&trial.plan, &trial.wiring));
    assert_eq!(check(&trial), vec![], "{} in the good plan", rule.code);
    (rule.firing)(&mut trial);
    let found = check(&trial);
    assert!(!found.is_empty() && found.iter().all(|finding| finding.code == rule.code), "{}: {found:?}", rule.code);
}
