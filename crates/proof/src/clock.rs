//! Who leads the clock of each network and how far off its followers can be, whole and after a failure.

use loomwright_clock::{ClockDomain, Dataset, Expected, Follower, GONE, Gone, Splits, datasets, expect, follow, leaders};
use loomwright_delay::{Delays, System, occupied};
use loomwright_forwarding::{CableIx, DeviceIx, Direction, Fabric, Forwarding, NetworkIx, NodeIx, NodeKind, SwitchIx};
use loomwright_model::{Id, Item, Plan, Wiring};
use std::collections::{BTreeSet, HashMap};

/// The clock of a wiring that nothing has failed in.
#[derive(Debug, Clone, Default)]
pub struct Clock {
    /// What each device announces, in the order of the plan.
    pub datasets: Vec<Option<Dataset>>,
    /// Every part that hears itself.
    pub domains: Vec<ClockDomain>,
    /// Who does not lead, for each domain.
    pub followers: Vec<Vec<Follower>>,
    /// What to expect of each of them under the planned load, in the same order; not guaranteed.
    pub expected: Vec<Vec<Option<Expected>>>,
    /// Numbers of devices, switches and cables.
    index: HashMap<Item, u32>,
    splits: Splits,
    /// Nodes of the leaders.
    leads: BTreeSet<u32>,
}

/// Who announces what, and who leads by it. Found before the delays, which count the leaders' messages.
#[derive(Debug, Clone, Default)]
pub(crate) struct Leading {
    datasets: Vec<Option<Dataset>>,
    domains: Vec<ClockDomain>,
}

impl Leading {
    /// O(devices).
    pub(crate) fn new(plan: &Plan, wiring: &Wiring, fabric: &Fabric, forwarding: &Forwarding) -> Self {
        let datasets = datasets(plan, wiring);
        let domains = leaders(plan, fabric, &datasets, &forwarding.domain);
        Self { datasets, domains }
    }

    /// Nodes of all leaders.
    pub(crate) fn nodes(&self) -> Vec<NodeIx> {
        self.domains.iter().flat_map(ClockDomain::leading).collect()
    }
}

impl Clock {
    /// Finds followers, once the leaders are known.
    pub(crate) fn new(system: &System<'_>, wiring: &Wiring, delays: &Delays, Leading { datasets, domains }: Leading) -> Self {
        let System { plan, fabric, forwarding, .. } = *system;
        let is_open = |link: u32| forwarding.passes[link as usize];
        let waits = |direction| delays.clock_wait(direction).ok();
        let followers: Vec<Vec<Follower>> =
            domains.iter().map(|domain| follow((plan, wiring, fabric), (domain, &datasets), &is_open, &waits)).collect();
        let all = occupied(system);
        let occupied = |direction: Direction| all.get(direction.0 as usize).copied().unwrap_or_default();
        let expected = domains.iter().zip(&followers).map(|(domain, followers)| {
            let leader: Vec<NodeIx> = domain.leading().collect();
            let reached = expect((plan, wiring, fabric), &leader, &is_open, &occupied);
            followers.iter().map(|follower| reached[follower.node.0 as usize]).collect()
        });
        let expected = expected.collect();
        let leads = domains.iter().flat_map(ClockDomain::leading).map(|node| node.0).collect();
        Self { datasets, followers, expected, index: index(fabric), splits: Splits::new(plan, fabric), leads, domains }
    }

    /// Networks that get another leader when `items` are gone, as `network: old > new`. A device left alone
    /// leads nobody and is not listed. Costs about what is split off; O(nodes + links) where a leader is.
    pub(crate) fn changes(&self, plan: &Plan, fabric: &Fabric, items: &BTreeSet<Item>) -> Vec<String> {
        let gone = self.gone(fabric, items);
        if !self.is_touched(fabric, &gone) {
            return Vec::new();
        }
        let split = self.splits.off(fabric, &gone);
        let loses_leader = gone.nodes.iter().chain(split.iter().flatten()).any(|node| self.leads.contains(node));
        if loses_leader {
            return self.changed(fabric, &leaders(plan, fabric, &self.datasets, &parts(fabric, &gone)));
        }
        let split: Vec<ClockDomain> = split.iter().map(|nodes| self.splits.domain(&self.datasets, nodes)).collect();
        self.changed(fabric, &split)
    }

    /// Networks of which a part has another leader now.
    fn changed(&self, fabric: &Fabric, after: &[ClockDomain]) -> Vec<String> {
        let name = |leader: Option<DeviceIx>| leader.map_or("nobody", |at| fabric.devices[at.0 as usize].as_str());
        let mut changes = BTreeSet::new();
        for part in after.iter().filter(|part| part.members.len() > 1) {
            for network in &part.networks {
                let old = self.leader_of(*network, part);
                if old != part.leader {
                    changes.insert(format!("{}: {} > {}", fabric.networks[network.0 as usize], name(old), name(part.leader)));
                }
            }
        }
        changes.into_iter().collect()
    }

    fn gone(&self, fabric: &Fabric, items: &BTreeSet<Item>) -> Gone {
        let mut gone = Gone::default();
        for item in items {
            match (item, self.index.get(item)) {
                (Item::Device(_), Some(at)) => gone.nodes.extend(fabric.nodes_of_device(DeviceIx(*at)).map(|node| node as u32)),
                (Item::Switch(_), Some(at)) => gone.nodes.extend(fabric.nodes_of_switch(SwitchIx(*at)).map(|node| node as u32)),
                (Item::Cable(_), Some(at)) => gone.links.extend(fabric.links_of(CableIx(*at)).map(|link| link as u32)),
                _ => {}
            }
        }
        gone
    }

    /// Whom the members of `part` followed on `network` before.
    fn leader_of(&self, network: NetworkIx, part: &ClockDomain) -> Option<DeviceIx> {
        let was =
            |domain: &&ClockDomain| domain.networks.contains(&network) && part.members.iter().any(|member| domain.members.contains(member));
        self.domains.iter().find(was)?.leader
    }

    /// Whether losing all this can matter: it takes a leader, or something that others hang on.
    fn is_touched(&self, fabric: &Fabric, gone: &Gone) -> bool {
        let leads = |node: u32| {
            self.domains.iter().filter_map(|domain| domain.leader).any(|at| fabric.nodes_of_device(at).contains(&(node as usize)))
        };
        let is_leaf = |node: u32| {
            let is_end = matches!(fabric.nodes[node as usize].kind, NodeKind::Interface(..) | NodeKind::Chained(_));
            is_end && fabric.neighbours(NodeIx(node)).len() <= 1
        };
        let node = |node: u32| leads(node) || !is_leaf(node);
        let link = |link: u32| {
            let ends = fabric.links[link as usize].nodes;
            ends.iter().any(|end| leads(end.0)) || ends.iter().all(|end| !is_leaf(end.0))
        };
        gone.nodes.iter().any(|at| node(*at)) || gone.links.iter().any(|at| link(*at))
    }
}

fn index(fabric: &Fabric) -> HashMap<Item, u32> {
    let numbered = |ids: &[Id], item: fn(Id) -> Item| ids.iter().cloned().map(item).zip(0..).collect::<Vec<_>>();
    let cables: Vec<Id> = fabric.cables.iter().map(|cable| cable.id.clone()).collect();
    let all = [numbered(&fabric.devices, Item::Device), numbered(&fabric.switches, Item::Switch), numbered(&cables, Item::Cable)];
    all.into_iter().flatten().collect()
}

/// Numbers the parts that still hang together once `gone` is.
fn parts(fabric: &Fabric, gone: &Gone) -> Vec<u32> {
    let mut part = vec![GONE; fabric.nodes.len()];
    let mut is_done = vec![false; fabric.nodes.len()];
    gone.nodes.iter().for_each(|node| is_done[*node as usize] = true);
    for start in 0..fabric.nodes.len() {
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            if std::mem::replace(&mut is_done[node], true) {
                continue;
            }
            part[node] = start as u32;
            let next = fabric.neighbours(NodeIx(node as u32)).iter().filter(|(link, _)| !gone.links.contains(link));
            open.extend(next.map(|(_, next)| next.0 as usize));
        }
    }
    part
}

#[cfg(test)]
mod tests {
    use crate::trial::Trial;
    use loomwright_model::Item;

    fn changes(trial: &Trial, items: &[&str]) -> Vec<String> {
        let analysis = crate::Analysis::new(&trial.plan, &trial.wiring);
        let items: Vec<Item> =
            items.iter().map(|item| crate::resolve_item(&trial.plan, &trial.wiring, item).expect("a known item")).collect();
        crate::whatif(&analysis, &items).clock_changes
    }

    #[test]
    fn the_backup_takes_over() {
        let mut trial = Trial::good();
        trial.device("third", "mono", "stage").cable("A-003", ["third/1", "sw-a/3"], "a");
        assert_eq!(changes(&trial, &["desk"]), ["a: desk > box-1"]);
        assert_eq!(changes(&trial, &["A-002"]), ["a: desk > box-1"]);
        assert_eq!(changes(&trial, &["third"]), Vec::<String>::new());
        assert_eq!(changes(&trial, &["box-1"]), Vec::<String>::new());
    }

    /// Against numbering every part anew, as it was done before anybody cared for the time.
    #[test]
    fn looking_only_at_what_is_split_off_finds_the_same() {
        let mut trial = Trial::good();
        trial.chain("sw-a/3", 6);
        let analysis = crate::Analysis::new(&trial.plan, &trial.wiring);
        let items: Vec<Item> = crate::lookup::items(&trial.plan, &trial.wiring);
        let clock = &analysis.clock;
        let mut compared = 0;
        for one in &items {
            for other in &items {
                let lost = [one.clone(), other.clone()].into();
                let gone = clock.gone(&analysis.fabric, &lost);
                let all = super::leaders(&analysis.plan, &analysis.fabric, &clock.datasets, &super::parts(&analysis.fabric, &gone));
                let found = clock.changes(&analysis.plan, &analysis.fabric, &lost);
                if clock.is_touched(&analysis.fabric, &gone) {
                    assert_eq!(found, clock.changed(&analysis.fabric, &all), "{one} and {other}");
                    compared += usize::from(!found.is_empty());
                }
            }
        }
        assert!(compared > 20, "only {compared} pairs change a leader");
    }

    #[test]
    fn a_broken_chain_gets_a_second_leader() {
        let mut trial = Trial::good();
        trial.chain("sw-a/3", 4);
        assert_eq!(changes(&trial, &["C-003"]), ["a: desk > c3"]);
        assert_eq!(changes(&trial, &["C-004"]), Vec::<String>::new());
        assert_eq!(changes(&trial, &["c2"]), ["a: desk > c3"]);
    }
}
