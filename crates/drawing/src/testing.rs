//! Invented scenes for tests: a playhouse with two networks and control, and one full 48-port switch.

use indexmap::IndexMap;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{About, Addressing, Carries, Labour, Legs, Mode, Position, Stock};
use loomwright_model::wiring::{ClockChoice, Interface, Setting};
use loomwright_model::*;
use loomwright_proof::Report;
use loomwright_proof::report::*;

/// A plan with its wiring and a report made by hand.
pub struct Show {
    pub plan: Plan,
    pub wiring: Wiring,
    pub report: Report,
}

pub fn id(name: &str) -> Id {
    Id::new(name).expect("a good name")
}

fn empty(name: &str) -> Show {
    let plan = Plan {
        about: About {
            name: name.to_owned(),
            revision: "C".to_owned(),
            date: Some("2026-05-02".to_owned()),
            by: Some("R. Marsh".to_owned()),
            note: None,
        },
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: IndexMap::new(),
        places: IndexMap::new(),
        routes: IndexMap::new(),
        gear: IndexMap::new(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Stock::default(),
        labour: Labour::default(),
        listening: Default::default(),
    };
    let report = Report {
        plan: PlanLine { name: name.to_owned(), revision: "C".to_owned(), digest: "4f1c9a0277dee81b".to_owned() },
        ..Report::default()
    };
    Show { plan, wiring: Wiring::default(), report }
}

impl Show {
    pub fn scene(&self) -> crate::Scene<'_> {
        crate::Scene { plan: &self.plan, wiring: &self.wiring, report: &self.report }
    }

    fn network(&mut self, name: &str, subnet: &str, vlan: Option<i64>) {
        let carries = if name == "control" { Carries::Control } else { Carries::Audio };
        let addresses = if name == "control" { Addressing::Dhcp } else { Addressing::Fixed };
        let network = Network {
            subnet: Some(subnet.parse().expect("a subnet")),
            vlan: vlan.map(|vlan| VlanId::new(vlan).expect("a VLAN")),
            addresses,
            carries,
            dhcp_server: None,
        };
        self.plan.networks.insert(id(name), network);
    }

    fn place(&mut self, name: &str, title: &str, (x, y, z): (i64, i64, i64)) {
        let at = Some(Position { x: x * 1000, y: y * 1000, z: z * 1000 });
        self.plan.places.insert(id(name), Place { name: title.to_owned(), at, feeds: vec![id("mains-1")] });
    }

    fn route(&mut self, name: &str, between: [&str; 2], (metres, hazard): (u64, &str)) {
        let shares = if hazard.is_empty() { Vec::new() } else { vec![id(hazard)] };
        let route = Route { between: between.map(id), length: metres_of(metres), takes: vec![Medium::Copper, Medium::Fibre], shares };
        self.plan.routes.insert(id(name), route);
    }

    fn endpoint(&mut self, name: &str, title: &str, ports: usize) {
        let mut gear = Gear::plain(GearKind::Endpoint, title);
        let port = |n: usize| AudioPort { name: id(&n.to_string()), speed: gigabit(1), medium: Medium::Copper };
        gear.audio_ports = (1..=ports).map(port).collect();
        gear.control = Some(Control::Own { port: id("control"), speed: BitRate::from_bits_per_second(100_000_000) });
        gear.draws = Some(Power::from_milliwatts(60_000));
        gear.clock = ClockAbility { can_lead: true, quality: 248 };
        self.plan.gear.insert(id(name), gear);
    }

    fn switch_gear(&mut self, name: &str, title: &str, groups: &[(u32, u64, Medium)]) {
        let mut gear = Gear::plain(GearKind::Switch, title);
        gear.ports = groups
            .iter()
            .map(|(count, speed, medium)| PortGroup {
                count: *count,
                speed: gigabit(*speed),
                medium: *medium,
                poe: (*medium == Medium::Copper).then_some(PoeClass::Class4),
            })
            .collect();
        gear.poe_budget = Some(Power::from_milliwatts(370_000));
        self.plan.gear.insert(id(name), gear);
    }

    fn switch(&mut self, name: &str, (gear, place): (&str, &str), networks: &[&str]) {
        let n = self.wiring.switches.len() + 2;
        let address = Some(format!("10.30.0.{n}/22").parse().expect("an address"));
        let switch = Switch {
            gear: id(gear),
            place: id(place),
            networks: networks.iter().map(|network| id(network)).collect(),
            feeds: Vec::new(),
            address,
            bridge_priority: None,
            path_cost: IndexMap::new(),
            hold: false,
        };
        self.wiring.switches.insert(id(name), switch);
    }

    fn device(&mut self, name: &str, gear: &str, place: &str) {
        let device =
            Device { gear: id(gear), place: id(place), title: None, pairing: None, feeds: Vec::new(), networks: Vec::new(), mode: None };
        self.plan.devices.insert(id(name), device);
    }

    fn cable(&mut self, name: &str, ends: [&str; 2], (networks, medium, metres): (&[&str], Medium, u64)) {
        let cable = Cable {
            ends: ends.map(|end| end.parse().expect("a port")),
            networks: networks.iter().map(|network| id(network)).collect(),
            medium,
            length: metres_of(metres),
            routes: Vec::new(),
            hold: false,
        };
        let bps = 40_000_000 + 7_000_000 * self.wiring.cables.len() as u64;
        let [from, to] = cable.ends.clone().map(|end| format!("port:{end}"));
        let line = LinkLine {
            from,
            to,
            cable: name.to_owned(),
            speed_bps: 1_000_000_000,
            load_bps: bps,
            streams: 4,
            unwanted_bps: 0,
            backlog_bytes: None,
        };
        self.report.links.push(line);
        self.wiring.cables.insert(id(name), cable);
    }

    fn address(&mut self, port: &str, address: &str) {
        let interface = Interface { address: address.parse().expect("an address"), hold: false };
        self.wiring.interfaces.insert(port.parse().expect("a port"), interface);
    }

    fn independent(&mut self, device: &str) {
        self.wiring.settings.insert(id(device), Setting { pairing: Some(Pairing::Independent), clock_priority: None, hold: false });
    }

    fn stream(&mut self, name: &str, (from, to): (&str, &[&str]), channels: u32) {
        let stream = Stream {
            from: id(from),
            to: to.iter().map(|to| id(to)).collect(),
            channels,
            essential: true,
            legs: Legs::Both,
            mode: Mode::Multicast,
            format: StreamFormat::default(),
            network_delay: None,
            life_safety: name.contains("alarm"),
        };
        self.plan.streams.insert(id(name), stream);
        for packet_stream in 1..=channels.div_ceil(8) {
            let groups = [("a", 192), ("b", 193)].map(|(network, octet)| {
                let low = 16 * self.plan.streams.len() as u8 + packet_stream as u8;
                (id(network), std::net::Ipv4Addr::new(239, octet, 10, low))
            });
            self.wiring.groups.insert((id(name), packet_stream), groups.into_iter().collect());
            for (to, network) in to.iter().flat_map(|to| [(to, "a"), (to, "b")]) {
                self.report.streams.push(StreamLine {
                    id: name.into(),
                    packet_stream,
                    from: from.into(),
                    to: (*to).into(),
                    network: network.into(),
                    path: Vec::new(),
                    hops: 3,
                    wire_bps: 10_112_000,
                    delay: Some(DelayLine {
                        least_ns: 42_000,
                        worst_ns: 212_340 + 100 * u64::from(packet_stream),
                        known_tight: true,
                        ..DelayLine::default()
                    }),
                });
            }
        }
    }
}

fn metres_of(metres: u64) -> Length {
    Length::from_millimetres(metres * 1_000)
}

fn gigabit(n: u64) -> BitRate {
    BitRate::from_bits_per_second(n * 1_000_000_000)
}

fn playhouse_gear(show: &mut Show) {
    show.network("a", "10.10.0.0/22", Some(10));
    show.network("b", "10.20.0.0/22", Some(20));
    show.network("control", "10.30.0.0/22", Some(30));
    show.place("stage-left", "Stage left rack", (-9, 2, 0));
    show.place("stage-right", "Stage right rack", (9, 2, 0));
    show.place("foh", "Front of house", (0, 24, 0));
    show.place("grid", "Grid, amplifier loft", (2, 5, 11));
    show.route("trench", ["stage-left", "foh"], (38, "audience-floor"));
    show.route("balcony", ["stage-left", "foh"], (64, "fly-loft"));
    show.route("under-stage", ["stage-left", "stage-right"], (26, ""));
    show.route("ladder", ["stage-right", "grid"], (18, "fly-loft"));
    show.route("spine", ["grid", "foh"], (42, ""));
    show.endpoint("stage-box-32", "Stage box, 32 in 16 out", 2);
    show.endpoint("desk", "Mixing desk, 96 inputs", 2);
    show.endpoint("amp-4", "Amplifier, 4 channels", 2);
    show.endpoint("recorder-128", "Recorder, 128 tracks", 2);
    show.endpoint("radio-8", "Radio receiver, 8 channels", 1);
    show.switch_gear("switch-24", "Switch, 24 copper and 4 fibre", &[(24, 1, Medium::Copper), (4, 10, Medium::SfpPlus)]);
    show.switch_gear("switch-8", "Switch, 8 copper and 2 fibre", &[(8, 1, Medium::Copper), (2, 1, Medium::Sfp)]);
}

fn playhouse_wiring(show: &mut Show) {
    for (network, other) in [("a", "A"), ("b", "B")] {
        show.switch(&format!("sw-{network}-stage"), ("switch-24", "stage-left"), &[network, "control"]);
        show.switch(&format!("sw-{network}-foh"), ("switch-24", "foh"), &[network, "control"]);
        let ends = [format!("sw-{network}-stage/25"), format!("sw-{network}-foh/25")];
        let name = format!("{other}-100");
        show.cable(&name, [&ends[0], &ends[1]], (&[network, "control"], Medium::Fibre, if network == "a" { 50 } else { 100 }));
        let route = if network == "a" { "trench" } else { "balcony" };
        show.wiring.cables[&id(&name)].routes = vec![id(route)];
    }
    show.switch("sw-a-grid", ("switch-8", "grid"), &["a"]);
    show.cable("A-101", ["sw-a-grid/9", "sw-a-stage/26"], (&["a"], Medium::Fibre, 50));
    show.wiring.cables[&id("A-101")].routes = vec![id("ladder"), id("under-stage")];
}

const PLAYHOUSE: [(&str, &str, &str, &str); 9] = [
    ("box-sl", "stage-box-32", "stage-left", "stage"),
    ("mon-desk", "desk", "stage-left", "stage"),
    ("box-sr", "stage-box-32", "stage-right", "stage"),
    ("radio-1", "radio-8", "stage-right", "stage"),
    ("radio-2", "radio-8", "stage-right", "stage"),
    ("foh-desk", "desk", "foh", "foh"),
    ("recorder", "recorder-128", "foh", "foh"),
    ("playback-main", "recorder-128", "foh", "foh"),
    ("playback-spare", "recorder-128", "foh", "foh"),
];

fn playhouse_devices(show: &mut Show) {
    let mut next = std::collections::BTreeMap::new();
    for (n, (name, gear, place, switch)) in PLAYHOUSE.iter().enumerate() {
        show.device(name, gear, place);
        let far = if *place == "stage-right" { 30 } else { 5 };
        let is_single = *gear == "radio-8";
        for (port, network, letter) in [("1", "a", "A"), ("2", "b", "B")].into_iter().take(if is_single { 1 } else { 2 }) {
            let hub = format!("sw-{network}-{switch}");
            let slot = next.entry(hub.clone()).and_modify(|slot| *slot += 1).or_insert(1);
            let cable = format!("{letter}-{:03}", n + 1);
            show.cable(&cable, [&format!("{name}/{port}"), &format!("{hub}/{slot}")], (&[network], Medium::Copper, far));
            if far == 30 {
                show.wiring.cables[&id(&cable)].routes = vec![id("under-stage")];
            }
            show.address(&format!("{name}/{port}"), &format!("10.{}.1.{}/22", if network == "a" { 10 } else { 20 }, n + 11));
        }
        if !is_single {
            show.independent(name);
        }
        if name.contains("desk") {
            let hub = format!("sw-a-{switch}");
            let slot = next.entry(hub.clone()).and_modify(|slot| *slot += 1).or_insert(1);
            show.cable(
                &format!("C-{:03}", n + 1),
                [&format!("{name}/control"), &format!("{hub}/{slot}")],
                (&["control"], Medium::Copper, 5),
            );
            show.address(&format!("{name}/control"), &format!("10.30.1.{}/22", n + 11));
        }
    }
    for n in 1..=3 {
        let name = format!("amp-{n}");
        show.device(&name, "amp-4", "grid");
        let from = if n == 1 { "sw-a-grid/1".to_owned() } else { format!("amp-{}/2", n - 1) };
        show.cable(&format!("A-{:03}", 20 + n), [&from, &format!("{name}/1")], (&["a"], Medium::Copper, 3));
        show.address(&format!("{name}/1"), &format!("10.10.1.{}/22", 40 + n));
    }
}

fn finding(severity: &str, code: &str, (says, remedy): (&str, &str)) -> FindingLine {
    FindingLine {
        code: code.to_owned(),
        severity: severity.to_owned(),
        items: vec!["device:amp-3".to_owned()],
        says: says.to_owned(),
        value: Some("1".to_owned()),
        limit: Some("0".to_owned()),
        source: Some("your [targets]".to_owned()),
        remedy: remedy.to_owned(),
        at: None,
    }
}

fn playhouse_report(show: &mut Show) {
    show.stream("sl-mics", ("box-sl", &["foh-desk", "mon-desk", "recorder"]), 32);
    show.stream("sr-mics", ("box-sr", &["foh-desk", "mon-desk", "recorder"]), 32);
    show.stream("main-out", ("foh-desk", &["amp-1", "amp-2", "amp-3"]), 8);
    show.stream("voice-alarm-feed", ("foh-desk", &["box-sr"]), 2);
    let report = &mut show.report;
    report.verdict = "Not ready: 1 thing stops the show.".to_owned();
    report.findings = vec![
        finding(
            "stop",
            "survival/single",
            ("If cable A-022 breaks, amp-2 and amp-3 fall silent.", "Give amp-2 a cable of its own to sw-a-grid."),
        ),
        finding("warn", "wiring/spare", ("sw-a-grid has 9 free ports of 10.", "Nothing to do, or use a smaller switch.")),
        finding("note", "length/reserve", ("Cable A-003 has 2 m of reserve.", "Carry a longer one.")),
    ];
    let silent = |to: &str| SilentLine { stream: "main-out".into(), to: to.into() };
    report.failures = vec![
        FailureLine { without: vec!["cable:A-022".to_owned()], silent: vec![silent("amp-2"), silent("amp-3")], ..FailureLine::default() },
        FailureLine {
            without: vec!["switch:sw-a-grid".to_owned()],
            silent: ["amp-1", "amp-2", "amp-3"].map(silent).to_vec(),
            ..FailureLine::default()
        },
        FailureLine { without: vec!["cable:A-001".to_owned()], one_leg_left: vec![silent("foh-desk")], ..FailureLine::default() },
    ];
    report.availability.essential = Some(0.99972);
    report.poe = vec![PoeLine { switch: "sw-a-stage".to_owned(), budget_mw: 370_000, draw_mw: 25_500 }];
    report.power = vec![FeedLine { feed: "mains-1".to_owned(), draw_mw: 820_000 }];
    show.wiring.clock = ClockChoice { leader: Some(id("foh-desk")), backup: Some(id("mon-desk")) };
    show.wiring.querier =
        [("a", "sw-a-stage"), ("b", "sw-b-stage")].map(|(network, switch)| (id(network), id(switch))).into_iter().collect();
}

/// A playhouse: 12 devices, 5 switches, networks A, B and control.
pub fn playhouse() -> Show {
    let mut show = empty("Saltmarsh Playhouse, spring musical");
    playhouse_gear(&mut show);
    playhouse_wiring(&mut show);
    playhouse_devices(&mut show);
    playhouse_report(&mut show);
    show
}

/// One 48-port switch with 40 devices in five places, some with long names, and four trunks.
pub fn stress() -> Show {
    let mut show = empty("Exhibition hall, every port in use");
    show.network("a", "10.10.0.0/22", Some(10));
    show.network("control", "10.30.0.0/22", Some(30));
    show.endpoint("amp-4", "Amplifier with four channels and a very long type name", 2);
    show.switch_gear("switch-48", "Switch, 48 copper and 4 fibre", &[(48, 1, Medium::Copper), (4, 10, Medium::SfpPlus)]);
    for n in 0..5 {
        show.place(&format!("bay-{n}"), &format!("Bay {n}, behind the north wall"), (10 * n, 5, 0));
    }
    show.switch("sw-hall", ("switch-48", "bay-2"), &["a", "control"]);
    for n in 1..=4 {
        let far = format!("sw-far-{n}");
        show.switch(&far, ("switch-48", "bay-0"), &["a", "control"]);
        show.cable(
            &format!("T-{n:03}"),
            [&format!("sw-hall/{}", 48 + n), &format!("{far}/49")],
            (&["a", "control"], Medium::Fibre, 80 + n),
        );
    }
    for n in 1..=40 {
        let name = if n % 9 == 0 { format!("amplifier-of-the-upper-balcony-{n:02}") } else { format!("amp-{n:02}") };
        show.device(&name, "amp-4", &format!("bay-{}", (n - 1) / 8));
        show.cable(&format!("A-{n:03}"), [&format!("sw-hall/{n}"), &format!("{name}/1")], (&["a"], Medium::Copper, 5 + n));
        show.address(&format!("{name}/1"), &format!("10.10.1.{n}/22"));
    }
    show
}

/// A large hall: `switches` switches with 46 devices each, all trunked to the first.
pub fn large(switches: usize) -> Show {
    let mut show = empty("Fairground, all halls");
    show.network("a", "10.0.0.0/8", Some(10));
    show.endpoint("amp-4", "Amplifier, 4 channels", 2);
    show.switch_gear("switch-48", "Switch, 48 copper and 4 fibre", &[(48, 1, Medium::Copper), (64, 10, Medium::SfpPlus)]);
    for s in 0..switches {
        let place = format!("hall-{s:02}");
        show.place(&place, &format!("Hall {s}"), (40 * (s as i64 % 8), 30 * (s as i64 / 8), 0));
        let hub = format!("sw-{s:02}");
        show.switch(&hub, ("switch-48", &place), &["a"]);
        for n in 1..=46 {
            let name = format!("amp-{s:02}-{n:02}");
            show.device(&name, "amp-4", &place);
            show.cable(&format!("A-{:04}", s * 46 + n), [&format!("{hub}/{n}"), &format!("{name}/1")], (&["a"], Medium::Copper, 20));
            show.address(&format!("{name}/1"), &format!("10.1.{s}.{n}/8"));
        }
        if s > 0 {
            show.cable(&format!("T-{s:03}"), [&format!("{hub}/49"), &format!("sw-00/{}", 48 + s)], (&["a"], Medium::Fibre, 120));
        }
    }
    show
}

/// One switch of `ports` ports with a device in each of the first `devices`, `per_place` in a place.
pub fn hall(ports: u32, devices: usize, per_place: usize) -> Show {
    let mut show = empty("Hall of any size");
    show.network("a", "10.0.0.0/8", None);
    show.endpoint("amp-4", "Amplifier, 4 channels", 2);
    show.switch_gear("switch", "Switch", &[(ports, 1, Medium::Copper)]);
    for n in 0..=devices / per_place {
        show.place(&format!("bay-{n}"), &format!("Bay {n}"), (n as i64, 0, 0));
    }
    show.switch("sw", ("switch", "bay-0"), &["a"]);
    for n in 1..=devices {
        let name = format!("amp-{n}");
        show.device(&name, "amp-4", &format!("bay-{}", (n - 1) / per_place));
        show.cable(&format!("A-{n:03}"), [&format!("sw/{n}"), &format!("{name}/1")], (&["a"], Medium::Copper, 20));
    }
    show
}
