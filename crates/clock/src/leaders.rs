//! Who leads in each part of the network that hears itself.

use crate::dataset::Dataset;
use loomwright_forwarding::{DeviceIx, Fabric, NetworkIx, NodeIx};
use loomwright_model::Plan;
use loomwright_model::plan::Carries;
use std::collections::BTreeMap;

/// The domain of a node that is gone.
pub const GONE: u32 = u32::MAX;

/// One part that hears itself: a network, or what a failure left together of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClockDomain {
    /// Its number, as given for its nodes.
    pub domain: u32,
    /// Networks that meet in it: one, unless networks are joined by mistake.
    pub networks: Vec<NetworkIx>,
    /// Who leads; `None` if no one here can.
    pub leader: Option<DeviceIx>,
    /// Every device with audio here and its node, the leader included, in the order of the plan.
    pub members: Vec<(DeviceIx, NodeIx)>,
}

impl ClockDomain {
    /// Nodes of its leader: one, unless networks are joined by mistake.
    pub fn leading(&self) -> impl Iterator<Item = NodeIx> {
        self.members.iter().filter(|(device, _)| Some(*device) == self.leader).map(|(_, node)| *node)
    }
}

/// Finds the leader of every domain. `domain` numbers the nodes: equal numbers hear each other, [`GONE`]
/// is not there. After a failure, give the numbers that the failure leaves: a split chain has two leaders.
/// Ordered by first network, then number. O(devices).
pub fn leaders(plan: &Plan, fabric: &Fabric, datasets: &[Option<Dataset>], domain: &[u32]) -> Vec<ClockDomain> {
    let mut found: BTreeMap<u32, ClockDomain> = BTreeMap::new();
    for (at, attachments) in fabric.audio.iter().enumerate() {
        let device = DeviceIx(at as u32);
        for attachment in attachments.iter().filter(|attachment| carries_audio(plan, attachment.network)) {
            let number = domain.get(attachment.node.0 as usize).copied().unwrap_or(GONE);
            if number == GONE {
                continue;
            }
            let empty = ClockDomain { domain: number, networks: Vec::new(), leader: None, members: Vec::new() };
            let here = found.entry(number).or_insert(empty);
            if !here.networks.contains(&attachment.network) {
                here.networks.push(attachment.network);
            }
            if here.members.last().is_none_or(|(last, _)| *last != device) {
                here.members.push((device, attachment.node));
            }
        }
    }
    let mut all: Vec<ClockDomain> = found.into_values().collect();
    for here in &mut all {
        here.networks.sort_unstable();
        here.leader = best(&here.members, datasets);
    }
    all.sort_by_key(|here| (here.networks.first().copied(), here.domain));
    all
}

pub(crate) fn best(members: &[(DeviceIx, NodeIx)], datasets: &[Option<Dataset>]) -> Option<DeviceIx> {
    let able = members.iter().filter_map(|(device, _)| Some((datasets.get(device.0 as usize)?.as_ref()?, *device)));
    able.min_by_key(|(dataset, _)| *dataset).map(|(_, device)| device)
}

pub(crate) fn carries_audio(plan: &Plan, network: NetworkIx) -> bool {
    plan.networks.get_index(network.0 as usize).is_some_and(|(_, network)| network.carries == Carries::Audio)
}
