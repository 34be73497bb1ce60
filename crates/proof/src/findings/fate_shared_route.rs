//! `fate/shared-route`.

use super::*;
use loomwright_model::Length;
use loomwright_physical::ways::Ways;
use std::collections::BTreeSet;

rule! {
    /// Cables of both audio networks lie in one route, or where one hazard takes both.
    ///
    /// One forklift, one cut, one flooded duct, and both networks are gone. Two networks want two ways round
    /// the building.
    ///
    /// **Example:** the trunks of A and B in the same trench across the audience.
    ///
    /// **Source**: common practice, no source (A and B in different trays).
    "fate/shared-route", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut lying: IndexMap<Item, Vec<&Id>> = IndexMap::new();
    for (id, found) in &all.wiring.cables {
        let routes = found.routes.iter().map(|route| Item::Route(route.clone()));
        let hazards = found.routes.iter().filter_map(|route| all.plan.routes.get(route)).flat_map(|route| &route.shares);
        let places: IndexSet<Item> = routes.chain(hazards.map(|hazard| Item::Hazard(hazard.clone()))).collect();
        places.into_iter().for_each(|place| lying.entry(place).or_default().push(id));
    }
    let found: IndexMap<Item, Finding> = lying.iter().filter_map(|(place, cables)| Some((place.clone(), shared(all, place, cables)?))).collect();
    found.iter().filter(|(place, _)| !is_told_by_route(all, place, &found)).map(|(_, finding)| finding.clone()).collect()
}

/// Whether a hazard says no more than one of its routes that is reported already.
fn is_told_by_route(all: &Analysis, place: &Item, found: &IndexMap<Item, Finding>) -> bool {
    let Item::Hazard(hazard) = place else { return false };
    all.plan.routes.iter().any(|(id, route)| route.shares.contains(hazard) && found.contains_key(&Item::Route(id.clone())))
}

fn shared(all: &Analysis, place: &Item, cables: &[&Id]) -> Option<Finding> {
    let of = |network: &Id| cables.iter().copied().find(|id| all.wiring.cables[*id].networks.contains(network));
    let audio: Vec<(&Id, &Id)> = all.audio_networks().filter_map(|network| Some((network, of(network)?))).collect();
    if audio.len() < 2 {
        return None;
    }
    let names = list(audio.iter().map(|(network, cable)| format!("{network} ({cable})")));
    let says = format!("{} {} takes cables of networks {names} together.", place.kind(), place.name());
    let remedy = remedy(all, audio[0].1, audio[audio.len() - 1].1);
    let items = std::iter::once(place.clone()).chain(cables.iter().copied().map(cable)).collect();
    let figures = (count(audio.len(), "audio network"), "1 audio network");
    Some(Finding::new((RULE.code, all.fate()), items, says, remedy).with_figures(figures.0, figures.1).with_source(PRACTICE))
}

/// Where an item stands, by the plan's order of places.
pub(super) fn place_of(all: &Analysis, item: &Id) -> Option<usize> {
    let device = || all.plan.devices.get(item).map(|device| &device.place);
    let place = all.wiring.switches.get(item).map(|switch| &switch.place).or_else(device)?;
    all.plan.places.get_index_of(place)
}

/// Names the way that a cable could take instead, if there is one that shares nothing with the other cable's.
fn remedy(all: &Analysis, stays: &Id, moves: &Id) -> String {
    let ways = Ways::new(&all.plan);
    let risks = |id: &Id| {
        let edges = ways.edges.iter().filter(|edge| all.wiring.cables[id].routes.contains(&edge.route));
        edges.flat_map(|edge| edge.risks.iter().copied()).collect::<BTreeSet<usize>>()
    };
    let free = |moves: &Id, stays: &Id| {
        let cable = &all.wiring.cables[moves];
        let [Some(from), Some(to)] = cable.ends.each_ref().map(|end| place_of(all, &end.item)) else { return None };
        let way = ways.avoiding(cable.medium, [from, to], &risks(stays)).filter(|way| ways.risks(way).is_disjoint(&risks(stays)))?;
        let (names, length) = (list(ways.names(&way)), Length::from_millimetres(way.length));
        (!way.edges.is_empty()).then(|| format!("Lay {moves} along {names} ({length}): that shares nothing with {stays}."))
    };
    free(moves, stays).or_else(|| free(stays, moves)).unwrap_or_else(|| format!("Lay {moves} another way round."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.lay("B-001", &["left"]);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_hazard_over_two_routes_is_told_once() {
        let mut trial = Trial::good();
        let shared = trial.plan.routes["left"].shares.clone();
        trial.plan.routes["right"].shares = shared;
        let found = check(&Analysis::new(&trial.plan, &trial.wiring));
        assert_eq!(found.iter().map(|finding| finding.items[0].to_string()).collect::<Vec<_>>(), ["hazard:left-side"]);
    }
}
