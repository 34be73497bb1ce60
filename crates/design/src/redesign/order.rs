//! The re-patch list in a safe order: every state in between is proved, and what falls silent in it is said.

use loomwright_forwarding::{Fabric, forward};
use loomwright_model::{Id, Item, Plan, PortRef, Wiring};
use loomwright_proof::diff::compare;
use std::collections::BTreeSet;

/// Work to get from one wiring to another, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Repatch {
    /// Steps in the order of doing them. The way back is the `undo` of each, last step first.
    pub steps: Vec<RepatchStep>,
}

/// One thing to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RepatchStep {
    /// What it concerns.
    pub item: Item,
    /// What to do, in orders.
    pub says: Vec<String>,
    /// What takes it back, in orders.
    pub undo: Vec<String>,
    /// Essential streams, as `stream at device`, that are heard before and after all the work but not while a plug is out.
    pub silent_during: Vec<String>,
    /// The same, from this step on until a later one brings them back.
    pub silent_after: Vec<String>,
    /// A device that restarts to take the change; it is silent meanwhile.
    pub restarts: Option<Id>,
    /// A loop that nothing breaks until a later step opens it: do the two together.
    pub closes_loop: bool,
}

impl Repatch {
    /// Whether no essential stream that is heard before and after falls silent in between, restarts aside.
    pub fn is_quiet(&self) -> bool {
        self.steps.iter().all(|step| step.silent_during.is_empty() && step.silent_after.is_empty() && !step.closes_loop)
    }

    /// Orders for the way back, in order.
    pub fn undo(&self) -> Vec<&str> {
        self.steps.iter().rev().flat_map(|step| &step.undo).map(String::as_str).collect()
    }
}

/// Part of the wiring that changes in one go. The order is that of working: what adds first, what takes away last.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    PutIn(Id),
    Run(Id),
    SwitchSetting(Id),
    Move(Id),
    DeviceSetting(Id),
    Address(PortRef),
    Rest,
    Unplug(Id),
    TakeOut(Id),
}

/// Steps compared at each point. Own choice: beyond it the first of each kind stand for the others.
const LOOKED_AT: usize = 24;

/// Puts the work from `before` to `after` in order, judged by `plan`. At each point the step is taken that silences
/// least, while it is done and after it; of equal ones that which adds before that which takes away.
pub fn repatch(plan: &Plan, before: &Wiring, after: &Wiring) -> Repatch {
    let both: BTreeSet<Heard> = heard(plan, before).0.intersection(&heard(plan, after).0).cloned().collect();
    let mut open: BTreeSet<Part> = parts(before, after);
    let mut now = before.clone();
    let mut done = Repatch::default();
    while !open.is_empty() {
        let judged = open.iter().take(LOOKED_AT).map(|part| (judge(plan, (&now, after), part, &both), part));
        let Some((verdict, part)) = judged.min_by_key(|(verdict, part)| (verdict.harm(), (*part).clone())) else { break };
        let part = part.clone();
        open.remove(&part);
        let mut next = now.clone();
        apply(&part, &mut next, after);
        done.steps.extend(step(plan, [&now, &next], &part, verdict));
        now = next;
    }
    done
}

/// An essential stream at a receiver.
type Heard = (Id, Id);

/// What a step does on the way.
#[derive(Default)]
struct Verdict {
    during: BTreeSet<Heard>,
    after: BTreeSet<Heard>,
    storms: usize,
    /// Cables that are still in a port that the step needs.
    in_the_way: Vec<(Id, PortRef)>,
}

impl Verdict {
    fn harm(&self) -> (usize, usize, usize) {
        (self.in_the_way.len(), self.storms, self.during.len() + self.after.len())
    }
}

fn judge(plan: &Plan, (now, goal): (&Wiring, &Wiring), part: &Part, both: &BTreeSet<Heard>) -> Verdict {
    let mut next = now.clone();
    apply(part, &mut next, goal);
    let missing = |heard: &BTreeSet<Heard>| both.difference(heard).cloned().collect::<BTreeSet<Heard>>();
    let (after, storms) = heard(plan, &next);
    let during = match part {
        Part::Move(id) | Part::Unplug(id) => {
            let mut out = now.clone();
            out.cables.shift_remove(id);
            missing(&heard(plan, &out).0)
        }
        _ => BTreeSet::new(),
    };
    Verdict { during, after: missing(&after), storms, in_the_way: in_the_way(part, &next) }
}

/// Other cables at the ends of the cable that `part` plugs.
fn in_the_way(part: &Part, next: &Wiring) -> Vec<(Id, PortRef)> {
    let (Part::Run(own) | Part::Move(own)) = part else { return Vec::new() };
    let Some(cable) = next.cables.get(own) else { return Vec::new() };
    let others = || next.cables.iter().filter(|(id, _)| *id != own);
    let at = |end: &PortRef| others().find(|(_, other)| other.ends.contains(end)).map(|(id, _)| (id.clone(), end.clone()));
    cable.ends.iter().filter_map(at).collect()
}

fn heard(plan: &Plan, wiring: &Wiring) -> (BTreeSet<Heard>, usize) {
    let fabric = Fabric::new(plan, wiring);
    let forwarding = forward(plan, wiring, &fabric);
    let mut heard = BTreeSet::new();
    for flow in &forwarding.flows {
        let Some(packet) = forwarding.packets.all.get(flow.packet_stream as usize) else { continue };
        let Some((id, stream)) = plan.streams.get_index(packet.stream as usize).filter(|(_, stream)| stream.essential) else { continue };
        heard.extend(flow.deliveries.iter().filter_map(|delivery| Some((id.clone(), stream.to.get(delivery.receiver as usize)?.clone()))));
    }
    (heard, forwarding.storms.len())
}

fn parts(before: &Wiring, after: &Wiring) -> BTreeSet<Part> {
    let mut parts = BTreeSet::new();
    for id in before.switches.keys().chain(after.switches.keys()) {
        match (before.switches.get(id), after.switches.get(id)) {
            (Some(_), None) => _ = parts.insert(Part::TakeOut(id.clone())),
            (None, Some(_)) => _ = parts.insert(Part::PutIn(id.clone())),
            (one, other) if one != other => _ = parts.insert(Part::SwitchSetting(id.clone())),
            _ => {}
        }
    }
    for id in before.cables.keys().chain(after.cables.keys()) {
        match (before.cables.get(id), after.cables.get(id)) {
            (Some(_), None) => _ = parts.insert(Part::Unplug(id.clone())),
            (None, Some(_)) => _ = parts.insert(Part::Run(id.clone())),
            (one, other) if one != other => _ = parts.insert(Part::Move(id.clone())),
            _ => {}
        }
    }
    let settings = before.settings.keys().chain(after.settings.keys()).filter(|id| before.settings.get(*id) != after.settings.get(*id));
    parts.extend(settings.map(|id| Part::DeviceSetting(id.clone())));
    let interfaces = before.interfaces.keys().chain(after.interfaces.keys());
    parts.extend(
        interfaces.filter(|port| before.interfaces.get(*port) != after.interfaces.get(*port)).map(|port| Part::Address(port.clone())),
    );
    if (&before.groups, &before.clock, &before.querier) != (&after.groups, &after.clock, &after.querier) {
        parts.insert(Part::Rest);
    }
    parts
}

fn apply(part: &Part, wiring: &mut Wiring, goal: &Wiring) {
    match part {
        Part::PutIn(id) | Part::TakeOut(id) | Part::SwitchSetting(id) => replace(&mut wiring.switches, &goal.switches, id),
        Part::Run(id) | Part::Move(id) | Part::Unplug(id) => replace(&mut wiring.cables, &goal.cables, id),
        Part::DeviceSetting(id) => replace(&mut wiring.settings, &goal.settings, id),
        Part::Address(port) => replace(&mut wiring.interfaces, &goal.interfaces, port),
        Part::Rest => {
            wiring.groups.clone_from(&goal.groups);
            wiring.clock.clone_from(&goal.clock);
            wiring.querier.clone_from(&goal.querier);
        }
    }
}

fn replace<K: Clone + Eq + std::hash::Hash, V: Clone>(map: &mut indexmap::IndexMap<K, V>, goal: &indexmap::IndexMap<K, V>, key: &K) {
    match goal.get(key) {
        Some(value) => _ = map.insert(key.clone(), value.clone()),
        None => _ = map.shift_remove(key),
    }
}

/// The step in words; `None` if a person has nothing to do (a mark such as `hold` changed).
fn step(plan: &Plan, [now, next]: [&Wiring; 2], part: &Part, verdict: Verdict) -> Option<RepatchStep> {
    let orders = |from: &Wiring, to: &Wiring| compare((plan, from), (plan, to)).into_iter().map(|change| change.says).collect::<Vec<_>>();
    let (mut says, undo) = (orders(now, next), orders(next, now));
    let pull = verdict.in_the_way.iter().map(|(cable, port)| format!("First pull {cable} out of {port}; its turn comes below."));
    says.splice(0..0, pull);
    let item = match part {
        Part::PutIn(id) | Part::TakeOut(id) | Part::SwitchSetting(id) => Item::Switch(id.clone()),
        Part::Run(id) | Part::Move(id) | Part::Unplug(id) => Item::Cable(id.clone()),
        Part::DeviceSetting(id) => Item::Device(id.clone()),
        Part::Address(port) => Item::Port(port.clone()),
        Part::Rest => Item::Plan,
    };
    let pairing = |wiring: &Wiring, id: &Id| wiring.settings.get(id).and_then(|setting| setting.pairing);
    let restarts = match part {
        Part::DeviceSetting(id) if pairing(now, id) != pairing(next, id) => Some(id.clone()),
        Part::Address(port) if now.interfaces.contains_key(port) && next.interfaces.contains_key(port) => Some(port.item.clone()),
        _ => None,
    };
    let words = |heard: BTreeSet<Heard>| heard.into_iter().map(|(stream, to)| format!("{stream} at {to}")).collect();
    (!says.is_empty()).then(|| RepatchStep {
        item,
        says,
        undo,
        silent_during: words(verdict.during),
        silent_after: words(verdict.after),
        restarts,
        closes_loop: verdict.storms > 0,
    })
}
