//! What is taken away, in which order, what is expected then, and for how long to watch. Pure.

use crate::blueprint::Blueprint;
use loomwright_forwarding::{CableIx, Fabric, Removed, SwitchIx, Tree, forward, tree_without};
use loomwright_model::{Id, Item, Plan, SpanningTree, Time, Wiring};
use loomwright_survival::{Gap, Loss, Survival, Timers};
use std::collections::BTreeSet;

/// Timers that the bridges of the rehearsal are set to: the shortest that the kernel takes, so that a rehearsal ends on the same
/// day. **Source**: Linux refuses hello below 1 s, max age below 6 s and forward delay below 2 s while a tree runs (tried on
/// 6.18). Membership: own choice; the intervals follow RFC 3376 sections 8.4 and 8.5.
pub const HELLO: Time = Time::from_milliseconds(1_000);
/// How long the word of a lost root is believed.
pub const MAX_AGE: Time = Time::from_milliseconds(6_000);
/// Time in each of listening and learning.
pub const FORWARD_DELAY: Time = Time::from_milliseconds(2_000);
/// Between two membership questions.
pub const QUERY_INTERVAL: Time = Time::from_milliseconds(2_000);
/// Time in which members answer.
pub const QUERY_RESPONSE: Time = Time::from_milliseconds(1_000);

/// How long a bridge believes where an address is that it no longer hears. Own choice: streams refresh it many times over.
pub const AGEING: Time = Time::from_milliseconds(4_000);

/// The timers of the rehearsal as the prediction takes them. A pulled veth is seen at once.
pub fn timers() -> Timers {
    Timers {
        max_age: MAX_AGE,
        forward_delay: FORWARD_DELAY,
        ageing: AGEING,
        query_interval: QUERY_INTERVAL,
        query_response: QUERY_RESPONSE,
        link_loss: Time::from_milliseconds(100),
        ..Timers::default()
    }
}

/// How long a step is watched before the verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Patience {
    /// Nothing can change after the first moment: no box between that learns or decides.
    Short,
    /// Members may be forgotten, a querier may be missed.
    Members,
    /// A spanning tree may find another way.
    Tree,
}

impl Patience {
    /// How long. Members: RFC 3376 section 8.4 with the timers above gives 5 s, and a second for the rest. Tree: max age,
    /// twice the forward delay, ageing (longer than a question and its answer), and two seconds and a half for a busy machine. Short: own choice.
    pub const fn time(self) -> Time {
        Time::from_milliseconds(match self {
            Self::Short => 700,
            Self::Members => 6_500,
            Self::Tree => 16_500,
        })
    }
}

/// One thing that is taken away.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What.
    pub loss: Loss,
    /// Leads that go down, as indexes into the blueprint's.
    pub cut: Vec<u32>,
    /// Bridges that stop forwarding while their links stay up.
    pub frozen: Vec<u32>,
    /// What goes dark with it: boxes without power, and cables.
    pub gone_too: Vec<Item>,
    /// What is expected.
    pub expected: Expected,
    /// Whether it takes a way between two bridges.
    pub touches_bridges: bool,
}

/// What the prediction says of one step.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Expected {
    /// Whether each leg of the cast arrives once the network has found itself again.
    pub heard: Vec<bool>,
    /// Demands that are silent at once and come back, with an upper bound of the time between for the timers above.
    pub gaps: Vec<(u32, Gap)>,
}

/// Everything that is taken away, one after the other.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Script {
    /// What is expected with nothing taken away.
    pub intact: Expected,
    /// Ports that the tree is expected to shut while all is whole, as (lead, end).
    pub blocked: BTreeSet<(u32, usize)>,
    /// The steps.
    pub steps: Vec<Step>,
}

/// The plan as it is rehearsed: every spanning tree is the kernel's classic one, which agrees on the same tree more slowly.
pub fn as_rehearsed(plan: &Plan) -> Plan {
    let mut plan = plan.clone();
    for gear in plan.gear.values_mut().filter(|gear| gear.spanning_tree == SpanningTree::Rapid) {
        gear.spanning_tree = SpanningTree::Classic;
    }
    plan
}

impl Script {
    /// Every single failure that `wanted` picks: by default cables, switches without power, frozen switches and devices.
    pub fn new((plan, wiring): (&Plan, &Wiring), fabric: &Fabric, survival: &Survival, blueprint: &Blueprint) -> Self {
        let mut blocked = BTreeSet::new();
        for (cable, end) in forward(plan, wiring, fabric).tree.blocked_ports {
            blocked.extend(fabric.links_of(cable).map(|link| (link as u32, end)));
        }
        let singles = survival.single_failures();
        let losses = singles.losses().iter().enumerate();
        let mut steps: Vec<Step> =
            losses.map(|(at, loss)| step(loss, survival, survival.effect_of(&singles, at).gaps, blueprint)).collect();
        let has_tree = !fabric.bridges.is_empty();
        steps.iter_mut().filter(|_| has_tree).for_each(|step| step.add_pauses(fabric, survival, blueprint));
        Self { intact: Expected { heard: survival.signs(&[]).heard, gaps: Vec::new() }, blocked, steps }
    }

    /// Keeps only the steps that are wanted: the names given, or else cables, switches and devices.
    pub fn keep_only(&mut self, wanted: &[Item]) {
        let by_default = |item: &Item| matches!(item, Item::Cable(_) | Item::Switch(_) | Item::Device(_));
        self.steps.retain(|step| {
            let item = step.loss.item();
            if wanted.is_empty() { by_default(&item) } else { wanted.contains(&item) }
        });
    }
}

/// The failure graph of the rehearsed plan, with the rehearsal's timers.
pub fn survival(plan: &Plan, wiring: &Wiring, fabric: &Fabric) -> Survival {
    let now = forward(plan, wiring, fabric);
    Survival::new(plan, wiring, fabric, &now.blocked).with_tree(fabric, &now.tree).with_timers(timers())
}

fn step(loss: &Loss, survival: &Survival, gaps: Vec<(u32, Gap)>, blueprint: &Blueprint) -> Step {
    let signs = survival.signs(std::slice::from_ref(loss));
    let dark: BTreeSet<Option<u32>> = signs.taken.dark.iter().map(|item| named(item).and_then(|id| blueprint.space_of(id))).collect();
    let broken = &signs.taken.broken;
    let is_cut = |lead: &crate::blueprint::Lead| {
        broken.contains(&blueprint.cables[lead.cable.0 as usize]) || lead.ends.iter().any(|end| dark.contains(&Some(end.space)))
    };
    let cut: Vec<u32> = (0u32..).zip(&blueprint.leads).filter(|(_, lead)| is_cut(lead)).map(|(at, _)| at).collect();
    let frozen_space = if let Loss::Frozen(id) = loss { blueprint.space_of(id) } else { None };
    let bridges = (0u32..).zip(&blueprint.bridges);
    let frozen: Vec<u32> = bridges.filter(|(_, bridge)| Some(bridge.space) == frozen_space).map(|(at, _)| at).collect();
    let is_between = |lead: &crate::blueprint::Lead| lead.ends.iter().all(|end| end.bridge.is_some());
    let touches = |lead: &crate::blueprint::Lead| lead.ends.iter().any(|end| Some(end.space) == frozen_space);
    let touches_bridges = cut.iter().any(|at| is_between(&blueprint.leads[*at as usize]))
        || blueprint.leads.iter().any(|lead| touches(lead) && is_between(lead));
    let itself = loss.item();
    let gone_too = signs.taken.dark.iter().cloned().chain(broken.iter().cloned().map(Item::Cable)).filter(|item| *item != itself).collect();
    Step { loss: loss.clone(), cut, frozen, gone_too, expected: Expected { heard: signs.heard, gaps }, touches_bridges }
}

fn named(item: &Item) -> Option<&Id> {
    match item {
        Item::Device(id) | Item::Switch(id) => Some(id),
        _ => None,
    }
}

impl Step {
    /// What is taken away, for the spanning tree.
    fn removed(&self, fabric: &Fabric, blueprint: &Blueprint) -> Removed {
        let mut removed = Removed { cables: self.cut.iter().map(|at| blueprint.leads[*at as usize].cable).collect(), ..Removed::default() };
        removed.frozen = self.frozen.iter().map(|at| blueprint.bridges[*at as usize].node).collect();
        let is_off = |id: &Id| self.loss.item() == Item::Switch(id.clone()) && !self.loss.is_frozen();
        for (at, _) in fabric.switches.iter().enumerate().filter(|(_, id)| is_off(id)) {
            removed = removed.with_dead_switch(fabric, SwitchIx(at as u32));
        }
        removed
    }

    /// Pauses of streams that no cut touches: when the tree settles otherwise, it closes ways before it opens others, and questions
    /// come from another side. Without a change of the tree there are none.
    fn add_pauses(&mut self, fabric: &Fabric, survival: &Survival, blueprint: &Blueprint) {
        let shut_in = |tree: &Tree| {
            let mut shut = vec![false; fabric.links.len()];
            tree.blocked_ports.iter().for_each(|(cable, _)| fabric.links_of(*cable).for_each(|link| shut[link] = true));
            shut
        };
        let [before, after] = [tree_without(fabric, &Removed::default()), tree_without(fabric, &self.removed(fabric, blueprint))];
        let gone: BTreeSet<CableIx> = self.cut.iter().map(|at| blueprint.leads[*at as usize].cable).collect();
        // A port that was shut and now leads to the root is a change, although it stands in both trees.
        let left = |ports: &[(CableIx, usize)]| -> BTreeSet<(CableIx, usize)> {
            ports.iter().filter(|(cable, _)| !gone.contains(cable)).copied().collect()
        };
        let is_same = left(&before.blocked_ports) == left(&after.blocked_ports) && left(&before.root_ports) == left(&after.root_ports);
        if before.roots.first() == after.roots.first() && is_same {
            return;
        }
        let shut: Vec<bool> = shut_in(&before).into_iter().zip(shut_in(&after)).map(|(before, after)| before || after).collect();
        let losses = std::slice::from_ref(&self.loss);
        let (finally, meanwhile) = (survival.heard_without(losses), survival.heard_while_shut(losses, &shut));
        let snoops = blueprint.bridges.iter().any(|bridge| bridge.is_snooping);
        for (at, demand) in (0u32..).zip(survival.demands()) {
            let asks = demand.is_multicast && snoops;
            let members = if asks { QUERY_INTERVAL + QUERY_RESPONSE } else { AGEING };
            let tree = match (finally[at as usize], meanwhile[at as usize]) {
                (true, false) => MAX_AGE + FORWARD_DELAY.times(2),
                // A bridge takes in questions while its port still learns, and passes them on only afterwards (seen on Linux 6.18).
                (true, true) if asks => FORWARD_DELAY,
                _ => continue,
            };
            if self.expected.gaps.iter().all(|(known, _)| *known != at) {
                self.expected.gaps.push((at, Gap { tree, members }));
            }
        }
    }

    /// How long to watch: as long as anything that is built could still change its mind. `has_spare` is what the kernel says:
    /// some port is shut by a tree.
    pub fn patience(&self, blueprint: &Blueprint, has_spare: bool) -> Patience {
        let has = |is: fn(&crate::blueprint::BridgeBox) -> bool| blueprint.bridges.iter().any(is);
        match self.touches_bridges {
            true if has_spare && has(|bridge| bridge.tree.is_some()) => Patience::Tree,
            true if has(|bridge| bridge.is_snooping) => Patience::Members,
            _ => Patience::Short,
        }
    }
}
