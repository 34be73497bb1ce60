//! How much each box that forwards may have to keep in its queues, against the memory its gear states.

use crate::analysis::Analysis;
use loomwright_forwarding::{Direction, NodeKind};
use loomwright_model::{ByteCount, Gear, Id, Item};
use std::collections::BTreeMap;

/// The queues of one box.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Memory<'a> {
    /// The switch, router or chained device.
    pub item: Item,
    /// Its gear type.
    pub gear: &'a Id,
    /// All its queues at their fullest; `None` where one has no bound. They never are all at once, so it is an
    /// upper bound.
    pub needed: Option<ByteCount>,
    /// The queue that needs most, and how much.
    pub fullest: (Direction, ByteCount),
    /// What its gear states, shared by all ports.
    pub stated: Option<ByteCount>,
}

/// Every box that forwards a stream, by item. O(directions).
pub fn memories(all: &Analysis) -> Vec<Memory<'_>> {
    let mut found: BTreeMap<Item, Memory<'_>> = BTreeMap::new();
    for (direction, _) in all.loads() {
        let Some((item, id, gear)) = forwarder(all, direction) else { continue };
        let backlog = all.delays.backlog(direction);
        let empty = Memory {
            item: item.clone(),
            gear: id,
            needed: Some(ByteCount::ZERO),
            fullest: (direction, ByteCount::ZERO),
            stated: gear.buffer,
        };
        let memory = found.entry(item).or_insert(empty);
        memory.needed = memory.needed.zip(backlog).map(|(sum, more)| ByteCount::from_bytes(sum.bytes().saturating_add(more.bytes())));
        if let Some(backlog) = backlog.filter(|backlog| *backlog > memory.fullest.1) {
            memory.fullest = (direction, backlog);
        }
    }
    found.into_values().collect()
}

/// The box that a direction leaves, if it forwards; an endpoint's own queue is its own affair.
fn forwarder(all: &Analysis, direction: Direction) -> Option<(Item, &Id, &Gear)> {
    let cable = all.fabric.links_of(direction.cable()).start;
    let node = all.fabric.links.get(cable)?.nodes[direction.from_end()];
    let owner = all.fabric.owner(node);
    let (id, gear) = match all.wiring.switches.get(owner) {
        Some(switch) => all.plan.gear.get_key_value(&switch.gear)?,
        None => all.plan.gear.get_key_value(&all.plan.devices.get(owner)?.gear)?,
    };
    match all.fabric.nodes[node.0 as usize].kind {
        NodeKind::Switch(_) => Some((Item::Switch(owner.clone()), id, gear)),
        NodeKind::Router(_) | NodeKind::Chained(_) => Some((Item::Device(owner.clone()), id, gear)),
        NodeKind::Interface(..) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::Trial;

    #[test]
    fn a_switch_needs_room_for_what_meets_at_its_ports() {
        let mut trial = Trial::good();
        trial.stream("more", "box-1", &["desk"], 8).chain("sw-a/3", 2).stream("end", "c2", &["desk"], 8);
        let all = Analysis::new(&trial.plan, &trial.wiring);
        let memories = memories(&all);
        let names: Vec<String> = memories.iter().map(|memory| memory.item.to_string()).collect();
        assert_eq!(names, ["switch:sw-a", "switch:sw-b", "device:c1", "device:c2"]);
        let sw_a = &memories[0];
        // Towards the desk at least the last packet of each of the three streams can meet: 1230 bytes each on the wire.
        assert!(sw_a.fullest.1.bytes() >= 3 * 1_230, "{:?}", sw_a.fullest);
        assert!(sw_a.needed.is_some_and(|needed| needed >= sw_a.fullest.1));
        assert_eq!(all.fabric.to_port(sw_a.fullest.0).to_string(), "desk/1");
    }
}
