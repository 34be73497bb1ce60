//! Cables that are not there: a link that is down, or a part of the network that is silent behind one cable.

use super::cables::Cables;
use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::Received;
use loomwright_model::{Id, Item};
use std::collections::{BTreeMap, BTreeSet};

/// Every cable that seems to be missing.
pub fn differences(names: &Names<'_>, cables: &Cables) -> Vec<Difference> {
    let mut found = links_down(names);
    let told: BTreeSet<Item> = found.iter().flat_map(|one| one.items.iter().cloned()).collect();
    found.extend(silent_parts(names, cables).into_iter().filter(|one| !one.items.iter().any(|item| told.contains(item))));
    found
}

fn links_down(names: &Names<'_>) -> Vec<Difference> {
    let mut found: BTreeMap<Id, Difference> = BTreeMap::new();
    for row in names.evidence.ports.iter().filter(|row| row.is_up == Some(false)) {
        let system = row.system.as_deref().and_then(|name| names.named(name)).or_else(|| names.source(&row.seen));
        let Some(port) = system.and_then(|system| names.port(system, &row.name)) else { continue };
        let Some((cable, far)) = names.cable(&port) else { continue };
        let sighting = Sighting::new(names.evidence, &row.seen, format!("{port} reports that its link is down"));
        let new = || {
            let items = vec![Item::Cable(cable.clone()), Item::Port(port.clone()), Item::Port(far.clone())];
            let says = format!("No link on cable {cable}: {port} is down");
            Difference::new("seen/missing-cable", Certainty::Certain, items, says)
                .told(
                    format!("cable {cable} from {port} to {far}"),
                    format!("Check plugs and cable {cable}, and that {} has power.", far.item),
                )
                .loud()
        };
        let one = found.remove(cable).unwrap_or_else(new).seen([sighting]);
        found.insert(cable.clone(), one);
    }
    found.into_values().collect()
}

/// Boxes that nobody saw alive and whose streams did not come, and the cables between them and the boxes that were seen.
fn silent_parts(names: &Names<'_>, cables: &Cables) -> Vec<Difference> {
    let alive = alive(names, cables);
    let mut silent: BTreeMap<Id, Vec<&Received>> = BTreeMap::new();
    for id in names.plan.devices.keys().filter(|id| !alive.contains(*id)) {
        let rows: Vec<&Received> = names.evidence.received.iter().filter(|row| concerns(names, row, id)).collect();
        if !rows.is_empty() && rows.iter().all(|row| row.packets == 0) {
            silent.insert(id.clone(), rows);
        }
    }
    let between = names.wiring.cables.iter().filter(|(_, cable)| {
        let [one, other] = cable.ends.each_ref().map(|end| silent.contains_key(&end.item));
        let [one_lives, other_lives] = cable.ends.each_ref().map(|end| alive.contains(&end.item));
        (one && other_lives) || (other && one_lives)
    });
    between.map(|(id, cable)| cut(names, (id, cable), &silent)).collect()
}

fn concerns(names: &Names<'_>, row: &Received, id: &Id) -> bool {
    let stream = names.group(row.group).and_then(|(stream, _)| names.plan.streams.get(stream));
    names.receiver(&row.host) == Some(id) || stream.is_some_and(|stream| stream.from == *id)
}

fn alive(names: &Names<'_>, cables: &Cables) -> BTreeSet<Id> {
    let evidence = names.evidence;
    let mut alive = cables.alive.clone();
    let by_address = |address| names.by_address(address).map(|port| port.item.clone());
    alive.extend(evidence.flows.iter().filter_map(|flow| by_address(flow.sender)));
    alive.extend(evidence.memberships.iter().filter_map(|row| by_address(row.host)));
    alive.extend(evidence.clocks.iter().filter_map(|row| names.by_clock(row.identity).cloned()));
    alive.extend(evidence.received.iter().filter(|row| row.packets > 0).filter_map(|row| names.receiver(&row.host).cloned()));
    alive.extend(evidence.systems.iter().filter_map(|row| names.named(row.name.as_deref()?).cloned()));
    alive
}

fn cut(names: &Names<'_>, (id, cable): (&Id, &loomwright_model::Cable), silent: &BTreeMap<Id, Vec<&Received>>) -> Difference {
    let quiet: Vec<&str> = silent.keys().map(Id::as_str).collect();
    let [one, other] = &cable.ends;
    let mut rows: Vec<&Received> = silent.values().flatten().copied().collect();
    rows.sort_by_key(|row| (row.seen.source, row.seen.spot));
    rows.dedup_by_key(|row| (row.seen.source, row.seen.spot));
    let sightings = rows
        .iter()
        .map(|row| Sighting::new(names.evidence, &row.seen, format!("{} got no packet of {}:{}", row.host, row.group, row.udp_port)));
    let mut items = vec![Item::Cable(id.clone()), Item::Port(one.clone()), Item::Port(other.clone())];
    items.extend(silent.keys().cloned().map(Item::Device));
    let says = format!("Cable {id} seems to be missing or dead: nothing was seen of {} behind it", quiet.join(", "));
    Difference::new("seen/missing-cable", Certainty::Likely, items, says)
        .told(format!("cable {id} from {one} to {other}"), format!("Check cable {id} at {one} and {other}, and the power behind it."))
        .seen(sightings)
        .loud()
}
