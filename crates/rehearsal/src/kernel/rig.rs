//! The network as it is built: spaces, bridges and cables; taking away and putting back.

use super::Trouble;
use super::space::Space;
use crate::blueprint::{Blueprint, BridgeBox, Interface};
use crate::message::{Batch, BridgeSetting, NewInterface, PortState};
use crate::script::{AGEING, FORWARD_DELAY, HELLO, MAX_AGE, QUERY_INTERVAL, QUERY_RESPONSE, Step};
use loomwright_model::Time;
use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

/// Number of the loopback in every namespace.
const LOOPBACK: u32 = 1;

/// Built spaces, in the order of the blueprint.
pub(super) struct Rig {
    pub(super) spaces: Vec<Space>,
    pub(super) built_in: Duration,
}

fn hundredths(time: Time) -> u64 {
    time.picoseconds() / 10_000_000_000
}

fn new(port: &Interface) -> NewInterface<'_> {
    NewInterface { index: port.index, name: &port.name, mac: port.mac }
}

/// Settings of a bridge. Intervals: **Source**: RFC 3376 sections 8.4 and 8.5.
fn settings(bridge: &BridgeBox) -> Vec<(BridgeSetting, u64)> {
    use BridgeSetting as S;
    let mut settings = match bridge.tree {
        Some(tree) => vec![
            (S::ForwardDelay, hundredths(FORWARD_DELAY)),
            (S::HelloTime, hundredths(HELLO)),
            (S::MaxAge, hundredths(MAX_AGE)),
            (S::TreeIsOn, 1),
            (S::Priority, u64::from(tree.priority)),
        ],
        None => vec![(S::ForwardDelay, 0), (S::TreeIsOn, 0)],
    };
    settings.push((S::Ageing, hundredths(AGEING)));
    settings.push((S::Snooping, u64::from(bridge.is_snooping)));
    if bridge.is_snooping {
        let (query, response) = (hundredths(QUERY_INTERVAL), hundredths(QUERY_RESPONSE));
        settings.extend([
            (S::IgmpVersion, 3),
            (S::MembershipInterval, 2 * query + response),
            (S::QuerierInterval, 2 * query + response / 2),
            (S::QueryInterval, query),
            (S::ResponseInterval, response),
            (S::StartupInterval, response),
            (S::AskWithAddress, u64::from(bridge.address.is_some())),
            (S::Querier, u64::from(bridge.asks)),
        ]);
    }
    settings
}

impl Rig {
    /// Builds all of it. The calling thread ends up in one of the spaces: give it one of its own.
    pub(super) fn build(blueprint: &Blueprint) -> Result<Self, Trouble> {
        let start = Instant::now();
        let spaces = blueprint.spaces.iter().map(|_| Space::new()).collect::<Result<Vec<_>, _>>();
        let mut spaces = spaces.map_err(|error| Trouble::of("make a network namespace", error))?;
        let mut pairs: BTreeMap<u32, Batch> = BTreeMap::new();
        for lead in &blueprint.leads {
            let [here, there] = &lead.ends;
            let descriptor = std::os::fd::AsRawFd::as_raw_fd(&spaces[there.space as usize].handle);
            let batch = pairs.entry(here.space).or_default();
            batch.new_pair(new(&here.port), new(&there.port), (here.space != there.space).then_some(descriptor));
        }
        for (space, batch) in &pairs {
            spaces[*space as usize].netlink.do_all(batch)?;
        }
        for (at, space) in (0u32..).zip(&mut spaces) {
            space.netlink.do_all(&inside(blueprint, at))?;
        }
        Ok(Self { spaces, built_in: start.elapsed() })
    }

    /// Takes a step's items away.
    pub(super) fn take_away(&mut self, blueprint: &Blueprint, step: &Step) -> Result<(), Trouble> {
        self.switch(blueprint, step, false)
    }

    /// Puts them back.
    pub(super) fn put_back(&mut self, blueprint: &Blueprint, step: &Step) -> Result<(), Trouble> {
        self.switch(blueprint, step, true)
    }

    /// A cable goes down at one end, and the kernel takes the link from the other. Where one end belongs to a bridge it is that
    /// one, so that a device only sees what it sees on site: its link is gone.
    fn switch(&mut self, blueprint: &Blueprint, step: &Step, on: bool) -> Result<(), Trouble> {
        let mut batches: BTreeMap<u32, Batch> = BTreeMap::new();
        for lead in step.cut.iter().map(|at| &blueprint.leads[*at as usize]) {
            let end = lead.ends.iter().find(|end| end.bridge.is_some()).unwrap_or(&lead.ends[0]);
            batches.entry(end.space).or_default().switch(end.port.index, on);
        }
        // A bridge that is down forwards nothing and says nothing, while its ports keep their links.
        for bridge in step.frozen.iter().map(|at| &blueprint.bridges[*at as usize]) {
            batches.entry(bridge.space).or_default().switch(bridge.port.index, on);
        }
        for (space, batch) in &batches {
            self.spaces[*space as usize].netlink.do_all(batch)?;
        }
        Ok(())
    }

    /// What the kernel says of the ports of all bridges, by lead and end; inner ports of chained devices left out.
    pub(super) fn ports(&mut self, blueprint: &Blueprint) -> Result<BTreeMap<(u32, usize), PortState>, Trouble> {
        let mut by_interface: BTreeMap<(u32, u32), PortState> = BTreeMap::new();
        let with_bridges: BTreeSet<u32> = blueprint.bridges.iter().map(|bridge| bridge.space).collect();
        for space in with_bridges {
            let ports = self.spaces[space as usize].netlink.ports()?;
            by_interface.extend(ports.into_iter().map(|port| ((space, port.index), port)));
        }
        let ends = (0u32..).zip(&blueprint.leads).flat_map(|(at, lead)| lead.ends.iter().enumerate().map(move |(n, end)| ((at, n), end)));
        Ok(ends.filter_map(|(key, end)| Some((key, *by_interface.get(&(end.space, end.port.index))?))).collect())
    }
}

/// Everything inside one space: bridges with their ports in the planned order, the ways into devices, addresses, all up.
fn inside(blueprint: &Blueprint, space: u32) -> Batch {
    let mut batch = Batch::default();
    batch.switch(LOOPBACK, true);
    for (at, bridge) in (0u32..).zip(&blueprint.bridges).filter(|(_, bridge)| bridge.space == space) {
        batch.new_bridge(new(&bridge.port), &settings(bridge));
        for (lead, end) in blueprint.ports_of(at) {
            let end = &blueprint.leads[lead].ends[end];
            batch.join(end.port.index, bridge.port.index);
            if end.cost > 0 {
                batch.cost(end.port.index, end.cost);
            }
        }
        match bridge.address {
            Some(address) => batch.address(bridge.port.index, address),
            None => batch.hush(bridge.port.index),
        }
        batch.switch(bridge.port.index, true);
    }
    for host in blueprint.hosts.iter().filter(|host| host.space == space) {
        if let Some((bridge, inner)) = &host.behind {
            batch.new_pair(new(&host.port), new(inner), None);
            batch.join(inner.index, blueprint.bridges[*bridge as usize].port.index);
            batch.switch(inner.index, true);
        }
        host.addresses.iter().for_each(|address| batch.address(host.port.index, *address));
        batch.switch(host.port.index, true);
    }
    for end in blueprint.leads.iter().flat_map(|lead| &lead.ends).filter(|end| end.space == space && end.bridge.is_some()) {
        batch.switch(end.port.index, true);
    }
    batch
}
