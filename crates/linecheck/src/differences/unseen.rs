//! What is planned and no evidence covers. Not seen is not wrong.

use super::cables::Cables;
use super::difference::{Difference, NotSeen};
use super::names::{Names, v4};
use loomwright_evidence::facts::BindingSource;
use loomwright_model::{Id, Item};
use std::collections::BTreeSet;

/// Everything that nobody looked at, in the order of the plan.
pub fn list(names: &Names<'_>, cables: &Cables, told: &[Difference]) -> Vec<NotSeen> {
    let told: BTreeSet<&Item> = told.iter().flat_map(|one| &one.items).collect();
    let mut all = unseen_cables(names, cables);
    all.extend(unseen_devices(names, cables));
    all.extend(unseen_streams(names));
    all.extend(unseen_networks(names));
    all.extend(unseen_clock(names));
    all.retain(|one| !told.contains(&one.item));
    all
}

fn unseen_cables(names: &Names<'_>, cables: &Cables) -> Vec<NotSeen> {
    let open = names.wiring.cables.iter().filter(|(id, _)| !cables.confirmed.contains(*id));
    let says = |cable: &loomwright_model::Cable| {
        format!("{} to {}: no neighbour table or forwarding table shows either end", cable.ends[0], cable.ends[1])
    };
    open.map(|(id, cable)| NotSeen { item: Item::Cable(id.clone()), says: says(cable) }).collect()
}

fn unseen_devices(names: &Names<'_>, cables: &Cables) -> Vec<NotSeen> {
    let sent = names.evidence.flows.iter().filter_map(|flow| Some(&names.by_address(flow.sender)?.item));
    // Whoever answers for its planned address is there.
    let answered = names.evidence.bindings.iter().filter(|row| row.by == BindingSource::Arp);
    let answered = answered.filter_map(|row| Some(&names.by_address(v4(row.address)?)?.item));
    let spoke: BTreeSet<&Id> = sent.chain(answered).collect();
    let open = names.plan.devices.keys().filter(|id| !cables.alive.contains(*id) && !spoke.contains(id));
    let says = "no table or capture shows it; its hardware address may not be known".to_owned();
    open.map(|id| NotSeen { item: Item::Device(id.clone()), says: says.clone() }).collect()
}

fn unseen_streams(names: &Names<'_>) -> Vec<NotSeen> {
    let evidence = names.evidence;
    let groups: BTreeSet<_> =
        evidence.received.iter().map(|row| row.group).chain(evidence.flows.iter().map(|flow| flow.destination)).collect();
    let seen: BTreeSet<&Id> = groups.iter().filter_map(|group| names.group(*group)).map(|(stream, _)| stream).collect();
    let says = "no capture or receiver's count shows it".to_owned();
    names
        .plan
        .streams
        .keys()
        .filter(|id| !seen.contains(id))
        .map(|id| NotSeen { item: Item::Stream(id.clone()), says: says.clone() })
        .collect()
}

fn unseen_networks(names: &Names<'_>) -> Vec<NotSeen> {
    let asked =
        |network: &Id| {
            names.evidence.queriers.iter().any(|row| {
                names.networks_at(&row.seen).contains(network) || names.network_of(row.address).is_some_and(|(id, _)| id == network)
            })
        };
    let open = names.wiring.querier.keys().filter(|network| !asked(network));
    open.map(|id| NotSeen { item: Item::Network(id.clone()), says: "its querier: no long capture was taken on it".to_owned() }).collect()
}

fn unseen_clock(names: &Names<'_>) -> Option<NotSeen> {
    let leader = names.wiring.clock.leader.as_ref()?;
    let nothing = names.evidence.clocks.is_empty() && names.evidence.clock_states.is_empty();
    nothing
        .then(|| NotSeen { item: Item::Device(leader.clone()), says: "whether it leads the clock: no clock message was seen".to_owned() })
}
