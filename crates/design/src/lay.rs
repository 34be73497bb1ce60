//! Names the cables, gives them their lengths and enters them into the wiring.

use crate::draft::{Draft, listed, made_name};
use crate::lengths::{self, Cut};
use crate::shared;
use crate::trunks::Run;
use loomwright_model::{Cable, Id, Item, Length, Medium};
use std::collections::BTreeMap;

/// Adds the cables, in switch and port order.
pub(crate) fn decide(draft: &mut Draft, runs: &[Run]) {
    shared::tell(draft, runs);
    let mut runs: Vec<&Run> = runs.iter().collect();
    runs.sort_by_cached_key(|run| key(draft, run));
    let letters = letters(draft);
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    let mut too_short: Vec<(Id, String)> = Vec::new();
    let cuts = cuts(draft, &runs);
    for (run, cut) in runs.into_iter().zip(cuts) {
        let mut routes = draft.ways.names(&run.way);
        if run.places[0] > run.places[1] {
            routes.reverse();
        }
        let letter = run.networks.first().and_then(|network| letters.get(network)).cloned().unwrap_or_else(|| "X".to_owned());
        let id = next_name(draft, &letter, counts.entry(letter.clone()).or_default());
        if !cut.in_stock {
            too_short.push((id.clone(), format!("{id} ({} {})", cut.length, run.medium)));
        }
        let cable =
            Cable { ends: run.ends.clone(), networks: run.networks.clone(), medium: run.medium, length: cut.length, routes, hold: false };
        draft.done.wiring.cables.insert(id, cable);
    }
    if !too_short.is_empty() {
        let texts: Vec<&String> = too_short.iter().map(|(_, text)| text).collect();
        let counted = !draft.plan.stock.copper_count.is_empty() || !draft.plan.stock.fibre_count.is_empty();
        let lacks = if counted { "is left and long enough" } else { "is long enough" };
        let says = format!("No piece in stock {lacks} for: {}.", listed(&texts, 5));
        let remedy = "Buy or make these lengths; do not join shorter pieces without a proper coupler.".to_owned();
        draft.warn("design/stock-too-short", too_short.iter().map(|(id, _)| Item::Cable(id.clone())).collect(), [says, remedy]);
    }
}

/// The length of every run: pieces that are counted are given out once.
fn cuts(draft: &Draft, runs: &[&Run]) -> Vec<Cut> {
    let mut cuts = vec![None; runs.len()];
    for copper in [true, false] {
        let medium = if copper { Medium::Copper } else { Medium::Fibre };
        let own: Vec<usize> = (0..runs.len()).filter(|at| (runs[*at].medium == Medium::Copper) == copper).collect();
        let ways: Vec<u64> = own.iter().map(|at| runs[*at].way.length).collect();
        let lying = draft.done.wiring.cables.values().filter(|cable| (cable.medium == Medium::Copper) == copper);
        let taken: Vec<Length> = lying.map(|cable| cable.length).collect();
        let found = lengths::cut_all(draft.plan, medium, &ways, &taken);
        own.into_iter().zip(found).for_each(|(at, cut)| cuts[at] = Some(cut));
    }
    cuts.into_iter().flatten().collect()
}

/// Order of cable numbers: network, then the switch in its order, then the port. Cables of a chain keep their order.
fn key(draft: &Draft, run: &Run) -> (Option<usize>, Option<usize>, bool, u32, usize) {
    let network = run.networks.first().and_then(|network| draft.plan.networks.get_index_of(network));
    let end = if run.trunk { &run.ends[0] } else { &run.ends[1] };
    let Some(switch) = draft.done.wiring.switches.get_index_of(&end.item) else { return (network, None, false, 0, 0) };
    let device = draft.plan.devices.get_index_of(&run.ends[0].item).unwrap_or(usize::MAX);
    (network, Some(switch), run.trunk, end.number().unwrap_or(0), device)
}

/// The letter of each network: its first, upper-case; its whole name where two begin alike.
fn letters(draft: &Draft) -> BTreeMap<Id, String> {
    let first = |id: &Id| id.as_str().chars().take(1).flat_map(char::to_uppercase).collect::<String>();
    let alone = |id: &Id| draft.plan.networks.keys().filter(|other| first(other) == first(id)).count() == 1;
    let letter = |id: &Id| if alone(id) { first(id) } else { id.as_str().to_uppercase() };
    draft.plan.networks.keys().map(|id| (id.clone(), letter(id))).collect()
}

fn next_name(draft: &Draft, letter: &str, count: &mut u32) -> Id {
    loop {
        *count += 1;
        let id = made_name(&format!("{letter}-{count:03}"));
        if !draft.done.wiring.cables.contains_key(&id) {
            return id;
        }
    }
}
