//! Who leads the clock of each network and how far off its followers can be, whole and after a failure.

use loomwright_clock::{ClockDomain, Dataset, Follower, GONE, datasets, follow, leaders};
use loomwright_delay::Delays;
use loomwright_forwarding::{Fabric, Forwarding, NetworkIx, NodeIx};
use loomwright_model::{Id, Item, Plan, Wiring};
use std::collections::BTreeSet;

/// The clock of a wiring that nothing has failed in.
#[derive(Debug, Clone, Default)]
pub struct Clock {
    /// What each device announces, in the order of the plan.
    pub datasets: Vec<Option<Dataset>>,
    /// Every part that hears itself.
    pub domains: Vec<ClockDomain>,
    /// Who does not lead, for each domain.
    pub followers: Vec<Vec<Follower>>,
}

impl Clock {
    /// Finds leaders and followers.
    pub(crate) fn new((plan, wiring): (&Plan, &Wiring), fabric: &Fabric, forwarding: &Forwarding, delays: &Delays) -> Self {
        let datasets = datasets(plan, wiring);
        let domains = leaders(plan, fabric, &datasets, &forwarding.domain);
        let is_open = |link: u32| forwarding.passes[link as usize];
        let waits = |direction| delays.clock_wait(direction).ok();
        let followers = domains.iter().map(|domain| follow((plan, wiring, fabric), (domain, &datasets), &is_open, &waits)).collect();
        Self { datasets, domains, followers }
    }

    /// Networks that get another leader when `items` are gone, as `network: old > new`. A device left alone
    /// leads nobody and is not listed. O(nodes + links).
    pub(crate) fn changes(&self, plan: &Plan, fabric: &Fabric, items: &BTreeSet<Item>) -> Vec<String> {
        if !self.is_touched(fabric, items) {
            return Vec::new();
        }
        let after = leaders(plan, fabric, &self.datasets, &parts(fabric, items));
        let mut changes = BTreeSet::new();
        for part in after.iter().filter(|part| part.members.len() > 1) {
            for network in &part.networks {
                let old = self.leader_of(*network, part);
                if old != part.leader {
                    let name = |leader: Option<loomwright_forwarding::DeviceIx>| {
                        leader.map_or("nobody", |at| fabric.devices[at.0 as usize].as_str())
                    };
                    changes.insert(format!("{}: {} > {}", fabric.networks[network.0 as usize], name(old), name(part.leader)));
                }
            }
        }
        changes.into_iter().collect()
    }

    /// Whom the members of `part` followed on `network` before.
    fn leader_of(&self, network: NetworkIx, part: &ClockDomain) -> Option<loomwright_forwarding::DeviceIx> {
        let was =
            |domain: &&ClockDomain| domain.networks.contains(&network) && part.members.iter().any(|member| domain.members.contains(member));
        self.domains.iter().find(was)?.leader
    }

    /// Whether losing `items` can matter: it takes a leader, or something that others hang on.
    fn is_touched(&self, fabric: &Fabric, items: &BTreeSet<Item>) -> bool {
        let leads = |id: &Id| self.domains.iter().filter_map(|domain| domain.leader).any(|at| fabric.devices[at.0 as usize] == *id);
        let is_leaf = |id: &Id| {
            let device = fabric.devices.iter().position(|known| known == id);
            device.is_some_and(|at| {
                let mut nodes = fabric.nodes_of_device(loomwright_forwarding::DeviceIx(at as u32));
                nodes.all(|node| fabric.neighbours(NodeIx(node as u32)).len() <= 1)
            })
        };
        items.iter().any(|item| match item {
            Item::Device(id) => leads(id) || !is_leaf(id),
            Item::Cable(id) => {
                let cable = fabric.cable(id).map(|at| &fabric.cables[at.0 as usize]);
                cable.is_some_and(|cable| cable.ends.iter().any(|end| leads(&end.item)) || cable.ends.iter().all(|end| !is_leaf(&end.item)))
            }
            Item::Switch(_) => true,
            _ => false,
        })
    }
}

/// Numbers the parts that still hang together once `items` are gone.
fn parts(fabric: &Fabric, items: &BTreeSet<Item>) -> Vec<u32> {
    let is_gone = |node: usize| {
        let owner = fabric.owner(NodeIx(node as u32)).clone();
        items.contains(&Item::Device(owner.clone())) || items.contains(&Item::Switch(owner))
    };
    let gone_link: Vec<bool> =
        fabric.links.iter().map(|link| items.contains(&Item::Cable(fabric.cables[link.cable.0 as usize].id.clone()))).collect();
    let mut part = vec![GONE; fabric.nodes.len()];
    let gone: Vec<bool> = (0..fabric.nodes.len()).map(is_gone).collect();
    for start in 0..fabric.nodes.len() {
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            if gone[node] || part[node] != GONE {
                continue;
            }
            part[node] = start as u32;
            let next = fabric.neighbours(NodeIx(node as u32)).iter().filter(|(link, _)| !gone_link[*link as usize]);
            open.extend(next.map(|(_, next)| next.0 as usize));
        }
    }
    part
}
