//! `fate/no-second-way`.

use super::fate_shared_route::place_of;
use super::*;
use loomwright_model::{Length, Medium};
use loomwright_physical::ways::Ways;
use loomwright_physical::{Apart, Extra, extra};
use std::collections::BTreeSet;

rule! {
    /// Two audio networks share a route or a hazard, and the building has no second way that would part them.
    ///
    /// Every two ways between these places meet in the same route, or where the same hazard takes both. No wiring can
    /// part the networks until one more route is opened. The finding names the shortest one that would do: between which
    /// two places, and how long it is at least, as the crow flies.
    ///
    /// **Example:** one trench is the only way from the stage to front of house.
    ///
    /// **Source**: two ways that share nothing, Suurballe 1974 and Bhandari 1999 (from memory); that A and B should lie apart is
    /// common practice, no source.
    "fate/no-second-way", check, tests::firing
}

/// Two cables, or the two legs of a stream, that meet something together.
struct Together {
    places: [usize; 2],
    medium: Medium,
    /// Who is to be parted, in words and as items.
    who: String,
    items: Vec<Item>,
}

fn check(all: &Analysis) -> Vec<Finding> {
    if all.plan.routes.is_empty() {
        return Vec::new();
    }
    let ways = Ways::new(&all.plan);
    let mut told: IndexSet<Item> = IndexSet::new();
    let mut asked: IndexSet<[usize; 2]> = IndexSet::new();
    let mut found = Vec::new();
    for together in cables(all, &ways) {
        found.extend(open(&ways, &together, &mut asked, &mut told).map(|(culprits, extra)| finding((all, &ways), &together, culprits, &extra)));
    }
    for (culprit, together) in legs(all) {
        if !told.contains(&culprit) {
            let case = open(&ways, &together, &mut asked, &mut told);
            found.extend(case.map(|(culprits, extra)| finding((all, &ways), &together, culprits, &extra)));
        }
    }
    found
}

/// The culprits between the places of `together` and the route that is missing; `None` if there are two ways already, or
/// no way at all, or somebody asked before.
fn open(ways: &Ways, together: &Together, asked: &mut IndexSet<[usize; 2]>, told: &mut IndexSet<Item>) -> Option<(Vec<Item>, Extra)> {
    let mut key = together.places;
    key.sort_unstable();
    if !asked.insert(key) {
        return None;
    }
    let extra = extra::cheapest_extra(ways, together.medium, together.places, Apart::Routes)?;
    let mut culprits: Vec<Item> =
        extra::unavoidable(ways, together.medium, together.places).into_iter().filter_map(|risk| ways.item_of(risk)).collect();
    if culprits.is_empty() {
        let pair = loomwright_physical::disjoint::pair(ways, together.medium, together.places, Apart::Routes)?;
        culprits = pair.shared.into_iter().map(Item::Hazard).collect();
    }
    told.extend(culprits.iter().cloned());
    Some((culprits, extra))
}

/// Cables of two audio networks between the same two places that share a route or a hazard.
fn cables(all: &Analysis, ways: &Ways) -> Vec<Together> {
    let mut between: IndexMap<[usize; 2], Vec<(&Id, &Cable)>> = IndexMap::new();
    for (id, cable) in all.wiring.cables.iter().filter(|(_, cable)| !cable.routes.is_empty()) {
        if let [Some(one), Some(two)] = cable.ends.each_ref().map(|end| place_of(all, &end.item)) {
            between.entry([one.min(two), one.max(two)]).or_default().push((id, cable));
        }
    }
    let audio: Vec<&Id> = all.audio_networks().collect();
    let risks: IndexMap<&Id, &BTreeSet<usize>> = ways.edges.iter().map(|edge| (&edge.route, &edge.risks)).collect();
    let of = |cable: &Cable| audio.iter().position(|network| cable.networks.contains(network));
    // The first cable of another network that meets a risk which a cable met before.
    let meet = |cables: &[(&Id, &Cable)]| {
        let mut met: IndexMap<usize, (usize, usize)> = IndexMap::new();
        for (at, (_, cable)) in cables.iter().enumerate() {
            let Some(network) = of(cable) else { continue };
            for risk in cable.routes.iter().filter_map(|route| risks.get(route)).flat_map(|risks| risks.iter()) {
                let (first, before) = *met.entry(*risk).or_insert((at, network));
                if before != network {
                    return Some((first, at));
                }
            }
        }
        None
    };
    let together = |(places, cables): (&[usize; 2], &Vec<(&Id, &Cable)>)| {
        let (one, two) = meet(cables)?;
        let [(first, one), (second, two)] = [cables[one], cables[two]];
        let name = |cable: &Cable| of(cable).map_or_else(String::new, |at| audio[at].to_string());
        let who = format!("networks {} ({first}) and {} ({second})", name(one), name(two));
        Some(Together { places: *places, medium: two.medium, who, items: vec![cable(first), cable(second)] })
    };
    between.iter().filter_map(together).collect()
}

/// Streams that one route or hazard silences on all of two or more legs, with that culprit.
fn legs(all: &Analysis) -> Vec<(Item, Together)> {
    let mut found = Vec::new();
    for (failure, loss) in all.singles.losses().iter().enumerate() {
        let culprit = loss.item();
        if !matches!(culprit, Item::Route(_) | Item::Hazard(_)) {
            continue;
        }
        let demands = all.singles.silent(failure).iter().map(|demand| &all.survival.demands()[*demand as usize]);
        let two_legged = |from: &Id, to: &Id| all.audio_networks_of(from).intersection(&all.audio_networks_of(to)).count() > 1;
        let together = demands.filter_map(|demand| {
            let from = &all.plan.streams.get(&demand.stream)?.from;
            let places = [place_of(all, from)?, place_of(all, &demand.to)?];
            let who = format!("the legs of {} to {}", demand.stream, demand.to);
            let items = vec![Item::Stream(demand.stream.clone())];
            (places[0] != places[1] && two_legged(from, &demand.to)).then_some(Together { places, medium: Medium::Fibre, who, items })
        });
        found.extend(together.take(1).map(|together| (culprit.clone(), together)));
    }
    found
}

fn finding((all, ways): (&Analysis, &Ways), together: &Together, culprits: Vec<Item>, extra: &Extra) -> Finding {
    let place = |at: usize| all.plan.places.get_index(at).map_or_else(String::new, |(id, _)| id.to_string());
    let [from, to] = together.places.map(place);
    let says = format!(
        "Every two ways from {from} to {to} meet in {}: no wiring can part {}.",
        list(culprits.iter().map(Item::name)),
        together.who
    );
    let [one, two] = extra.between.map(place);
    let length = extra.at_least.map_or_else(String::new, |length| format!(", at least {} long", Length::from_millimetres(length)));
    let along = |edge: &usize| ways.edges.get(*edge).map_or_else(|| "the new one".to_owned(), |edge| edge.route.to_string());
    let [first, second] = extra.pair.ways.each_ref().map(|way| list(way.edges.iter().map(along)));
    let sure = if extra.is_cheapest { "" } else { " A shorter one may do." };
    let remedy = format!(
        "Open a route between {one} and {two}{length}, that shares nothing with the others. One network then lies along {first}, the other along {second}.{sure}"
    );
    let items = culprits.into_iter().chain(together.items.iter().cloned()).collect();
    Finding::new((RULE.code, all.fate()), items, says, remedy).with_figures("1 way", "2 ways that share nothing").with_source(PRACTICE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    /// One hazard over both routes.
    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.routes["right"].shares = trial.plan.routes["left"].shares.clone();
    }

    fn found(trial: &Trial) -> Vec<Finding> {
        check(&Analysis::new(&trial.plan, &trial.wiring))
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn names_the_route_that_is_missing() {
        let mut trial = Trial::good();
        firing(&mut trial);
        let found = found(&trial);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(found[0].items[0].to_string(), "hazard:left-side");
        assert!(found[0].says.contains("networks a (A-002) and b (B-001)"), "{}", found[0].says);
        assert!(found[0].remedy.contains("between stage and foh, at least 30 m long"), "{}", found[0].remedy);
    }

    #[test]
    fn a_second_way_that_is_not_used_is_no_missing_way() {
        let mut trial = Trial::good();
        trial.lay("B-001", &["left"]);
        assert_eq!(found(&trial), vec![]);
    }

    /// The switch of B stands beside the sender: no two cables run between the same places, but the legs meet.
    #[test]
    fn legs_that_meet_are_told_too() {
        let mut trial = Trial::good();
        trial.plan.routes.shift_remove("right");
        trial.wiring.cables.shift_remove("B-001");
        trial.cable("B-001", ["box-1/2", "sw-b/1"], "b").lay("B-001", &["left"]);
        trial.plan.places.insert(crate::trial::id("attic"), trial.plan.places["stage"].clone());
        let mut route = trial.plan.routes["left"].clone();
        route.between = [crate::trial::id("attic"), crate::trial::id("stage")];
        trial.plan.routes.insert(crate::trial::id("shaft"), route);
        trial.wiring.switches["sw-b"].place = crate::trial::id("attic");
        trial.lay("B-001", &["shaft"]).lay("B-002", &["left", "shaft"]);
        let found = found(&trial);
        assert!(found.iter().any(|finding| finding.says.contains("the legs of mics to desk")), "{found:#?}");
    }
}
