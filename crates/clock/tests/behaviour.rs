//! Leaders, splits and error bounds on small wirings.

use indexmap::IndexMap;
use loomwright_clock::{ClockDomain, Follower, GONE, Role, datasets, follow, leaders, one_lower_frame};
use loomwright_forwarding::Fabric;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries};
use loomwright_model::*;

fn id(text: &str) -> Id {
    Id::new(text).expect("a test's name is valid")
}

fn gear(kind: GearKind, can_lead: bool, quality: u8) -> Gear {
    let mut gear = Gear::plain(kind, "Box");
    gear.clock = ClockAbility { can_lead, quality };
    gear.latency = LatencyRange { least: Time::from_microseconds(2), most: Time::from_microseconds(2) };
    let speed = BitRate::from_bits_per_second(1_000_000_000);
    match kind {
        GearKind::Switch => gear.ports = vec![PortGroup { count: 8, speed, medium: Medium::Sfp, poe: None }],
        _ => gear.audio_ports = ["1", "2"].map(|name| AudioPort { name: id(name), speed, medium: Medium::Sfp }).into(),
    }
    gear
}

/// A row of devices and switches on one network, each joined to the next by 10 m of `medium`.
fn row(names: &[(&str, &str)], medium: Medium) -> (Plan, Wiring) {
    let mut slow = gear(GearKind::Endpoint, true, 248);
    slow.audio_ports.iter_mut().for_each(|port| port.speed = BitRate::from_bits_per_second(100_000_000));
    let mut types: IndexMap<Id, Gear> = [
        (id("box"), gear(GearKind::Endpoint, true, 248)),
        (id("slow"), slow),
        (id("good"), gear(GearKind::Endpoint, true, 6)),
        (id("laptop"), gear(GearKind::Computer, false, 248)),
    ]
    .into();
    for (name, support) in [("plain", ClockSupport::Unaware), ("clear", ClockSupport::Transparent), ("border", ClockSupport::Boundary)] {
        let mut switch = gear(GearKind::Switch, false, 248);
        switch.clock_support = support;
        types.insert(id(name), switch);
    }
    let network = Network { subnet: None, vlan: None, addresses: Addressing::LinkLocal, carries: Carries::Audio, dhcp_server: None };
    let mut plan = Plan {
        about: Default::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: [(id("a"), network)].into(),
        places: IndexMap::new(),
        routes: IndexMap::new(),
        gear: types,
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Default::default(),
        labour: Default::default(),
        listening: Default::default(),
    };
    let mut wiring = Wiring::default();
    for (name, kind) in names {
        let (feeds, networks, gear, place) = (vec![], vec![], id(kind), id("here"));
        if plan.gear[*kind].is_switching() {
            let networks = vec![id("a")];
            let switch =
                Switch { gear, place, networks, feeds, address: None, bridge_priority: None, path_cost: IndexMap::new(), hold: false };
            wiring.switches.insert(id(name), switch);
        } else {
            let pairing = Some(Pairing::Chained);
            plan.devices.insert(id(name), Device { gear, place, title: None, pairing, feeds, networks, mode: None });
        }
    }
    for (at, pair) in names.windows(2).enumerate() {
        let ends = [PortRef::new(id(pair[0].0), id("2")), PortRef::new(id(pair[1].0), id("1"))];
        let length = Length::from_millimetres(10_000);
        let cable = Cable { ends, networks: vec![id("a")], medium, length, routes: vec![], hold: false };
        wiring.cables.insert(id(&format!("c{at}")), cable);
    }
    (plan, wiring)
}

fn run((plan, wiring): &(Plan, Wiring)) -> (Fabric, Vec<ClockDomain>, Vec<Follower>) {
    let fabric = Fabric::new(plan, wiring);
    let sets = datasets(plan, wiring);
    let domains = leaders(plan, &fabric, &sets, &vec![0; fabric.nodes.len()]);
    let waits = |direction| one_lower_frame(&fabric, direction);
    let followers = follow((plan, wiring, &fabric), (&domains[0], &sets), &|_| true, &waits);
    (fabric, domains, followers)
}

fn leader_name(fabric: &Fabric, domain: &ClockDomain) -> Option<String> {
    domain.leader.map(|device| fabric.devices[device.0 as usize].to_string())
}

#[test]
fn unaware_boxes_err_as_computed_elsewhere() {
    let rows = include_str!("../../../checks/clock-unaware-boxes.csv");
    for row_of_file in csv::Reader::from_reader(rows.as_bytes()).records() {
        let record = row_of_file.expect("a row");
        let hops: usize = record[0].parse().expect("a count");
        let switches: Vec<String> = (0..hops).map(|n| format!("s{n}")).collect();
        let mut names = vec![("lead", "box")];
        names.extend(switches.iter().map(|name| (name.as_str(), "plain")));
        names.push(("tail", "box"));
        let (_, _, followers) = run(&row(&names, Medium::Fibre));
        let bound = followers[0].error().expect("a bound").nanoseconds_up();
        // Beside the waits there is one time stamp step of 8 ns.
        let expected: f64 = record[1].parse().expect("a bound");
        assert!(((bound - 8) as f64 / 1_000.0 - expected).abs() < 0.002, "{hops} boxes: {bound} ns against {expected} us");
        assert_eq!(followers[0].terms.map(|terms| terms.hops()), Some(hops as u32));
    }
}

#[test]
fn names_priorities_and_classes_decide() {
    let mut four = row(&[("z", "box"), ("m", "box"), ("pc", "laptop"), ("q", "good")], Medium::Fibre);
    let name = |four: &(Plan, Wiring)| {
        let (fabric, domains, _) = run(four);
        leader_name(&fabric, &domains[0])
    };
    assert_eq!(name(&four).as_deref(), Some("q"), "the better class");
    four.1.clock.leader = Some(id("z"));
    assert_eq!(name(&four).as_deref(), Some("z"), "priority before class");
    let (_, _, followers) = run(&four);
    let roles: Vec<Role> = followers.iter().map(|follower| follower.role).collect();
    assert_eq!(roles, [Role::Follows, Role::Follows, Role::Passive], "a class of 127 or less never follows");
    four.1.clock.leader = Some(id("pc"));
    assert_eq!(name(&four).as_deref(), Some("q"), "who cannot lead does not");
    four.1.settings.insert(id("m"), wiring::Setting { pairing: None, clock_priority: Some(1), hold: false });
    assert_eq!(name(&four).as_deref(), Some("m"), "a setting before all");
}

#[test]
fn a_split_chain_has_two_leaders() {
    let mut plan = row(&[("d1", "box"), ("d2", "box"), ("d3", "box"), ("d4", "box")], Medium::Fibre);
    (plan.1.clock.leader, plan.1.clock.backup) = (Some(id("d2")), Some(id("d3")));
    let fabric = Fabric::new(&plan.0, &plan.1);
    let sets = datasets(&plan.0, &plan.1);
    let names = |domain: &[u32]| {
        let found = leaders(&plan.0, &fabric, &sets, domain);
        found.iter().map(|domain| leader_name(&fabric, domain).unwrap_or_default()).collect::<Vec<_>>()
    };
    assert_eq!(names(&[0, 0, 0, 0]), ["d2"]);
    assert_eq!(names(&[0, 0, 2, 2]), ["d2", "d3"]);
    assert_eq!(names(&[0, GONE, 2, 2]), ["d1", "d3"]);
}

#[test]
fn boxes_that_know_the_clock_err_less() {
    let error = |kind: &str| {
        let (_, _, followers) = run(&row(&[("lead", "box"), ("s", kind), ("tail", "box")], Medium::Fibre));
        followers[0].error().expect("a bound").nanoseconds_up()
    };
    // Two exchanges of one 8 ns stamp each, and class A: 50 + 50 ns.
    assert_eq!(error("border"), 116);
    // One exchange, two stamps in the box, 100 ppm of 12.304 us wait and 2 us forwarding: 1.43 ns.
    assert_eq!(error("clear"), 26);
    assert_eq!(error("plain"), 6_160);
}

#[test]
fn unequal_speeds_never_average_out() {
    let (_, _, followers) = run(&row(&[("lead", "box"), ("s", "plain"), ("tail", "slow")], Medium::Fibre));
    // 90 bytes take 0.72 us in at 1 Gb/s and 7.2 us at 100 Mb/s: 3.24 us for ever; one longest frame at 100 Mb/s
    // in front: 123.04 us, half of it; one stamp.
    assert_eq!(followers[0].error().expect("a bound").nanoseconds_up(), 3_240 + 61_520 + 8);
}

#[test]
fn copper_pairs_differ_and_no_bound_is_said() {
    let plan = row(&[("lead", "box"), ("s", "plain"), ("tail", "box")], Medium::Copper);
    let (fabric, domains, followers) = run(&plan);
    // 20 m of pairs that differ by 0.5 ns a metre: half of 10 ns.
    assert_eq!(followers[0].error().expect("a bound").nanoseconds_up(), 6_160 + 5);
    let sets = datasets(&plan.0, &plan.1);
    let unbounded = follow((&plan.0, &plan.1, &fabric), (&domains[0], &sets), &|_| true, &|_| None);
    assert_eq!(unbounded[0].error(), None);
    let cut = follow((&plan.0, &plan.1, &fabric), (&domains[0], &sets), &|link| link != 1, &|_| None);
    assert_eq!(cut[0].terms, None);
}

#[test]
fn takeover_outlasts_what_trials_showed() {
    use loomwright_clock::message::Announcing;
    for (log_interval, settled) in [(0, 4_500), (1, 9_200)] {
        let announcing = Announcing { log_interval, ..Announcing::default() };
        assert!(
            announcing.takeover() >= Time::from_milliseconds(settled) && announcing.takeover() < Time::from_milliseconds(settled * 3 / 2)
        );
    }
}
