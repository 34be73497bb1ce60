//! Finds the way of every cable, keeps the networks of a device apart, and enters the cables into the wiring.

use crate::disjoint;
use crate::draft::{Draft, listed, made_name};
use crate::lengths;
use crate::trunks::Run;
use crate::ways::Way;
use loomwright_model::{Cable, Id, Item, Medium, Survive};
use std::collections::{BTreeMap, BTreeSet};

/// Cables of one group, one medium, between two places (lower index first) lie together.
type Bundle = (usize, Medium, [usize; 2], bool);

fn bundle(run: &Run) -> Bundle {
    let mut places = run.places;
    places.sort_unstable();
    (run.group, run.medium, places, run.second_way)
}

/// Chooses ways and adds the cables, in switch and port order.
pub(crate) fn decide(draft: &mut Draft, runs: &[Run]) {
    let ways = ways(draft, runs);
    tell_shared(draft, &ways);
    let mut runs: Vec<&Run> = runs.iter().collect();
    runs.sort_by_cached_key(|run| key(draft, run));
    let letters = letters(draft);
    let mut counts: BTreeMap<String, u32> = BTreeMap::new();
    let mut too_short: Vec<(Id, String)> = Vec::new();
    for run in runs {
        let Some(way) = ways.get(&bundle(run)) else {
            let [from, to] = &run.ends;
            let says = format!("No route takes a {} cable from {from} to {to}.", run.medium);
            let texts = [says, format!("Add a route that takes {}.", run.medium)];
            draft.stop("design/no-way", vec![Item::Port(from.clone()), Item::Port(to.clone())], texts);
            continue;
        };
        let mut routes = draft.ways.names(way);
        if run.places[0] > run.places[1] {
            routes.reverse();
        }
        let letter = run.networks.first().and_then(|network| letters.get(network)).cloned().unwrap_or_else(|| "X".to_owned());
        let id = next_name(draft, &letter, counts.entry(letter.clone()).or_default());
        let cut = lengths::cut(draft.plan, run.medium, way.length);
        if !cut.in_stock {
            too_short.push((id.clone(), format!("{id} ({} {})", cut.length, run.medium)));
        }
        let cable =
            Cable { ends: run.ends.clone(), networks: run.networks.clone(), medium: run.medium, length: cut.length, routes, hold: false };
        draft.done.wiring.cables.insert(id, cable);
    }
    if !too_short.is_empty() {
        let texts: Vec<&String> = too_short.iter().map(|(_, text)| text).collect();
        let says = format!("No piece in stock is long enough for: {}.", listed(&texts, 5));
        let remedy = "Buy or make these lengths; do not join shorter pieces without a proper coupler.".to_owned();
        draft.warn("design/stock-too-short", too_short.iter().map(|(id, _)| Item::Cable(id.clone())).collect(), [says, remedy]);
    }
}

/// Order of cable numbers: network, then the switch in its order, then the port.
fn key(draft: &Draft, run: &Run) -> (Option<usize>, Option<usize>, bool, u32, usize) {
    let network = run.networks.first().and_then(|network| draft.plan.networks.get_index_of(network));
    let end = if run.trunk { &run.ends[0] } else { &run.ends[1] };
    let switch = draft.done.wiring.switches.get_index_of(&end.item);
    let device = draft.plan.devices.get_index_of(&run.ends[0].item).unwrap_or(usize::MAX);
    (network, switch, run.trunk, end.number().unwrap_or(0), device)
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

/// The way of every bundle: the first network by the shorter of a disjoint pair, the others as far from what is
/// laid already as the routes allow.
fn ways(draft: &Draft, runs: &[Run]) -> BTreeMap<Bundle, Way> {
    let bundles: BTreeSet<Bundle> = runs.iter().map(bundle).collect();
    let mut ways: BTreeMap<Bundle, Way> = BTreeMap::new();
    let mut laid: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    let mut order: Vec<&Bundle> = bundles.iter().collect();
    order.sort_by_key(|(group, _, _, second)| (*group, *second));
    for bundle in order {
        let (group, medium, places, second) = *bundle;
        let twin = bundles.iter().any(|(other, _, pair, late)| *pair == places && (*other != group || *late != second));
        let others: BTreeSet<usize> =
            laid.iter().filter(|(other, _)| **other != group || second).flat_map(|(_, risks)| risks).copied().collect();
        let same_pair = ways.iter().find(|((_, _, pair, _), _)| *pair == places).map(|(_, way)| draft.ways.risks(way)).unwrap_or_default();
        let mut candidates: Vec<Way> = Vec::new();
        if twin {
            candidates.extend(disjoint::pair(&draft.ways, medium, places).into_iter().flatten());
        }
        candidates.extend(draft.ways.avoiding(medium, places, &others));
        candidates.extend(draft.ways.avoiding(medium, places, &same_pair));
        let shortest = draft.ways.shortest(medium, places[0], places[1]);
        candidates.extend(shortest);
        candidates.retain(|way| lengths::within_reach(draft.plan, medium, way.length));
        let met = |way: &Way, risks: &BTreeSet<usize>| draft.ways.risks(way).intersection(risks).count();
        let first_of_pair = twin && same_pair.is_empty();
        let best = if first_of_pair && others.is_empty() && !candidates.is_empty() {
            Some(candidates.swap_remove(0))
        } else {
            candidates.into_iter().min_by_key(|way| (met(way, &same_pair), met(way, &others), way.length))
        };
        if let Some(way) = best {
            laid.entry(group).or_default().extend(draft.ways.risks(&way));
            ways.insert(*bundle, way);
        }
    }
    ways
}

/// Says which pairs of places have the cables of two networks on one way, where failures are to be survived.
fn tell_shared(draft: &mut Draft, ways: &BTreeMap<Bundle, Way>) {
    if draft.plan.targets.survive == Survive::Nothing {
        return;
    }
    let audio = crate::demand::audio_networks(draft.plan).len();
    let mut risky: BTreeMap<[usize; 2], BTreeSet<usize>> = BTreeMap::new();
    for ((group, _, places, _), way) in ways.iter().filter(|((group, ..), _)| *group < audio) {
        for ((other, _, pair, _), twin) in ways.iter().filter(|((other, ..), _)| other > group && *other < audio) {
            let shared: BTreeSet<usize> = draft.ways.risks(way).intersection(&draft.ways.risks(twin)).copied().collect();
            if pair == places && *other != *group && !shared.is_empty() {
                risky.entry(*places).or_default().extend(shared);
            }
        }
    }
    for ([from, to], risks) in risky {
        let routes: Vec<Id> = draft.plan.routes.keys().enumerate().filter(|(n, _)| risks.contains(n)).map(|(_, id)| id.clone()).collect();
        let (from, to) = (draft.place(from).clone(), draft.place(to).clone());
        let through = if routes.is_empty() { "a hazard that their routes share".to_owned() } else { listed(&routes, 4) };
        let says = format!("Between {from} and {to} both networks go through {through}: one accident there cuts both.");
        let remedy = format!("Add a route from {from} to {to} that shares nothing with it.");
        let items = [Item::Place(from), Item::Place(to)].into_iter().chain(routes.into_iter().map(Item::Route)).collect();
        draft.warn("design/shared-way", items, [says, remedy]);
    }
}
