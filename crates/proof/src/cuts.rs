//! What silences one stream: single failures, and pairs of which neither does it alone.

use crate::analysis::Analysis;
use loomwright_model::{Id, Item};
use loomwright_survival::Loss;
use std::collections::{BTreeMap, BTreeSet};

/// Steps of searching that pairs may cost before they are left out: failures on the way, times all failures, times
/// nodes and cables. Own choice: well below a second.
const MOST_STEPS: usize = 30_000_000;

/// The smallest sets of failures that silence a stream at one receiver, its own two ends left out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cuts {
    /// The receiver.
    pub to: Id,
    /// False if no leg reaches it even with nothing lost.
    pub is_heard: bool,
    /// Failures that do it alone.
    pub alone: Vec<Item>,
    /// Pairs, summed up: any one of the first together with any one of the second.
    pub together: Vec<[Vec<Item>; 2]>,
    /// How many pairs that is; `None` where the plan is too large to try them.
    pub pairs: Option<usize>,
}

/// The cuts of a stream at each of its receivers. A frozen switch counts as the switch.
pub fn cuts_of(analysis: &Analysis, stream: &Id) -> Vec<Cuts> {
    let heard = analysis.survival.heard_without(&[]);
    let demands = analysis.survival.demands().iter().enumerate().filter(|(_, demand)| demand.stream == *stream);
    demands.map(|(at, demand)| one(analysis, (at, &demand.to), heard[at])).collect()
}

fn one(analysis: &Analysis, (at, to): (usize, &Id), is_heard: bool) -> Cuts {
    let losses = analysis.singles.losses();
    let whole = (0..losses.len()).filter(|&failure| !losses[failure].is_frozen());
    let (alone, others): (Vec<usize>, Vec<usize>) = whole.partition(|&failure| analysis.singles.silent(failure).contains(&(at as u32)));
    let is_own = |failure: &usize| own_ends(analysis, at).contains(&losses[*failure].item());
    let others: Vec<usize> = others.into_iter().filter(|failure| !is_own(failure)).collect();
    let pairs = if is_heard { pairs(analysis, at, &others) } else { Some(BTreeMap::new()) };
    let count = pairs.as_ref().map(|pairs| pairs.values().map(BTreeSet::len).sum::<usize>() / 2);
    let named = |failures: &mut dyn Iterator<Item = usize>| failures.map(|failure| losses[failure].item()).collect::<Vec<Item>>();
    let together = pairs.map(summed_up).unwrap_or_default();
    let together = together.into_iter().map(|[one, other]| [named(&mut one.into_iter()), named(&mut other.into_iter())]).collect();
    Cuts { to: to.clone(), is_heard, alone: named(&mut alone.into_iter()), together, pairs: count }
}

fn own_ends(analysis: &Analysis, at: usize) -> [Item; 2] {
    let demand = &analysis.survival.demands()[at];
    let from = analysis.plan.streams.get(&demand.stream).map_or(&demand.to, |stream| &stream.from);
    [Item::Device(from.clone()), Item::Device(demand.to.clone())]
}

/// Partners of each failure, both ways round. One failure of a pair always lies on the way that the stream takes now:
/// otherwise it would still be heard that way.
fn pairs(analysis: &Analysis, at: usize, others: &[usize]) -> Option<BTreeMap<usize, BTreeSet<usize>>> {
    let losses = analysis.singles.losses();
    let way = way(analysis, at);
    let is_on_way = |failure: &&usize| {
        let effect = analysis.survival.effect_of(&analysis.singles, **failure);
        way.contains(&losses[**failure].item()) || effect.gone_too.iter().any(|item| way.contains(item))
    };
    let on_way: Vec<usize> = others.iter().filter(is_on_way).copied().collect();
    let size = analysis.fabric.nodes.len() + analysis.fabric.cables.len();
    if on_way.len().saturating_mul(others.len()).saturating_mul(size) > MOST_STEPS {
        return None;
    }
    let mut found: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for &first in &on_way {
        for &second in others.iter().filter(|&&second| second != first && !(on_way.contains(&second) && second < first)) {
            let both: [Loss; 2] = [losses[first].clone(), losses[second].clone()];
            if !analysis.survival.heard_without(&both)[at] {
                found.entry(first).or_default().insert(second);
                found.entry(second).or_default().insert(first);
            }
        }
    }
    Some(found)
}

/// Cables and boxes on every leg's way, as it is now.
fn way(analysis: &Analysis, at: usize) -> BTreeSet<Item> {
    let demand = &analysis.survival.demands()[at];
    let box_of = |item: Item| match item {
        Item::Port(port) if analysis.wiring.switches.contains_key(&port.item) => Item::Switch(port.item),
        Item::Port(port) => Item::Device(port.item),
        other => other,
    };
    let mut items = BTreeSet::new();
    for (flow, (stream, known), _) in analysis.flows().filter(|(_, (stream, _), _)| **stream == demand.stream) {
        debug_assert_eq!(*stream, demand.stream);
        let to_it = flow.deliveries.iter().filter(|delivery| known.to.get(delivery.receiver as usize) == Some(&demand.to));
        items.extend(to_it.flat_map(|delivery| flow.items_to(&analysis.fabric, *delivery)).map(box_of));
    }
    items
}

/// Failures with the same partners stand together; each pair is told once.
fn summed_up(pairs: BTreeMap<usize, BTreeSet<usize>>) -> Vec<[Vec<usize>; 2]> {
    let mut groups: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
    for (failure, partners) in pairs {
        groups.entry(partners.into_iter().collect()).or_default().push(failure);
    }
    let mut told: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut all: Vec<(Vec<usize>, Vec<usize>)> = groups.into_iter().map(|(partners, failures)| (failures, partners)).collect();
    all.sort_by_key(|(failures, partners)| (std::cmp::Reverse(failures.len() * partners.len()), failures.clone()));
    let mut out = Vec::new();
    for (failures, partners) in all {
        let is_new = |one: &usize, other: &usize| !told.contains(&(*one.min(other), *one.max(other)));
        let fresh: Vec<usize> = partners.iter().copied().filter(|other| failures.iter().any(|one| is_new(one, other))).collect();
        told.extend(failures.iter().flat_map(|one| fresh.iter().map(|other| (*one.min(other), *one.max(other)))));
        if !fresh.is_empty() {
            out.push([failures, fresh]);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, id};

    fn names(items: &[Item]) -> Vec<String> {
        items.iter().map(ToString::to_string).collect()
    }

    fn every_pair(trial: &Trial) -> BTreeSet<BTreeSet<String>> {
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        let losses: Vec<&Loss> = analysis.singles.losses().iter().filter(|loss| !loss.is_frozen()).collect();
        let ends = own_ends(&analysis, 0);
        let silences = |both: &[Loss]| !analysis.survival.heard_without(both)[0];
        let others: Vec<&Loss> =
            losses.into_iter().filter(|loss| !ends.contains(&loss.item()) && !silences(std::slice::from_ref(loss))).collect();
        let pairs =
            others.iter().enumerate().flat_map(|(n, one)| others[n + 1..].iter().map(move |other| [(*one).clone(), (*other).clone()]));
        pairs.filter(|both| silences(both)).map(|both| both.iter().map(|loss| loss.item().to_string()).collect()).collect()
    }

    #[test]
    fn pairs_are_those_that_trying_them_all_finds() {
        let mut ring = Trial::good();
        // A spare way in network a, blocked until it is needed.
        ring.switch("sw-a2", ("switch", "foh"), &["a"]).unplug("A-002").cable("A-002", ["desk/1", "sw-a2/1"], "a").lay("A-002", &[]);
        ring.wiring.cables["A-002"].routes.clear();
        ring.cable("A-003", ["sw-a/8", "sw-a2/8"], "a")
            .lay("A-003", &["left"])
            .cable("A-004", ["sw-a/7", "sw-a2/7"], "a")
            .lay("A-004", &["right"]);
        ring.plan.streams["mics"].legs = loomwright_model::plan::Legs::Only(vec![id("a")]);
        for trial in [Trial::good(), ring] {
            let analysis = Analysis::new(&trial.plan, &trial.wiring);
            let [cuts] = cuts_of(&analysis, &id("mics")).try_into().expect("one receiver");
            let told: BTreeSet<BTreeSet<String>> = cuts
                .together
                .iter()
                .flat_map(|[one, other]| {
                    one.iter().flat_map(move |a| other.iter().map(move |b| [a, b].iter().map(ToString::to_string).collect()))
                })
                .collect();
            let expected = every_pair(&trial);
            assert!(!expected.is_empty());
            assert_eq!(told, expected);
            assert_eq!(cuts.pairs, Some(expected.len()));
        }
    }

    #[test]
    fn what_is_needed_alone_is_told_alone() {
        let mut trial = Trial::good();
        trial.plan.streams["mics"].legs = loomwright_model::plan::Legs::Only(vec![id("a")]);
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        let cuts = cuts_of(&analysis, &id("mics"));
        assert_eq!(
            names(&cuts[0].alone),
            ["cable:A-001", "cable:A-002", "switch:sw-a", "feed:mains-stage", "route:left", "hazard:left-side"]
        );
        assert_eq!(cuts[0].together.len(), 0);
        assert!(cuts_of(&analysis, &id("nothing")).is_empty());
    }
}
