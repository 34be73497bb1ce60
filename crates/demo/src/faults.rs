//! Faults planted into a good plan, one kind each, for showing and testing what the proof finds.

use loomwright_model::plan::RouterMode;
use loomwright_model::wiring::Setting;
use loomwright_model::{Cable, GearKind, Id, InterfaceAddress, Item, Length, Medium, Pairing, Plan, PortRef, Wiring};
use std::net::Ipv4Addr;

/// One planted fault: the finding that must name it, and an item that finding must speak of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planted {
    /// The finding's code.
    pub code: &'static str,
    /// The item.
    pub item: Item,
}

type Plant = fn(&mut Plan, &mut Wiring) -> Option<Planted>;

/// Every kind of fault, in the order in which they are planted. Each leaves the others' ground alone.
const KINDS: [Plant; 15] = [
    duplicate_address,
    wrong_mask,
    outside_network,
    chained_twice,
    chain_closed_to_a_loop,
    second_address_server,
    no_querier,
    groups_on_one_mac,
    flooded_group,
    copper_too_long,
    computer_leads,
    both_networks_on_one_feed,
    control_in_another_subnet,
    energy_saving,
    wrong_medium,
];

/// Plants every fault that `plan` and `wiring` have ground for.
pub fn plant(plan: &mut Plan, wiring: &mut Wiring) -> Vec<Planted> {
    KINDS.iter().filter_map(|kind| kind(plan, wiring)).collect()
}

/// The `n`-th interface with an address on a network of the plan that carries audio.
fn audio_interface(plan: &Plan, wiring: &Wiring, n: usize) -> Option<PortRef> {
    let audio = |address: Ipv4Addr| {
        plan.networks
            .values()
            .any(|network| network.carries == loomwright_model::plan::Carries::Audio && network.subnet.is_some_and(|s| s.contains(address)))
    };
    wiring
        .interfaces
        .iter()
        .filter(|(port, interface)| port.port.as_str() != "control" && audio(interface.address.address))
        .map(|(port, _)| port.clone())
        .nth(n)
}

fn duplicate_address(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let (first, second) = (audio_interface(plan, wiring, 0)?, audio_interface(plan, wiring, 1)?);
    let subnet = wiring.interfaces[&first].address.subnet;
    // Independent ports of one device lie next to each other in the list: look for one in the same subnet.
    let second = if wiring.interfaces[&second].address.subnet == subnet { second } else { audio_interface(plan, wiring, 2)? };
    let address = wiring.interfaces[&first].address;
    wiring.interfaces.get_mut(&second)?.address = address;
    Some(Planted { code: "address/duplicate", item: Item::Port(second) })
}

fn wrong_mask(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    // The last one is planted with something else.
    let nth = if audio_interface(plan, wiring, 4).is_some() { 3 } else { 2 };
    let port = audio_interface(plan, wiring, nth)?;
    let interface = wiring.interfaces.get_mut(&port)?;
    let narrower = interface.address.subnet.prefix() + 2;
    interface.address = format!("{}/{narrower}", interface.address.address).parse().ok()?;
    Some(Planted { code: "address/wrong-mask", item: Item::Port(port) })
}

fn outside_network(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let last = (0..).map_while(|n| audio_interface(plan, wiring, n)).last()?;
    let address: InterfaceAddress = "192.168.77.9/24".parse().ok()?;
    wiring.interfaces.get_mut(&last)?.address = address;
    Some(Planted { code: "address/outside-network", item: Item::Port(last) })
}

/// Both ports of one chained device into the same switch.
fn chained_twice(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let (device, port) = plan.devices.iter().rev().find_map(|(id, device)| {
        let gear = plan.gear_of(device)?;
        let may_chain = gear.pairing.contains(&Pairing::Chained);
        let [first, _] = gear.audio_ports.as_slice() else { return None };
        may_chain.then(|| (id.clone(), first.name.clone()))
    })?;
    let here = PortRef::new(device.clone(), port);
    let (switch, network, speed_medium) = wiring.cables.values().find_map(|cable| {
        let far = other_end(cable, &here)?;
        wiring.switches.contains_key(&far.item).then(|| (far.item.clone(), cable.networks.clone(), cable.medium))
    })?;
    let second = plan.gear_of(&plan.devices[&device])?.audio_ports[1].name.clone();
    let second = PortRef::new(device.clone(), second);
    wiring.cables.retain(|_, cable| !cable.ends.contains(&second));
    wiring.interfaces.shift_remove(&second);
    let free = free_port(plan, wiring, &switch, speed_medium)?;
    wiring.settings.insert(device.clone(), Setting { pairing: Some(Pairing::Chained), ..Setting::default() });
    insert_cable(plan, wiring, "X-001", ([second, free], network))?;
    Some(Planted { code: "wiring/chained-twice", item: Item::Device(device) })
}

/// A chain without a switch whose ends are joined.
fn chain_closed_to_a_loop(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    if !wiring.switches.is_empty() {
        return None;
    }
    let used = |port: &PortRef| wiring.cables.values().any(|cable| cable.ends.contains(port));
    let free: Vec<PortRef> = plan
        .devices
        .iter()
        .flat_map(|(id, device)| {
            plan.gear_of(device)
                .into_iter()
                .flat_map(|gear| gear.audio_ports.iter())
                .map(|port| PortRef::new(id.clone(), port.name.clone()))
        })
        .filter(|port| !used(port))
        .collect();
    let [first, .., last] = free.as_slice() else { return None };
    let ends = [first.clone(), last.clone()];
    let networks = wiring.cables.values().next()?.networks.clone();
    let item = Item::Device(first.item.clone());
    insert_cable(plan, wiring, "X-002", (ends, networks))?;
    Some(Planted { code: "wiring/loop", item })
}

fn second_address_server(plan: &mut Plan, _: &mut Wiring) -> Option<Planted> {
    let routers = plan.devices.iter().filter(|(_, device)| plan.gear_of(device).is_some_and(|gear| gear.kind == GearKind::WifiRouter));
    let router = routers.map(|(id, _)| id.clone()).next()?;
    plan.devices.get_mut(&router)?.mode = Some(RouterMode::Router);
    Some(Planted { code: "address/second-dhcp-server", item: Item::Device(router) })
}

fn no_querier(_: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let network = wiring.querier.keys().next()?.clone();
    wiring.querier.shift_remove(&network);
    Some(Planted { code: "multicast/no-querier", item: Item::Network(network) })
}

fn groups_on_one_mac(_: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let mut entries = wiring.groups.iter_mut();
    let (_, first) = entries.next()?;
    let (network, address) = first.first().map(|(network, address)| (network.clone(), *address))?;
    let ((stream, _), second) = entries.find(|(_, by_network)| by_network.contains_key(&network))?;
    let [a, b, c, d] = address.octets();
    second.insert(network, Ipv4Addr::new(a, b ^ 0x80, c, d));
    Some(Planted { code: "multicast/mac-clash", item: Item::Stream(stream.clone()) })
}

fn flooded_group(_: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let ((stream, _), by_network) = wiring.groups.iter_mut().next_back()?;
    *by_network.values_mut().next()? = Ipv4Addr::new(239, 128, 0, 251);
    Some(Planted { code: "multicast/flooded-group", item: Item::Stream(stream.clone()) })
}

fn copper_too_long(_: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let (id, cable) = wiring.cables.iter_mut().find(|(_, cable)| cable.medium == Medium::Copper)?;
    cable.length = Length::from_millimetres(120_000);
    Some(Planted { code: "physical/copper-too-long", item: Item::Cable(id.clone()) })
}

fn computer_leads(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let mut typed = plan.devices.iter().filter_map(|(id, device)| Some((id, plan.gear_of(device)?)));
    let (computer, gear) = typed.find(|(_, gear)| gear.kind == GearKind::Computer)?;
    let code = if gear.clock.can_lead { "clock/computer-leads" } else { "clock/leader-cannot-lead" };
    wiring.clock.leader = Some(computer.clone());
    Some(Planted { code, item: Item::Device(computer.clone()) })
}

fn both_networks_on_one_feed(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let pair = wiring.switches.iter().find_map(|(first, one)| {
        let twin = wiring
            .switches
            .iter()
            .find(|(second, two)| *second != first && two.place == one.place && two.networks.first() != one.networks.first())?;
        Some((first.clone(), twin.0.clone(), one.place.clone()))
    });
    let (first, second, place) = pair?;
    let feed = plan.places.get(&place)?.feeds.first()?.clone();
    for switch in [&first, &second] {
        wiring.switches.get_mut(switch)?.feeds = vec![feed.clone()];
    }
    Some(Planted { code: "fate/shared-feed", item: Item::Feed(feed) })
}

/// A control function with an address of a network that its port is not on.
fn control_in_another_subnet(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let audio = audio_interface(plan, wiring, 0)?;
    let port = wiring.interfaces.keys().find(|port| port.port.as_str() == "control" && port.item != audio.item)?.clone();
    let now = wiring.interfaces[&port].address.address;
    let subnet = plan.networks.values().filter_map(|network| network.subnet).find(|subnet| !subnet.contains(now))?;
    let address = subnet.host(subnet.hosts())?;
    wiring.interfaces.get_mut(&port)?.address = InterfaceAddress { address, subnet };
    Some(Planted { code: "address/control-wrong", item: Item::Port(port) })
}

fn energy_saving(plan: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let switch = wiring.switches.last();
    let (item, gear) = match switch {
        Some((id, switch)) => (Item::Switch(id.clone()), switch.gear.clone()),
        None => plan.devices.last().map(|(id, device)| (Item::Device(id.clone()), device.gear.clone()))?,
    };
    let gear = plan.gear.get_mut(&gear)?;
    gear.energy_saving = true;
    gear.shipped = false;
    Some(Planted { code: "clock/eee", item })
}

fn wrong_medium(_: &mut Plan, wiring: &mut Wiring) -> Option<Planted> {
    let (id, cable) = wiring.cables.iter_mut().rev().find(|(id, cable)| cable.medium == Medium::Copper && !id.as_str().starts_with('X'))?;
    cable.medium = Medium::Fibre;
    Some(Planted { code: "physical/wrong-medium", item: Item::Cable(id.clone()) })
}

fn other_end<'a>(cable: &'a Cable, here: &PortRef) -> Option<&'a PortRef> {
    match &cable.ends {
        [a, b] if a == here => Some(b),
        [a, b] if b == here => Some(a),
        _ => None,
    }
}

/// The lowest free port of a switch that takes `medium`.
fn free_port(plan: &Plan, wiring: &Wiring, switch: &Id, medium: Medium) -> Option<PortRef> {
    let gear = plan.gear.get(&wiring.switches.get(switch)?.gear)?;
    let ports = gear.port_specs().into_iter().filter(|port| port.medium.takes(medium));
    let named = ports.map(|port| PortRef::new(switch.clone(), port.name));
    named.into_iter().find(|port| !wiring.cables.values().any(|cable| cable.ends.contains(port)))
}

/// Lays one more copper cable, along the routes of one that already joins the same places.
fn insert_cable(plan: &Plan, wiring: &mut Wiring, id: &str, (ends, networks): ([PortRef; 2], Vec<Id>)) -> Option<()> {
    let places = |ends: &[PortRef; 2]| ends.each_ref().map(|end| wiring.place_of(plan, &end.item).cloned());
    let [from, to] = places(&ends);
    let along = wiring.cables.values().find_map(|cable| match places(&cable.ends) {
        [a, b] if a == from && b == to => Some(cable.routes.clone()),
        [a, b] if a == to && b == from => Some(cable.routes.iter().rev().cloned().collect()),
        _ => None,
    });
    let routes = if from == to { Vec::new() } else { along? };
    let length = routes.iter().filter_map(|route| plan.routes.get(route)).map(|route| route.length).sum::<Length>()
        + Length::from_millimetres(5_000);
    let id = Id::new(id).ok()?;
    wiring.cables.insert(id, Cable { ends, networks, medium: Medium::Copper, length, routes, hold: false });
    Some(())
}
