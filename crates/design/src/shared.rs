//! Says where one accident to a route or hazard cuts places from each other on all their audio networks.
//!
//! **Shape**: for every route and hazard that cables of two audio networks go through, in turn, those cables are taken away.
//! Two places that were joined on more than one network and are now joined on none are cut. Only cables count that this
//! design lays: where one is held, the proof judges.

use crate::draft::{Draft, listed};
use crate::trunks::Run;
use loomwright_model::{Id, Item, Survive};
use std::collections::{BTreeMap, BTreeSet};

/// One cable between places: its group, its places, what it goes through.
struct Span {
    group: usize,
    places: [usize; 2],
    risks: BTreeSet<usize>,
}

/// Two places.
type Pair = [usize; 2];

/// Adds the findings, where failures are to be survived.
pub(crate) fn tell(draft: &mut Draft, runs: &[Run]) {
    let audio = crate::demand::audio_networks(draft.plan).len();
    if draft.plan.targets.survive == Survive::Nothing || audio < 2 {
        return;
    }
    let spans: Vec<Span> = runs
        .iter()
        .filter(|run| run.group < audio && run.places[0] != run.places[1])
        .map(|run| Span { group: run.group, places: run.places, risks: draft.ways.risks(&run.way) })
        .collect();
    let places: Vec<usize> = spans.iter().flat_map(|span| span.places).collect::<BTreeSet<usize>>().into_iter().collect();
    let whole: Vec<Parts> = (0..audio).map(|group| Parts::new(&spans, group, None)).collect();
    // What one accident cuts, with all routes and hazards at which one does just that.
    let mut cuts: BTreeMap<Vec<Pair>, BTreeSet<usize>> = BTreeMap::new();
    for risk in met_twice(&spans) {
        let left: Vec<Parts> = (0..audio).map(|group| Parts::new(&spans, group, Some(risk))).collect();
        let is_cut = |[one, other]: &Pair| {
            let joined = |parts: &[Parts]| parts.iter().filter(|parts| parts.joins(*one, *other)).count();
            joined(&whole) > 1 && joined(&left) == 0
        };
        let pairs = places.iter().flat_map(|one| places.iter().filter(move |other| *other > one).map(move |other| [*one, *other]));
        let cut: Vec<Pair> = pairs.filter(is_cut).collect();
        if !cut.is_empty() {
            cuts.entry(cut).or_default().insert(risk);
        }
    }
    cuts.into_iter().for_each(|(pairs, risks)| say(draft, &pairs, &risks));
}

/// Routes and hazards that cables of more than one group go through.
fn met_twice(spans: &[Span]) -> Vec<usize> {
    let mut groups: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for span in spans {
        span.risks.iter().for_each(|risk| {
            groups.entry(*risk).or_default().insert(span.group);
        });
    }
    groups.into_iter().filter(|(_, groups)| groups.len() > 1).map(|(risk, _)| risk).collect()
}

/// Which places one network joins.
struct Parts(BTreeMap<usize, usize>);

impl Parts {
    /// By the cables of one group that do not go through `without`.
    fn new(spans: &[Span], group: usize, without: Option<usize>) -> Self {
        let mut parts: BTreeMap<usize, usize> = BTreeMap::new();
        let own = |span: &&Span| span.group == group && without.is_none_or(|risk| !span.risks.contains(&risk));
        for span in spans.iter().filter(own) {
            let [keep, gone] = span.places.map(|place| *parts.entry(place).or_insert(place));
            if keep != gone {
                parts.values_mut().filter(|part| **part == gone).for_each(|part| *part = keep);
            }
        }
        Self(parts)
    }

    fn joins(&self, one: usize, other: usize) -> bool {
        self.0.get(&one).is_some_and(|part| self.0.get(&other) == Some(part))
    }
}

/// The fewest places, nearly, that are in every pair: what is cut off.
fn cut_off(pairs: &[Pair]) -> Vec<usize> {
    let mut left = pairs.to_vec();
    let mut found = Vec::new();
    while !left.is_empty() {
        let mut count: BTreeMap<usize, usize> = BTreeMap::new();
        left.iter().flatten().for_each(|place| *count.entry(*place).or_default() += 1);
        let Some((place, _)) = count.into_iter().max_by_key(|(place, count)| (*count, std::cmp::Reverse(*place))) else { break };
        left.retain(|pair| !pair.contains(&place));
        found.push(place);
    }
    found.sort_unstable();
    found
}

fn say(draft: &mut Draft, pairs: &[Pair], risks: &BTreeSet<usize>) {
    let routes: Vec<Id> = draft.plan.routes.keys().enumerate().filter(|(n, _)| risks.contains(n)).map(|(_, id)| id.clone()).collect();
    let through = if routes.is_empty() { "a hazard that their routes share".to_owned() } else { listed(&routes, 4) };
    let off = if pairs.len() == 1 { vec![pairs[0][0]] } else { cut_off(pairs) };
    let rest: BTreeSet<usize> = pairs.iter().flatten().copied().filter(|place| !off.contains(place)).collect();
    let name = |place: &usize| draft.place(*place).clone();
    let (off, rest): (Vec<Id>, Vec<Id>) = (off.iter().map(name).collect(), rest.iter().map(name).collect());
    let [from, to] = [listed(&off, 4), if rest.is_empty() { "each other".to_owned() } else { listed(&rest, 4) }];
    let says = format!("Between {from} and {to} both networks go through {through}: one accident there cuts both.");
    let remedy = format!("Add a route from {from} to {to} that shares nothing with it.");
    let items = off.into_iter().chain(rest).map(Item::Place).chain(routes.into_iter().map(Item::Route)).collect();
    draft.warn("design/shared-way", items, [says, remedy]);
}
