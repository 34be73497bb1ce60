//! One small wiring with one of everything that can be wrong.

use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{About, Labour, Stock};
use loomwright_model::*;
use loomwright_physical::{CableTrouble, inspect};

fn id(text: &str) -> Id {
    Id::new(text).expect("a name")
}

fn gigabits(rate: u64) -> BitRate {
    BitRate::from_bits_per_second(rate * 1_000_000_000)
}

fn plan() -> Plan {
    let mut speaker = Gear::plain(GearKind::Endpoint, "Speaker");
    speaker.audio_ports = vec![AudioPort { name: id("1"), speed: gigabits(1), medium: Medium::Copper }];
    speaker.poe = Some(PoeClass::Class4);
    speaker.draws = Some(Power::from_milliwatts(20_000));
    let mut switch = Gear::plain(GearKind::Switch, "Switch");
    let group = |count, speed, medium, poe| PortGroup { count, speed, medium, poe };
    switch.ports = vec![
        group(1, gigabits(1), Medium::Copper, Some(PoeClass::Class3)),
        group(2, gigabits(1), Medium::Copper, Some(PoeClass::Class4)),
        group(2, gigabits(10), Medium::SfpPlus, None),
        group(2, gigabits(1), Medium::Sfp, None),
    ];
    switch.poe_budget = Some(Power::from_milliwatts(41_000));
    switch.draws = Some(Power::from_milliwatts(15_000));
    let device = |place: &str| Device {
        gear: id("speaker"),
        place: id(place),
        title: None,
        pairing: None,
        feeds: vec![],
        networks: vec![],
        mode: None,
    };
    let route = |between: [&str; 2], metres: u64, takes| Route {
        between: between.map(id),
        length: Length::from_millimetres(metres * 1_000),
        takes,
        shares: vec![],
    };
    Plan {
        about: About::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: IndexMap::new(),
        places: ["stage", "foh", "truck"]
            .map(|name| (id(name), Place { feeds: vec![id(&format!("mains-{name}"))], ..Place::default() }))
            .into(),
        routes: [
            (id("trench"), route(["stage", "foh"], 40, vec![Medium::Copper, Medium::Fibre])),
            (id("duct"), route(["foh", "truck"], 60, vec![Medium::Fibre])),
        ]
        .into(),
        gear: [(id("speaker"), speaker), (id("switch"), switch)].into(),
        devices: [(id("s1"), device("stage")), (id("s2"), device("foh")), (id("s3"), device("stage"))].into(),
        streams: IndexMap::new(),
        stock: Stock::default(),
        labour: Labour::default(),
        listening: Default::default(),
    }
}

fn wiring() -> Wiring {
    let switch = |place: &str| Switch {
        gear: id("switch"),
        place: id(place),
        networks: vec![],
        feeds: vec![],
        address: None,
        bridge_priority: None,
        path_cost: IndexMap::new(),
        hold: false,
    };
    let cable = |ends: [&str; 2], medium, metres: u64, routes: &[&str]| Cable {
        ends: ends.map(|end| end.parse().expect("a port")),
        networks: vec![],
        medium,
        length: Length::from_millimetres(metres * 1_000),
        routes: routes.iter().map(|route| id(route)).collect(),
        hold: false,
    };
    Wiring {
        switches: [(id("sw1"), switch("stage")), (id("sw2"), switch("truck"))].into(),
        cables: [
            (id("good"), cable(["s1/1", "sw1/2"], Medium::Copper, 60, &[])),
            (id("far"), cable(["sw1/1", "s2/1"], Medium::Copper, 120, &["trench"])),
            (id("trunk"), cable(["sw2/4", "sw1/4"], Medium::Fibre, 90, &["duct", "trench"])),
            (id("mixed"), cable(["sw1/5", "sw2/6"], Medium::Fibre, 110, &["trench"])),
            (id("wrong"), cable(["s3/1", "sw1/7"], Medium::Fibre, 5, &[])),
            (id("nowhere"), cable(["s3/2", "sw1/7"], Medium::Copper, 5, &[])),
            (id("forbidden"), cable(["sw1/3", "sw2/3"], Medium::Copper, 100, &["trench", "duct"])),
        ]
        .into(),
        ..Wiring::default()
    }
}

#[test]
fn finds_every_trouble_of_the_cables() {
    let found = inspect(&plan(), &wiring());
    let of =
        |name: &str| found.cables.iter().find(|check| check.cable.as_str() == name).map(|check| check.troubles.clone()).expect("a cable");
    assert_eq!(of("good"), []);
    assert_eq!(of("far"), [CableTrouble::TooLong]);
    assert_eq!(of("trunk"), [CableTrouble::ShorterThanRoutes]);
    let differ = CableTrouble::SpeedsDiffer { speeds: [gigabits(10), gigabits(1)], negotiates: false };
    assert_eq!(of("mixed"), [differ, CableTrouble::RouteGap(id("trench"))]);
    assert_eq!(of("wrong"), [CableTrouble::PortTakesAnother { port: "s3/1".parse().expect("a port"), takes: Medium::Copper }]);
    assert_eq!(of("nowhere"), [CableTrouble::NoSuchPort("s3/2".parse().expect("a port"))]);
    assert_eq!(of("forbidden"), [CableTrouble::RouteForbids(id("duct"))]);
    let shared: Vec<String> = found.shared_ports.iter().map(|(port, _)| port.to_string()).collect();
    assert_eq!(shared, ["sw1/7"]);
}

#[test]
fn adds_up_power_over_ethernet_and_feeds() {
    let found = inspect(&plan(), &wiring());
    let [sw1, sw2] = found.poe.as_slice() else { panic!("two switches: {:?}", found.poe) };
    // 20 W over 60 m from 50 V loses 0.992 W (the worked example of checks/physical.csv), over 120 m 2.224 W.
    assert_eq!(sw1.draw, Power::from_milliwatts(40_000 + 993 + 2_224));
    assert_eq!((sw1.reserved, sw1.is_over(), sw2.draw, sw2.is_over()), (Power::from_milliwatts(60_000), true, Power::ZERO, false));
    let weak: Vec<bool> = sw1.ports.iter().map(|port| port.port_too_weak).collect();
    assert_eq!(weak, [false, true]);
    assert_eq!(found.without_power_port, [id("s3")]);
    let feeds: Vec<(String, u64)> = found.feeds.iter().map(|feed| (feed.feed.to_string(), feed.draw.milliwatts())).collect();
    assert_eq!(feeds, [("mains-stage".to_owned(), 20_000 + 15_000 + 43_217), ("mains-truck".to_owned(), 15_000)]);
}
