//! What `listen` asks on the wire itself: groups, addresses, address servers.

use super::Place;
use crate::arguments;
use crate::outcome::Failure;
use crate::text::count;
use loomwright_evidence::protocol::{ptp, sap};
use loomwright_listening::{Groups, Interface, ask};
use loomwright_model::{BitRate, Id, Plan, Wiring};
use std::collections::BTreeSet;
use std::net::Ipv4Addr;

/// Questions sent in one round of listening. Own choice: 100 small frames a second disturb nobody.
pub const AT_A_TIME: usize = 10;
/// Stands for everything that is planned.
pub const ALL: &str = "all";
/// Stand for the groups of clock messages and of stream announcements, which switches that snoop keep back like any other.
const CLOCK: &str = "clock";
const ANNOUNCEMENTS: &str = "announcements";
/// The number of the one DHCP question. Own choice; any will do.
const NUMBER: u32 = 0x6c6f_6f6d;

/// What was asked for on the command line.
pub struct Asking {
    groups: Vec<Ipv4Addr>,
    streams: usize,
    rate: BitRate,
    addresses: Vec<Ipv4Addr>,
    servers: bool,
}

impl Asking {
    /// Looks up streams and addresses.
    ///
    /// **Errors**: a stream is not in the plan, or has no group here.
    pub fn new(arguments: &arguments::Listen, (plan, wiring): (&Plan, &Wiring), place: &Place) -> Result<Self, Failure> {
        let streams = streams(&arguments.join, plan)?;
        let is_here = |network: &Id| place.networks.is_empty() || place.networks.contains(network);
        let rows = wiring.groups.iter().filter(|((stream, _), _)| streams.contains(stream));
        let mut groups: BTreeSet<Ipv4Addr> =
            rows.flat_map(|(_, groups)| groups.iter()).filter(|(network, _)| is_here(network)).map(|(_, group)| *group).collect();
        if groups.is_empty() && !streams.is_empty() {
            return Err(Failure::new("none of these streams has a group on this network", "Name the network with `--network`."));
        }
        let asks = |word: &str| arguments.join.iter().any(|name| name == word || name == ALL);
        groups.extend(asks(CLOCK).then_some(ptp::GROUP));
        groups.extend(asks(ANNOUNCEMENTS).then_some(sap::GROUP));
        let addresses = if arguments.ask_addresses { addresses((plan, wiring), &is_here) } else { Vec::new() };
        let rate = rate(plan, wiring, &groups);
        Ok(Self { groups: groups.into_iter().collect(), streams: streams.len(), rate, addresses, servers: arguments.ask_dhcp })
    }

    /// Whether nothing is asked.
    pub fn is_empty(&self) -> bool {
        self.groups.is_empty() && self.addresses.is_empty() && !self.servers
    }

    /// Every kind of thing that will be sent, in words.
    pub fn sends(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.groups.is_empty() {
            lines.push(format!(
                "group reports (IGMP) for {} of {}: about {} will come to this port",
                count(self.groups.len(), "group", "groups"),
                count(self.streams, "stream", "streams"),
                self.rate
            ));
        }
        if !self.addresses.is_empty() {
            lines.push(format!(
                "{} that claim nothing, one for each planned address",
                count(self.addresses.len(), "ARP probe", "ARP probes")
            ));
        }
        if self.servers {
            lines.push("one DHCP discover; no offer is taken".to_owned());
        }
        lines
    }

    /// Asks for the groups, as long as the result lives.
    ///
    /// **Errors**: the system refuses.
    pub fn join(&self, interface: &Interface) -> Result<Groups, Failure> {
        let refused = |error: std::io::Error| {
            Failure::new(format!("cannot ask for groups on {}: {error}", interface.name), "Give the interface an address first.")
        };
        Groups::join(interface, &self.groups).map_err(refused)
    }

    /// Every frame that will be sent, in order.
    pub fn frames(&self, interface: &Interface) -> Vec<Vec<u8>> {
        let servers = self.servers.then(|| ask::for_servers(interface.mac, NUMBER));
        let addresses = self.addresses.iter().map(|address| ask::who_has(interface.mac, *address));
        servers.into_iter().chain(addresses).collect()
    }
}

fn streams(names: &[String], plan: &Plan) -> Result<BTreeSet<Id>, Failure> {
    let one = |name: &String| {
        let id = Id::new(name).ok().filter(|id| plan.streams.contains_key(id));
        id.ok_or_else(|| {
            Failure::new(
                format!("no stream is called `{name}`"),
                format!("Name streams of the plan, `{CLOCK}`, `{ANNOUNCEMENTS}` or `{ALL}`."),
            )
        })
    };
    if names.iter().any(|name| name == ALL) {
        return Ok(plan.streams.keys().cloned().collect());
    }
    names.iter().filter(|name| ![CLOCK, ANNOUNCEMENTS].contains(&name.as_str())).map(one).collect()
}

fn addresses((plan, wiring): (&Plan, &Wiring), is_here: &dyn Fn(&Id) -> bool) -> Vec<Ipv4Addr> {
    let interfaces = wiring.interfaces.values().map(|one| one.address.address);
    let switches = wiring.switches.values().filter_map(|switch| Some(switch.address?.address));
    let in_range = |address: &Ipv4Addr| {
        plan.networks.iter().any(|(id, network)| is_here(id) && network.subnet.is_some_and(|subnet| subnet.contains(*address)))
    };
    let all: BTreeSet<Ipv4Addr> = interfaces.chain(switches).filter(in_range).collect();
    all.into_iter().collect()
}

/// What the groups will carry together.
fn rate(plan: &Plan, wiring: &Wiring, groups: &BTreeSet<Ipv4Addr>) -> BitRate {
    let all = loomwright_forwarding::PacketStreams::new(plan);
    let of = |stream: &Id, number: u32| {
        let index = plan.streams.get_index_of(stream)?;
        let one = all.of(index).iter().find(|one| one.number == number)?;
        Some(one.wire_rate(0, plan.streams.get(stream)?.format.sample_rate).bits_per_second())
    };
    let wanted = wiring.groups.iter().map(|((stream, number), some)| {
        let times = some.values().filter(|group| groups.contains(*group)).count();
        of(stream, *number).unwrap_or_default().saturating_mul(u64::try_from(times).unwrap_or(u64::MAX))
    });
    BitRate::from_bits_per_second(wanted.fold(0, u64::saturating_add))
}
