//! Small plans against trying every placement and every core.

use super::*;
use crate::placement::bound;
use crate::plans::{Dice, add_device, add_network, add_place, add_route, add_stream, empty};
use loomwright_model::{Medium, Plan, Survive, Wiring};
use std::collections::{BTreeMap, BTreeSet};

/// Two to four places in a row with a second way between most, one or two networks, a few devices in each.
fn small(seed: u64) -> Plan {
    let mut dice = Dice(seed);
    let mut plan = empty();
    plan.targets.survive = if dice.one_in(3) { Survive::Nothing } else { Survive::AnyOne };
    add_network(&mut plan, "a", "10.10.0.0/22", None);
    add_network(&mut plan, "b", "10.20.0.0/22", None);
    let places = 2 + dice.below(2);
    for n in 0..places {
        add_place(&mut plan, &format!("p{n}"), &["mains", "ups"]);
        for way in 0..if n > 0 { 1 + dice.below(3) } else { 0 } {
            let between = [format!("p{}", dice.below(n)), format!("p{n}")];
            let takes = [Medium::Copper, Medium::Fibre];
            add_route(&mut plan, &format!("r{n}-{way}"), between.each_ref().map(String::as_str), (6 + dice.below(50), &takes, &[]));
        }
        for device in 0..1 + dice.below(6) {
            let gear = ["stage-box", "stage-box", "amp", "panel"][dice.below(4) as usize];
            add_device(&mut plan, &format!("d{n}-{device}"), gear, &format!("p{n}"));
        }
    }
    add_stream(&mut plan, "s", ("d0-0", &["d1-0"]), true);
    plan
}

/// Everything that an attempt is made of, from a plan.
fn parts<T>(plan: &Plan, work: impl FnOnce(&Parts, &Sites, &mut Question) -> T) -> T {
    let nothing = Wiring::default();
    let mut draft = Draft::new(plan, &nothing);
    crate::pairing::decide(&mut draft);
    let groups = demand::groups(plan, false);
    let jacks = demand::jacks(&mut draft, &groups);
    let types = models::well_behaved(models::models(plan), false);
    let parts = Parts { base: &draft, groups: &groups, jacks: &jacks, types: &types, chains: &[] };
    let sites = Sites::new(&draft, &jacks);
    let mut question = Question { models: &types, most: None, keep_going: &mut |_| true };
    work(&parts, &sites, &mut question)
}

/// Every way to serve the places.
fn every_placement(sites: &Sites) -> Vec<Placement> {
    let places = sites.places();
    let choices = sites.candidates.len();
    let homes = |number: usize| {
        let at = |n: usize| (places[n], sites.candidates[number / choices.pow(n as u32) % choices]);
        (0..places.len()).map(at).collect()
    };
    (0..choices.pow(places.len() as u32)).map(|number| Placement { home: homes(number) }).collect()
}

/// The least that any placement with any cores costs, of those that nothing stops; by how many targets it misses.
fn cheapest(parts: &Parts, sites: &Sites) -> BTreeMap<usize, u64> {
    let mut least: BTreeMap<usize, u64> = BTreeMap::new();
    for placement in every_placement(sites) {
        if placement.home.iter().any(|(place, home)| sites.reach(*place, *home).is_none()) {
            continue;
        }
        let open: BTreeSet<usize> = placement.home.values().copied().collect();
        for [a, b] in open.iter().flat_map(|a| open.iter().map(move |b| [*a, *b])) {
            let (mut draft, placed) = parts.build(&Sited { placement: placement.clone(), cores: vec![Some(a), Some(b)] });
            settle(&mut draft, parts.groups, &placed);
            let (stops, warnings, cost) = trouble(&draft);
            if stops == 0 {
                let known = least.entry(warnings).or_insert(cost);
                *known = cost.min(*known);
            }
        }
    }
    least
}

#[test]
fn no_placement_is_below_the_bound_and_few_are_cheaper_than_the_design() {
    let (mut tried, mut met, mut above) = (0, 0, 0);
    for seed in 0..24 {
        let plan = small(seed);
        let (cheapest, bound) = parts(&plan, |parts, sites, question| (cheapest(parts, sites), bound(sites, question)));
        let (Some(least), Some(bound)) = (cheapest.values().min(), bound) else { continue };
        assert!(bound <= *least, "seed {seed}: the bound {bound} is above {least}");
        let designed = crate::design(&plan, &Wiring::default());
        let count = |severity| designed.findings.iter().filter(|finding| finding.severity == severity).count();
        assert_eq!(count(Severity::Stop), 0, "seed {seed}: {:?}", designed.findings);
        let cost = cost::added(&plan, &designed.wiring);
        // Of those that miss no more targets than the design does.
        let rivals = cheapest.range(..=count(Severity::Warn)).map(|(_, cost)| *cost).min();
        let rival = rivals.expect("the design itself is one of them");
        tried += 1;
        met += usize::from(cost <= rival);
        above = above.max(cost * 1_000 / rival);
    }
    assert!(
        tried >= 20 && met + 2 >= tried && above <= 1_070,
        "{tried} plans, the cheapest met in {met}, at worst {above} thousandths of it"
    );
}
