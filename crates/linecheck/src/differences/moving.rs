//! Addresses that one table of a switch has at one port and another table at another: something moved, or frames circle.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::Mac;
use loomwright_evidence::facts::LearnedKind;
use loomwright_model::{Id, Item, PortRef};
use std::collections::{BTreeMap, BTreeSet};

/// From how many moving addresses on one switch they circle rather than that a person moved a plug. **Source**: own choice.
const SEVERAL: usize = 3;
/// Addresses whose sightings are listed. Own choice.
const LISTED: usize = 4;

/// Where the tables of one switch have one address.
type Homes = BTreeMap<PortRef, Sighting>;

/// One for each switch on which addresses move.
pub fn differences(names: &Names<'_>) -> Vec<Difference> {
    let mut tables: BTreeMap<(Id, Option<u16>, Mac), Homes> = BTreeMap::new();
    for row in names.evidence.learned.iter().filter(|row| row.kind == LearnedKind::Learned) {
        let system = row.system.as_deref().and_then(|name| names.named(name)).or_else(|| names.source(&row.seen));
        let Some((system, port)) = system.zip(row.port.as_deref()) else { continue };
        let Some(at) = names.port(system, port) else { continue };
        let sighting = || Sighting::new(names.evidence, &row.seen, format!("{at} learned {}", called(names, row.mac)));
        tables.entry((system.clone(), row.vlan, row.mac)).or_default().entry(at.clone()).or_insert_with(sighting);
    }
    let mut moving: BTreeMap<Id, Vec<(Mac, Homes)>> = BTreeMap::new();
    for ((system, _, mac), homes) in tables.into_iter().filter(|(_, homes)| homes.len() > 1) {
        moving.entry(system).or_default().push((mac, homes));
    }
    moving.into_iter().map(|(system, all)| on(names, &system, all)).collect()
}

fn called(names: &Names<'_>, mac: Mac) -> String {
    names.by_mac(mac).map_or_else(|| mac.to_string(), |id| format!("{mac} of `{id}`"))
}

fn on(names: &Names<'_>, system: &Id, all: Vec<(Mac, Homes)>) -> Difference {
    let ports: BTreeSet<(Option<u32>, &PortRef)> =
        all.iter().flat_map(|(_, homes)| homes.keys()).map(|port| (port.number(), port)).collect();
    let ports: Vec<&PortRef> = ports.into_iter().map(|(_, port)| port).collect();
    let listed: Vec<String> = ports.iter().map(ToString::to_string).collect();
    let says = match all.as_slice() {
        [(mac, _)] => format!("{} moves between {}", called(names, *mac), listed.join(" and ")),
        many => format!("{} addresses move between ports of `{system}`: {}", many.len(), listed.join(", ")),
    };
    let certainty = if all.len() >= SEVERAL { Certainty::Likely } else { Certainty::Hint };
    let items = ports.iter().map(|port| Item::Port((*port).clone())).collect();
    let remedy = format!(
        "Read the table of {system} twice, a few seconds apart. If addresses still move, frames circle through these ports: look for a loop \
         behind them. If not, a plug was moved or a standby took over between the two tables."
    );
    let sightings = all.into_iter().take(LISTED).flat_map(|(_, homes)| homes.into_values());
    Difference::new("seen/moving-address", certainty, items, says).told("every address at one port", remedy).seen(sightings)
}
