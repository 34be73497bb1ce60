//! `address/outside-network`.

use super::*;
use loomwright_model::net::is_usable_link_local;
use loomwright_model::{InterfaceAddress, Network, Subnet};
use std::net::Ipv4Addr;

rule! {
    /// An interface's address is not one of its network's.
    ///
    /// Its neighbours believe it to be elsewhere and never find it. The first and last address of a subnet
    /// count as outside too: they name the network and everybody in it.
    ///
    /// **Example:** 10.20.1.11 on an interface that is plugged into network A, 10.10.0.0/22.
    ///
    /// **Source**: RFC 4632 (subnets), RFC 3927 (169.254.1.0 to 169.254.254.255 for link-local addresses).
    "address/outside-network", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_network: IndexMap<&Id, Vec<(Item, InterfaceAddress)>> = IndexMap::new();
    for (_, slot) in all.layout.slots().filter(|(_, slot)| slot.kind == InterfaceKind::Audio) {
        if let (Some(network), Some(set)) = (&slot.network, all.wiring.interfaces.get(&slot.port)) {
            by_network.entry(network).or_default().push((port(&slot.port), set.address));
        }
    }
    by_network.into_iter().filter_map(|(id, set)| outside(id, all.plan.networks.get(id)?, set)).collect()
}

fn outside(id: &Id, found: &Network, set: Vec<(Item, InterfaceAddress)>) -> Option<Finding> {
    let subnet = found.subnet.or_else(|| Subnet::containing(Ipv4Addr::new(169, 254, 0, 0), 16).ok())?;
    let is_host = |address| if found.subnet.is_some() { is_host_of(subnet, address) } else { is_usable_link_local(address) };
    let wrong: Vec<_> = set.into_iter().filter(|(_, set)| !is_host(set.address)).collect();
    let (first, address) = wrong.first()?;
    let says = match wrong.len() {
        1 => format!("{} has address {}, which is no host of network {id} ({subnet}).", first.name(), address.address),
        n => format!("{n} interfaces have addresses that are no hosts of network {id} ({subnet}); the first is {} with {}.", first.name(), address.address),
    };
    let remedy = format!("Give {} addresses from {subnet}.", list(wrong.iter().map(|(item, _)| item.name())));
    let value = address.to_string();
    let items = wrong.into_iter().map(|(item, _)| item).chain([network(id)]).collect();
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(value, subnet).with_source("RFC 4632"))
}

fn is_host_of(subnet: Subnet, address: Ipv4Addr) -> bool {
    subnet.contains(address) && address != subnet.base() && address != subnet.broadcast()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.address("desk/1", "10.9.0.12/24");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn the_edges_of_a_subnet_are_no_hosts() {
        let found = |address: &str| {
            let mut trial = Trial::good();
            trial.address("desk/1", address);
            check(&Analysis::new(&trial.plan, &trial.wiring)).len()
        };
        assert_eq!([found("10.1.0.0/24"), found("10.1.0.1/24"), found("10.1.0.254/24"), found("10.1.0.255/24")], [1, 0, 0, 1]);
    }
}
