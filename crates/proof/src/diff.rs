//! What to do by hand to get from one wiring to another: the re-patch list.

use loomwright_model::{Cable, Device, Id, Item, Plan, PortRef, Stream, Switch, Wiring};
use serde::Serialize;

/// The order in which a crew would work: take out, put in, plug over, then set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// A cable comes out.
    Unplug,
    /// A device or switch leaves.
    TakeOut,
    /// A device or switch comes, moves to another place or is replaced.
    PutIn,
    /// A cable is run.
    Run,
    /// One end of a cable goes to another port.
    MoveEnd,
    /// A cable stays plugged as it is, and something else about it is new.
    Relay,
    /// A setting of a device or switch.
    Set,
    /// An address.
    Address,
    /// What has to be heard.
    Stream,
}

/// One thing that differs.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Change {
    /// What kind of work it is.
    pub step: Step,
    /// What it concerns.
    pub item: Item,
    /// What it was; absent for what is new.
    pub was: Option<String>,
    /// What it becomes; absent for what is taken away.
    pub becomes: Option<String>,
    /// What to do, as an order.
    pub says: String,
}

/// A plan with its wiring.
pub type State<'a> = (&'a Plan, &'a Wiring);

/// Every change from `old` to `new`, in working order. O(n log n).
pub fn compare(old: State<'_>, new: State<'_>) -> Vec<Change> {
    let mut changes = Vec::new();
    boxes(old, new, &mut changes);
    cables(old, new, &mut changes);
    settings(old, new, &mut changes);
    addresses(old.1, new.1, &mut changes);
    groups(old.1, new.1, &mut changes);
    streams(old.0, new.0, &mut changes);
    changes.sort();
    changes
}

fn change(step: Step, item: Item, (was, becomes): (Option<String>, Option<String>), says: String) -> Change {
    Change { step, item, was, becomes, says }
}

/// Two maps side by side: what is only old, what is only new, what is in both.
fn both<'a, K: std::hash::Hash + Eq, V>(
    old: &'a indexmap::IndexMap<K, V>,
    new: &'a indexmap::IndexMap<K, V>,
) -> impl Iterator<Item = (&'a K, Option<&'a V>, Option<&'a V>)> {
    let gone = old.iter().filter(|(key, _)| !new.contains_key(*key)).map(|(key, was)| (key, Some(was), None));
    gone.chain(new.iter().map(|(key, becomes)| (key, old.get(key), Some(becomes))))
}

fn boxes(old: State<'_>, new: State<'_>, changes: &mut Vec<Change>) {
    for (id, was, becomes) in both(&old.0.devices, &new.0.devices) {
        changes.extend(moved_box(Item::Device(id.clone()), was.map(place_and_gear), becomes.map(place_and_gear)));
    }
    for (id, was, becomes) in both(&old.1.switches, &new.1.switches) {
        let of = |found: &Switch| (found.place.clone(), found.gear.clone());
        changes.extend(moved_box(Item::Switch(id.clone()), was.map(of), becomes.map(of)));
    }
}

fn place_and_gear(found: &Device) -> (Id, Id) {
    (found.place.clone(), found.gear.clone())
}

fn moved_box(item: Item, was: Option<(Id, Id)>, becomes: Option<(Id, Id)>) -> Option<Change> {
    let name = item.name();
    let text = |found: &Option<(Id, Id)>| found.as_ref().map(|(place, gear)| format!("{gear} at {place}"));
    let says = match (&was, &becomes) {
        (Some((place, gear)), None) => format!("Take {name} ({gear}) out of {place}."),
        (None, Some((place, gear))) => format!("Put {name} ({gear}) into {place}."),
        (Some((from, one)), Some((to, two))) if one != two => format!("Replace {name} at {from} ({one}) by a {two} at {to}."),
        (Some((from, _)), Some((to, _))) if from != to => format!("Carry {name} from {from} to {to}."),
        _ => return None,
    };
    let step = match (&was, &becomes) {
        (_, None) => Step::TakeOut,
        _ => Step::PutIn,
    };
    Some(change(step, item, (text(&was), text(&becomes)), says))
}

fn cables((_, old): State<'_>, (_, new): State<'_>, changes: &mut Vec<Change>) {
    for (id, was, becomes) in both(&old.cables, &new.cables) {
        let item = Item::Cable(id.clone());
        match (was, becomes) {
            (Some(was), None) => {
                let says = format!("Take {id} out: {} to {}.", was.ends[0], was.ends[1]);
                changes.push(change(Step::Unplug, item, (Some(ends(was)), None), says));
            }
            (None, Some(cable)) => {
                let says =
                    format!("Run {id}: {} to {}, {} of {}{}.", cable.ends[0], cable.ends[1], cable.length, cable.medium, through(cable));
                changes.push(change(Step::Run, item, (None, Some(ends(cable))), says));
            }
            (Some(was), Some(cable)) => changed_cable(id, was, cable, changes),
            (None, None) => {}
        }
    }
}

fn ends(cable: &Cable) -> String {
    format!("{} to {}", cable.ends[0], cable.ends[1])
}

fn through(cable: &Cable) -> String {
    match cable.routes.as_slice() {
        [] => String::new(),
        routes => format!(", through {}", crate::wording::list(routes)),
    }
}

fn changed_cable(id: &Id, was: &Cable, becomes: &Cable, changes: &mut Vec<Change>) {
    let item = Item::Cable(id.clone());
    for (from, to) in moved_ends(&was.ends, &becomes.ends) {
        let says = format!("Move {id} from {from} to {to}.");
        changes.push(change(Step::MoveEnd, item.clone(), (Some(from.to_string()), Some(to.to_string())), says));
    }
    let of = |cable: &Cable| {
        format!("{} of {}{}, network {}", cable.length, cable.medium, through(cable), crate::wording::list(&cable.networks))
    };
    if of(was) != of(becomes) {
        let says = format!("Change {id} from {} to {}.", of(was), of(becomes));
        changes.push(change(Step::Relay, item, (Some(of(was)), Some(of(becomes))), says));
    }
}

/// Which end goes where. A cable has no direction: ends that only swapped their order did not move.
fn moved_ends<'a>(was: &'a [PortRef; 2], becomes: &'a [PortRef; 2]) -> Vec<(&'a PortRef, &'a PortRef)> {
    let straight: Vec<_> = was.iter().zip(becomes).filter(|(from, to)| from != to).collect();
    let crossed: Vec<_> = was.iter().zip(becomes.iter().rev()).filter(|(from, to)| from != to).collect();
    if crossed.len() < straight.len() { crossed } else { straight }
}

fn settings(old: State<'_>, new: State<'_>, changes: &mut Vec<Change>) {
    for (id, device) in &new.0.devices {
        let word = |(plan, wiring): State<'_>| {
            let device = plan.devices.get(id)?;
            wiring.pairing_of(id, device, plan.gear_of(device)?).map(|pairing| pairing.to_string())
        };
        if old.0.devices.get(id).is_some_and(|was| was.gear == device.gear) {
            changes.extend(set(Item::Device(id.clone()), "the port pairing", word(old), word(new)));
        }
        let priority =
            |wiring: &Wiring| wiring.settings.get(id).and_then(|setting| setting.clock_priority).map(|priority| priority.to_string());
        changes.extend(set(Item::Device(id.clone()), "the clock priority", priority(old.1), priority(new.1)));
    }
    for (id, was, becomes) in both(&old.1.switches, &new.1.switches) {
        let (Some(was), Some(becomes)) = (was, becomes) else { continue };
        let list = |found: &Switch| Some(crate::wording::list(&found.networks));
        changes.extend(set(Item::Switch(id.clone()), "the networks", list(was), list(becomes)));
        let priority = |found: &Switch| found.bridge_priority.map(|priority| priority.to_string());
        changes.extend(set(Item::Switch(id.clone()), "the bridge priority", priority(was), priority(becomes)));
        let ports: std::collections::BTreeSet<u32> = was.path_cost.keys().chain(becomes.path_cost.keys()).copied().collect();
        for port in ports {
            let cost = |found: &Switch| found.path_cost.get(&port).map(ToString::to_string);
            changes.extend(set(Item::Switch(id.clone()), &format!("the path cost of port {port}"), cost(was), cost(becomes)));
        }
    }
    let name = |id: &Option<Id>| id.as_ref().map(ToString::to_string);
    changes.extend(set(Item::Plan, "the clock leader", name(&old.1.clock.leader), name(&new.1.clock.leader)));
    changes.extend(set(Item::Plan, "the backup clock leader", name(&old.1.clock.backup), name(&new.1.clock.backup)));
    for (network, was, becomes) in both(&old.1.querier, &new.1.querier) {
        changes.extend(set(Item::Network(network.clone()), "the querier", was.map(ToString::to_string), becomes.map(ToString::to_string)));
    }
}

fn set(item: Item, what: &str, was: Option<String>, becomes: Option<String>) -> Option<Change> {
    if was == becomes {
        return None;
    }
    let of = match &item {
        Item::Plan => String::new(),
        item => format!(" of {}", item.name()),
    };
    let says = match (&was, &becomes) {
        (Some(was), Some(becomes)) => format!("Set {what}{of} from {was} to {becomes}."),
        (None, Some(becomes)) => format!("Set {what}{of} to {becomes}."),
        _ => format!("Set {what}{of} back to its default."),
    };
    Some(change(Step::Set, item, (was, becomes), says))
}

fn addresses(old: &Wiring, new: &Wiring, changes: &mut Vec<Change>) {
    for (port, was, becomes) in both(&old.interfaces, &new.interfaces) {
        let text = |found: Option<&loomwright_model::Interface>| found.map(|found| found.address.to_string());
        changes.extend(readdress(Item::Port(port.clone()), text(was), text(becomes)));
    }
    for (id, was, becomes) in both(&old.switches, &new.switches) {
        let text = |found: Option<&Switch>| found.and_then(|found| found.address).map(|address| address.to_string());
        changes.extend(readdress(Item::Switch(id.clone()), text(was), text(becomes)));
    }
}

fn readdress(item: Item, was: Option<String>, becomes: Option<String>) -> Option<Change> {
    let name = item.name();
    let says = match (&was, &becomes) {
        (was, becomes) if was == becomes => return None,
        (Some(was), Some(becomes)) => format!("Change the address of {name} from {was} to {becomes}; restart it if it asks for it."),
        (None, Some(becomes)) => format!("Give {name} the address {becomes}."),
        _ => format!("The address of {name} is free again."),
    };
    Some(change(Step::Address, item, (was, becomes), says))
}

fn groups(old: &Wiring, new: &Wiring, changes: &mut Vec<Change>) {
    for ((stream, number), was, becomes) in both(&old.groups, &new.groups) {
        let text = |groups: Option<&indexmap::IndexMap<Id, std::net::Ipv4Addr>>| {
            groups.map(|groups| groups.iter().map(|(network, group)| format!("{group} on {network}")).collect::<Vec<_>>().join(", "))
        };
        let (was, becomes) = (text(was), text(becomes));
        let says = match (&was, &becomes) {
            (was, becomes) if was == becomes => continue,
            (_, Some(becomes)) => format!("Set the group of {stream}.{number} to {becomes}."),
            _ => format!("The group of {stream}.{number} is free again."),
        };
        changes.push(change(Step::Address, Item::Stream(stream.clone()), (was, becomes), says));
    }
}

fn streams(old: &Plan, new: &Plan, changes: &mut Vec<Change>) {
    let text = |found: &Stream| format!("{} to {}, {} channels", found.from, crate::wording::list(&found.to), found.channels);
    for (id, was, becomes) in both(&old.streams, &new.streams) {
        let (was, becomes) = (was.map(text), becomes.map(text));
        let says = match (&was, &becomes) {
            (was, becomes) if was == becomes => continue,
            (Some(_), None) => format!("Stop {id}."),
            (_, Some(becomes)) => format!("Patch {id}: {becomes}."),
            (None, None) => continue,
        };
        changes.push(change(Step::Stream, Item::Stream(id.clone()), (was, becomes), says));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, id};
    use loomwright_model::Pairing;

    fn said(spoil: impl Fn(&mut Trial)) -> Vec<String> {
        let (old, mut new) = (Trial::good(), Trial::good());
        spoil(&mut new);
        let forth = compare((&old.plan, &old.wiring), (&new.plan, &new.wiring));
        let back = compare((&new.plan, &new.wiring), (&old.plan, &old.wiring));
        assert_eq!(forth.len(), back.len(), "as much to do forth as back");
        forth.into_iter().map(|change| change.says).collect()
    }

    #[test]
    fn the_same_needs_no_work() {
        assert_eq!(said(|_| {}), Vec::<String>::new());
        assert_eq!(said(|new| new.wiring.cables["A-001"].ends.reverse()), Vec::<String>::new());
    }

    #[test]
    fn says_which_end_moves() {
        let moved = said(|new| new.wiring.cables["A-001"].ends = ["sw-a/5", "box-1/1"].map(crate::trial::port));
        assert_eq!(moved, ["Move A-001 from sw-a/1 to sw-a/5."]);
    }

    #[test]
    fn lists_work_in_the_order_of_doing_it() {
        let work = said(|new| {
            new.device("recorder", "mono", "foh").cable("A-003", ["recorder/1", "sw-a/3"], "a").address("recorder/1", "10.1.0.13/24");
            new.unplug("B-002").set("desk", Pairing::Chained);
            new.plan.streams["mics"].to.push(id("recorder"));
        });
        let expected = [
            "Take B-002 out: desk/2 to sw-b/2.",
            "Put recorder (mono) into foh.",
            "Run A-003: recorder/1 to sw-a/3, 10 m of copper.",
            "Set the port pairing of desk from independent to chained.",
            "Give recorder/1 the address 10.1.0.13/24.",
            "Patch mics: box-1 to desk and recorder, 8 channels.",
        ];
        assert_eq!(work, expected);
    }

    #[test]
    fn every_kind_of_setting_is_seen() {
        let work = said(|new| {
            let switch = &mut new.wiring.switches["sw-a"];
            switch.bridge_priority = Some(4096);
            switch.path_cost.insert(3, 200_000);
            new.wiring.clock.leader = Some(id("box-1"));
            new.wiring.querier.insert(id("a"), id("sw-b"));
            new.group(("mics", 1), "a", "239.192.9.9").address("desk/1", "10.1.0.99/24").long("A-001", 12);
        });
        assert_eq!(work.len(), 7, "{work:#?}");
    }
}
