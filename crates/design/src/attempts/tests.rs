//! Small plans against trying every placement and every core.

use super::*;
use crate::placement::bound;
use crate::plans::{Dice, add_device, add_network, add_place, add_route, add_stream, empty};
use loomwright_model::{Medium, Plan, Survive, Wiring};
use std::collections::BTreeSet;

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
    let mut watch = |_| true;
    let watched = Watched::new(&mut watch);
    let parts = Parts { base: &draft, groups: &groups, jacks: &jacks, types: &types, chains: &[], watched: &watched };
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

/// One placement with its cores, wired.
struct Rival {
    sited: Sited,
    /// Where both networks can be cut by one accident: as seldom as routes allow is a rule of the bound.
    shared: usize,
    cost: u64,
}

/// Every placement with every core that nothing stops, the cheapest first.
fn every_rival(parts: &Parts, sites: &Sites) -> Vec<Rival> {
    let mut rivals = Vec::new();
    for placement in every_placement(sites) {
        if placement.home.iter().any(|(place, home)| sites.reach(*place, *home).is_none()) {
            continue;
        }
        let open: BTreeSet<usize> = placement.home.values().copied().collect();
        for [a, b] in open.iter().flat_map(|a| open.iter().map(move |b| [*a, *b])) {
            let sited = Sited { placement: placement.clone(), cores: vec![Some(a), Some(b)] };
            let (mut draft, placed) = parts.build(&sited);
            settle(&mut draft, parts.groups, &placed);
            let (stops, _, cost) = trouble(&draft);
            if stops == 0 {
                let shared = draft.done.findings.iter().filter(|finding| finding.code == "design/shared-way").count();
                rivals.push(Rival { sited, shared, cost });
            }
        }
    }
    rivals.sort_by_key(|rival| rival.cost);
    rivals
}

/// What is wrong with a wiring beside its cost.
fn wrong(harm: Harm) -> Harm {
    Harm { cost: 0, ..harm }
}

#[test]
fn no_placement_is_below_the_bound_and_few_are_cheaper_than_the_design() {
    let (mut tried, mut met, mut above) = (0, 0, 1_000);
    let (mut near, mut exact) = (1_000, 0);
    for seed in 0..24 {
        let plan = small(seed);
        let designed = crate::design(&plan, &Wiring::default());
        let count = |severity| designed.findings.iter().filter(|finding| finding.severity == severity).count();
        assert_eq!(count(Severity::Stop), 0, "seed {seed}: {:?}", designed.findings);
        let cost = cost::added(&plan, &designed.wiring);
        parts(&plan, |parts, sites, question| {
            let rivals = every_rival(parts, sites);
            let fewest = rivals.iter().map(|rival| rival.shared).min();
            let least = rivals.iter().find(|rival| Some(rival.shared) == fewest).map(|rival| rival.cost);
            let (Some(least), Some(bound)) = (least, bound(sites, question, u64::MAX)) else { return };
            assert!(bound <= least, "seed {seed}: the bound {bound} is above {least}");
            (near, exact) = (near.max(least * 1_000 / bound), exact + usize::from(least == bound));
            // Of those with which no more is wrong, the proof included.
            let mut draft = parts.base.clone();
            draft.done = designed.clone();
            let own = wrong(harm(&draft));
            let cheaper = rivals.iter().take_while(|rival| rival.cost < cost);
            let rival = cheaper.map(|rival| parts.attempt(rival.sited.clone(), "").harm).find(|harm| wrong(*harm) <= own);
            if let Some(rival) = rival {
                eprintln!("seed {seed}: {cost} against {rival:?}, least {least}, bound {bound}");
            }
            tried += 1;
            met += usize::from(rival.is_none());
            above = above.max(rival.map_or(1_000, |rival| cost * 1_000 / rival.cost));
        });
    }
    eprintln!(
        "{tried} plans, the cheapest met in {met}, at worst {above} thousandths of it; the bound is it in {exact}, at worst {near} thousandths below"
    );
    assert!(
        tried >= 22 && met + 2 >= tried && above <= 1_070,
        "{tried} plans, the cheapest met in {met}, at worst {above} thousandths of it"
    );
    assert!(exact >= 12, "the bound is the cheapest in {exact} plans only");
}
