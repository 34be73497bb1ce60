//! Every single failure of every plan in `plans/`, and plans at the edge, against the judge of `simulator`.

use crate::failures::{names_of, parts, verdict};
use crate::fleet::{Fleet, empty_plan, id};
use crate::plain::Plain;
use indexmap::IndexMap;
use loomwright_forwarding::{Fabric, forward};
use loomwright_model::plan::{Legs, Mode};
use loomwright_model::*;
use loomwright_survival::{Loss, Survival};

/// Compares every single failure and every pair of a switch or feed with another; gives how many were silenced.
fn compare(name: &str, plan: &Plan, wiring: &Wiring) -> usize {
    let fabric = Fabric::new(plan, wiring);
    let blocked = forward(plan, wiring, &fabric).blocked;
    let survival = Survival::new(plan, wiring, &fabric, &blocked);
    let linked = |cable: &Id, network: &Id| {
        fabric
            .links
            .iter()
            .any(|link| fabric.cables[link.cable.0 as usize].id == *cable && fabric.networks[link.network.0 as usize] == *network)
    };
    let all = wiring.cables.iter().flat_map(|(id, cable)| cable.networks.iter().map(move |network| (id, network)));
    let left_out: Vec<(Id, Option<Id>)> =
        all.filter(|(id, network)| !linked(id, network)).map(|(id, network)| (id.clone(), Some(network.clone()))).collect();
    let plain = Plain::new(plan, wiring, &left_out);
    assert_eq!(plain.site.wishes.len(), survival.demands().len(), "{name}");
    let shut = plain.shut(&names_of(&fabric, &blocked));
    let singles = survival.single_failures();
    let mut silenced = 0;
    for effect in survival.effects(&singles) {
        assert_eq!(parts(&effect), verdict(&plain, &effect.losses, &shut), "{name}: {}", effect.losses[0]);
        silenced += effect.silent.len();
    }
    let wide = singles.losses().iter().filter(|loss| matches!(loss, Loss::Gone(Item::Switch(_) | Item::Feed(_))));
    for one in wide {
        for two in singles.losses().iter().step_by(7) {
            let effect = survival.whatif(&[one.clone(), two.clone()]);
            assert_eq!(parts(&effect), verdict(&plain, &effect.losses, &shut), "{name}: {one} with {two}");
            silenced += effect.silent.len();
        }
    }
    silenced
}

#[test]
fn every_failure_of_every_golden_plan_agrees() {
    let names = ["meeting-room", "meeting-room-faults", "playhouse", "playhouse-faults"];
    let mut silenced = 0;
    for name in names {
        let [plan, wiring] = loomwright_demo::texts(name).expect("a plan of that name");
        let source = |name, text| loomwright_planfile::Source { name, text };
        let loaded = loomwright_planfile::read(source("plan", &plan), Some(source("wiring", &wiring))).expect("it reads");
        silenced += compare(name, &loaded.plan, &loaded.wiring);
    }
    assert!(silenced > 500, "{silenced}");
}

fn device(plan: &mut Plan, name: &str, feeds: &[&str]) {
    let feeds = feeds.iter().map(|feed| id(feed)).collect();
    let device = Device {
        gear: id("one"),
        place: id("here"),
        title: None,
        pairing: Some(Pairing::Independent),
        feeds,
        networks: vec![],
        mode: None,
    };
    plan.devices.insert(id(name), device);
}

fn stream(plan: &mut Plan, from: &str, to: &[&str]) {
    let stream = Stream {
        from: id(from),
        to: to.iter().map(|to| id(to)).collect(),
        channels: 2,
        essential: true,
        legs: Legs::Both,
        mode: Mode::Multicast,
        format: StreamFormat::default(),
        network_delay: None,
        life_safety: false,
    };
    plan.streams.insert(id(&format!("from-{from}")), stream);
}

/// Two devices and a switch, each on the feed that `feeds` says, each cable in a route that shares `hazard`.
fn small(feeds: [&str; 3], hazard: &str) -> (Plan, Wiring) {
    let mut plan = empty_plan();
    plan.places.insert(id("here"), Place::default());
    plan.places.insert(id("there"), Place::default());
    device(&mut plan, "one", &[feeds[0]]);
    device(&mut plan, "two", &[feeds[1]]);
    stream(&mut plan, "one", &["two"]);
    let mut wiring = Wiring::default();
    let switch = Switch {
        gear: id("rapid"),
        place: id("here"),
        networks: vec![id("a")],
        feeds: vec![id(feeds[2])],
        address: None,
        bridge_priority: None,
        path_cost: IndexMap::new(),
        hold: false,
    };
    wiring.switches.insert(id("sw"), switch);
    for (number, name) in ["one", "two"].into_iter().enumerate() {
        let between = [id("here"), id("there")];
        let route = Route { between, length: Length::from_millimetres(9_000), takes: vec![], shares: vec![id(hazard)] };
        plan.routes.insert(id(&format!("route-{name}")), route);
        let port = |item: &str, number: usize| PortRef::new(id(item), id(&number.to_string()));
        let cable = Cable {
            ends: [port(name, 1), port("sw", number + 1)],
            networks: vec![id("a")],
            medium: Medium::Copper,
            length: Length::from_millimetres(9_000),
            routes: vec![id(&format!("route-{name}"))],
            hold: false,
        };
        wiring.cables.insert(id(&format!("c-{name}")), cable);
    }
    (plan, wiring)
}

fn silent(plan: &Plan, wiring: &Wiring, item: Item) -> Vec<u32> {
    compare("a small plan", plan, wiring);
    let fabric = Fabric::new(plan, wiring);
    Survival::new(plan, wiring, &fabric, &[]).whatif(&[Loss::Gone(item)]).silent
}

#[test]
fn an_empty_plan_loses_nothing() {
    let (plan, wiring) = (empty_plan(), Wiring::default());
    assert_eq!(compare("nothing", &plan, &wiring), 0);
    let survival = Survival::new(&plan, &wiring, &Fabric::new(&plan, &wiring), &[]);
    assert!(survival.single_failures().losses().is_empty() && survival.demands().is_empty());
    assert_eq!(survival.double_failures(&survival.single_failures(), 9).count, 0);
}

#[test]
fn a_device_without_a_cable_is_never_heard_and_never_missed() {
    let (mut plan, wiring) = small(["f1", "f2", "f3"], "h");
    device(&mut plan, "alone", &["f9"]);
    stream(&mut plan, "alone", &["two"]);
    let survival = Survival::new(&plan, &wiring, &Fabric::new(&plan, &wiring), &[]);
    assert_eq!(survival.never_heard(), [1]);
    assert_eq!(silent(&plan, &wiring, Item::Feed(id("f9"))), Vec::<u32>::new());
}

#[test]
fn a_stream_to_its_own_sender_is_no_demand() {
    let (mut plan, wiring) = small(["f1", "f2", "f3"], "h");
    stream(&mut plan, "two", &["two", "one"]);
    let survival = Survival::new(&plan, &wiring, &Fabric::new(&plan, &wiring), &[]);
    let names: Vec<String> = survival.demands().iter().map(|demand| format!("{} at {}", demand.stream, demand.to)).collect();
    assert_eq!(names, ["from-one at two", "from-two at one"]);
    assert_eq!(silent(&plan, &wiring, Item::Switch(id("sw"))), [0, 1]);
}

#[test]
fn everything_on_one_feed_goes_with_it() {
    let (plan, wiring) = small(["mains"; 3], "h");
    assert_eq!(silent(&plan, &wiring, Item::Feed(id("mains"))), [0]);
}

#[test]
fn a_hazard_that_names_every_route_takes_every_cable() {
    let (plan, wiring) = small(["f1", "f2", "f3"], "flood");
    assert_eq!(silent(&plan, &wiring, Item::Hazard(id("flood"))), [0]);
    assert_eq!(silent(&plan, &wiring, Item::Hazard(id("fire"))), Vec::<u32>::new());
}

#[test]
fn a_place_takes_all_that_stands_there() {
    let fleet = Fleet::new(3);
    let fabric = Fabric::new(&fleet.plan, &fleet.wiring);
    let survival = Survival::new(&fleet.plan, &fleet.wiring, &fabric, &[]);
    for place in fleet.plan.places.keys() {
        let stands = fleet.plan.devices.iter().filter(|(_, device)| device.place == *place).map(|(id, _)| Item::Device(id.clone()));
        let switches = fleet.wiring.switches.iter().filter(|(_, switch)| switch.place == *place);
        let all: Vec<Loss> = stands.chain(switches.map(|(id, _)| Item::Switch(id.clone()))).map(Loss::Gone).collect();
        let after = survival.domains_without(&all);
        assert_eq!(survival.domains_without(&[Loss::Gone(Item::Place(place.clone()))]), after);
    }
    assert_eq!(fleet.plan.places.len(), 3);
}
