//! Plans to try the design on: small ones by hand, many by seed. Everything in them is invented.

use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup, StreamCapacity};
use loomwright_model::plan::{
    About, Addressing, Carries, Device, Labour, Legs, Mode, Network, Place, Route, Stock, Stream, StreamFormat, Targets,
};
use loomwright_model::{
    BitRate, ClockAbility, Control, Gear, GearKind, Id, Length, Medium, Money, Pairing, Plan, PoeClass, Power, SpanningTree, Survive,
    VlanId,
};

pub fn id(text: &str) -> Id {
    Id::new(text).expect("test names are valid")
}

pub fn metres(metres: u64) -> Length {
    Length::from_millimetres(metres * 1_000)
}

const GIGABIT: BitRate = BitRate::from_bits_per_second(1_000_000_000);

/// Numbers that look random and are the same for the same seed (the split-mix generator, from memory).
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ (mixed >> 31)) % limit.max(1)
    }

    pub fn one_in(&mut self, count: u64) -> bool {
        self.below(count) == 0
    }
}

pub fn empty() -> Plan {
    Plan {
        about: About::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: IndexMap::new(),
        places: IndexMap::new(),
        routes: IndexMap::new(),
        gear: gear(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Stock::default(),
        labour: Labour::default(),
        listening: Default::default(),
    }
}

fn audio_port(name: &str) -> AudioPort {
    AudioPort { name: id(name), speed: GIGABIT, medium: Medium::Copper }
}

fn switch(title: &str, groups: &[(u32, u64, Medium, Option<PoeClass>)], price: u64) -> Gear {
    let mut gear = Gear::plain(GearKind::Switch, title);
    let group = |&(count, gigabits, medium, poe): &(u32, u64, Medium, Option<PoeClass>)| PortGroup {
        count,
        speed: BitRate::from_bits_per_second(gigabits * 1_000_000_000),
        medium,
        poe,
    };
    gear.ports = groups.iter().map(group).collect();
    gear.poe_budget = groups.iter().any(|group| group.3.is_some()).then(|| Power::from_milliwatts(370_000));
    (gear.snooping, gear.querier, gear.spanning_tree) = (true, true, SpanningTree::Rapid);
    gear.price = Some(Money::from_hundredths(price * 100));
    gear
}

fn gear() -> IndexMap<Id, Gear> {
    let mut types = IndexMap::new();
    let mut stage_box = Gear::plain(GearKind::Endpoint, "Stage box");
    stage_box.audio_ports = vec![audio_port("1"), audio_port("2")];
    stage_box.pairing = vec![Pairing::Chained, Pairing::Independent];
    stage_box.control = Some(Control::MergedWith(id("1")));
    stage_box.clock = ClockAbility { can_lead: true, quality: 248 };
    stage_box.streams = Some(StreamCapacity { send: 16, receive: 16 });
    types.insert(id("stage-box"), stage_box.clone());
    let mut desk = stage_box.clone();
    desk.control = Some(Control::Own { port: id("control"), speed: BitRate::from_bits_per_second(100_000_000) });
    types.insert(id("desk"), desk);
    let mut amplifier = Gear::plain(GearKind::Endpoint, "Amplifier");
    amplifier.audio_ports = vec![audio_port("1")];
    types.insert(id("amp"), amplifier);
    let mut panel = Gear::plain(GearKind::Endpoint, "Wall panel");
    panel.audio_ports = vec![audio_port("net")];
    panel.poe = Some(PoeClass::Class3);
    panel.draws = Some(Power::from_milliwatts(12_950));
    types.insert(id("panel"), panel);
    let mut laptop = Gear::plain(GearKind::Computer, "Laptop");
    laptop.audio_ports = vec![audio_port("lan")];
    types.insert(id("laptop"), laptop);
    let mut router = switch("Wi-Fi router", &[(4, 1, Medium::Copper, None)], 80);
    router.kind = GearKind::WifiRouter;
    types.insert(id("router"), router);
    types.insert(id("switch-8"), switch("Switch, 8 ports", &[(8, 1, Medium::Copper, None), (2, 1, Medium::Sfp, None)], 150));
    let class_4 = Some(PoeClass::Class4);
    types
        .insert(id("switch-24"), switch("Switch, 24 ports, PoE", &[(24, 1, Medium::Copper, class_4), (4, 10, Medium::SfpPlus, None)], 900));
    types.insert(id("switch-48"), switch("Switch, 48 ports", &[(48, 1, Medium::Copper, class_4), (6, 10, Medium::SfpPlus, None)], 1_700));
    types.insert(id("switch-fibre"), switch("Fibre switch", &[(48, 10, Medium::SfpPlus, None)], 4_000));
    types
}

pub fn add_place(plan: &mut Plan, name: &str, feeds: &[&str]) {
    plan.places.insert(id(name), Place { name: name.to_owned(), at: None, feeds: feeds.iter().map(|feed| id(feed)).collect() });
}

pub fn add_network(plan: &mut Plan, name: &str, subnet: &str, vlan: Option<i64>) {
    let carries = if name == "control" { Carries::Control } else { Carries::Audio };
    let network = Network {
        subnet: subnet.parse().ok(),
        vlan: vlan.and_then(|vlan| VlanId::new(vlan).ok()),
        addresses: Addressing::Fixed,
        carries,
        dhcp_server: None,
    };
    plan.networks.insert(id(name), network);
}

/// A route of so many metres that takes these media and shares these hazards.
pub fn add_route(plan: &mut Plan, name: &str, between: [&str; 2], (length, takes, shares): (u64, &[Medium], &[&str])) {
    let route = Route {
        between: between.map(id),
        length: metres(length),
        takes: takes.to_vec(),
        shares: shares.iter().map(|hazard| id(hazard)).collect(),
    };
    plan.routes.insert(id(name), route);
}

pub fn add_device(plan: &mut Plan, name: &str, gear: &str, place: &str) {
    let device =
        Device { gear: id(gear), place: id(place), title: None, pairing: None, feeds: Vec::new(), networks: Vec::new(), mode: None };
    plan.devices.insert(id(name), device);
}

pub fn add_stream(plan: &mut Plan, name: &str, (from, to): (&str, &[&str]), essential: bool) {
    let stream = Stream {
        from: id(from),
        to: to.iter().map(|device| id(device)).collect(),
        channels: 16,
        essential,
        legs: Legs::Both,
        mode: Mode::Multicast,
        format: StreamFormat::default(),
        network_delay: None,
        life_safety: false,
    };
    plan.streams.insert(id(name), stream);
}

/// Two places, two audio networks and a control network, two ways between the places.
pub fn playhouse() -> Plan {
    let mut plan = empty();
    plan.targets.survive = Survive::AnyOne;
    add_network(&mut plan, "a", "10.10.0.0/22", Some(10));
    add_network(&mut plan, "b", "10.20.0.0/22", None);
    add_network(&mut plan, "control", "10.30.0.0/22", Some(30));
    add_place(&mut plan, "stage", &["mains-stage", "ups-1"]);
    add_place(&mut plan, "foh", &["mains-foh"]);
    add_route(&mut plan, "trench", ["stage", "foh"], (38, &[Medium::Copper, Medium::Fibre], &["floor"]));
    add_route(&mut plan, "grid", ["stage", "foh"], (64, &[Medium::Copper, Medium::Fibre], &["loft"]));
    for n in 1..=4 {
        add_device(&mut plan, &format!("box-{n}"), "stage-box", "stage");
        add_device(&mut plan, &format!("amp-{n}"), "amp", "stage");
    }
    add_device(&mut plan, "foh-desk", "desk", "foh");
    add_device(&mut plan, "recorder", "laptop", "foh");
    for n in 1..=4 {
        add_stream(&mut plan, &format!("mics-{n}"), (&format!("box-{n}"), &["foh-desk", "recorder"]), true);
    }
    add_stream(&mut plan, "mains", ("foh-desk", &["amp-1", "amp-2", "amp-3", "amp-4"]), true);
    plan
}

/// A campus: `places` places in a grid of trays, `devices` devices spread over them, three networks.
pub fn campus(places: u64, devices: u64) -> Plan {
    let mut plan = empty();
    let mut dice = Dice(7);
    plan.targets.survive = Survive::AnyOne;
    add_network(&mut plan, "a", "10.16.0.0/18", Some(10));
    add_network(&mut plan, "b", "10.32.0.0/18", Some(20));
    add_network(&mut plan, "control", "10.48.0.0/18", Some(30));
    let across = places.isqrt().max(1);
    let name = |n: u64| format!("p{n}");
    for n in 0..places {
        add_place(&mut plan, &name(n), &["mains", "ups"]);
        for (way, other) in [("west", n % across > 0), ("north", n >= across)] {
            let neighbour = if way == "west" { n.wrapping_sub(1) } else { n.wrapping_sub(across) };
            if other {
                let between = [name(neighbour), name(n)];
                let length = 40 + dice.below(80);
                add_route(
                    &mut plan,
                    &format!("{way}-{n}"),
                    between.each_ref().map(String::as_str),
                    (length, &[Medium::Copper, Medium::Fibre], &[]),
                );
            }
        }
    }
    for n in 0..devices {
        let gear = ["stage-box", "desk", "amp", "amp", "panel", "stage-box", "panel", "amp"][dice.below(8) as usize];
        add_device(&mut plan, &format!("d{n}"), gear, &name(dice.below(places)));
    }
    for n in 0..devices / 2 {
        let ends: Vec<String> = (0..4).map(|_| format!("d{}", dice.below(devices))).filter(|end| *end != format!("d{n}")).collect();
        let to: Vec<&str> = ends.iter().map(String::as_str).collect();
        add_stream(&mut plan, &format!("s{n}"), (&format!("d{n}"), &to), n % 3 == 0);
    }
    plan
}
