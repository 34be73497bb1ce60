//! Times failures on growing networks: stars on two networks, chains of eight, rings of eight.
//!
//! `cargo bench -p loomwright-survival`. Prints processor time (wall time where the system does not tell it),
//! the best of five runs, and between sizes the exponent with which the time of all single failures grows (1 is
//! linear). `cargo bench -p loomwright-survival -- star2 1000` measures one.
#![allow(clippy::disallowed_methods)]

use indexmap::IndexMap;
use loomwright_forwarding::Fabric;
use loomwright_model::gear::{AudioPort, PortGroup};
use loomwright_model::plan::{Addressing, Carries, Legs, Mode};
use loomwright_model::*;
use loomwright_survival::{Mission, Survival};
use std::time::Instant;

const PER_PLACE: usize = 20;
const CHAIN: usize = 8;
const RECEIVERS: usize = 4;

fn id(text: &str) -> Id {
    Id::new(text).expect("a bench's name is valid")
}

struct Grower {
    plan: Plan,
    wiring: Wiring,
    next_port: IndexMap<Id, u32>,
}

impl Grower {
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

/// Time that this thread has been running, from the Linux scheduler.
fn processor_milliseconds() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse::<f64>().ok().map(|nanoseconds| nanoseconds / 1e6)
}

/// Milliseconds of the best of `runs`.
fn best<T>(runs: usize, mut work: impl FnMut() -> T) -> f64 {
    // The scheduler tells time in steps of some milliseconds: repeat until a run is long against that.
    let start = Instant::now();
    std::hint::black_box(work());
    let repeats = (0.2 / start.elapsed().as_secs_f64().max(1e-6)).clamp(1.0, 10_000.0) as u32;
    let times = (0..runs).map(|_| {
        let (start, before) = (Instant::now(), processor_milliseconds());
        for _ in 0..repeats {
            std::hint::black_box(work());
        }
        let whole = match (before, processor_milliseconds()) {
            (Some(before), Some(after)) => after - before,
            _ => start.elapsed().as_secs_f64() * 1e3,
        };
        whole / f64::from(repeats)
    });
    times.fold(f64::INFINITY, f64::min)
}

/// Blocks whatever closes a ring, in the order of the cables.
fn block_rings(fabric: &Fabric) -> Vec<bool> {
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

fn measure(kind: &str, devices: usize) -> f64 {
    let mut grower = Grower::new();
    match kind {
        "star2" => grower.star(devices),
        "chain" => grower.chains(devices, false),
        _ => grower.chains(devices, true),
    }
    grower.streams(devices);
    let (plan, wiring) = (&grower.plan, &grower.wiring);
    let fabric = Fabric::new(plan, wiring);
    let blocked = block_rings(&fabric);
    let build = best(5, || Survival::new(plan, wiring, &fabric, &blocked));
    let survival = Survival::new(plan, wiring, &fabric, &blocked);
    let single = best(5, || survival.single_failures());
    let singles = survival.single_failures();
    let entries: usize = (0..singles.losses().len()).map(|at| singles.silent(at).len() + singles.one_leg_left(at).len()).sum();
    let effects = best(2, || survival.effects(&singles).map(|effect| effect.gaps.len()).sum::<usize>());
    let three: Vec<_> = singles.losses().iter().step_by(singles.losses().len() / 3).cloned().collect();
    let whatif = best(5, || survival.whatif(&three));
    let pairs = if devices <= 1_000 { format!("{:.1}", best(1, || survival.double_failures(&singles, 10))) } else { "-".to_owned() };
    let mission = Mission::Show(Hours::from_seconds(4 * 3_600));
    let found = survival.availability((plan, wiring), &singles, mission);
    let is_exact = found.essential.is_some_and(|down| down.is_exact());
    let chance = best(1, || survival.availability((plan, wiring), &singles, mission));
    let demands = survival.demands().len();
    println!(
        "{kind:6} {devices:7} {demands:7} {:9} {entries:9} {build:9.2} {single:9.2} {effects:9.2} {whatif:9.3} {pairs:>9} {chance:9.1} {is_exact}",
        singles.losses().len()
    );
    single
}

fn main() {
    println!("kind   devices   pairs  failures   entries  build ms singles ms effects ms whatif ms doubles ms chance ms exact");
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let is_wanted =
        |word: &str, among: &[&str]| words.contains(&word.to_owned()) || !words.iter().any(|word| among.contains(&word.as_str()));
    let (kinds, sizes) = (["star2", "ring", "chain"], ["100", "1000", "10000"]);
    for kind in kinds.into_iter().filter(|kind| is_wanted(kind, &kinds)) {
        let wanted = sizes.into_iter().filter(|size| is_wanted(size, &sizes)).filter_map(|size| size.parse().ok());
        let times: Vec<f64> = wanted.map(|devices| measure(kind, devices)).collect();
        let growth: Vec<String> = times.windows(2).map(|pair| format!("{:.2}", (pair[1] / pair[0]).log10())).collect();
        println!("{kind}: single failures grow with exponent {}", growth.join(", then "));
    }
}
