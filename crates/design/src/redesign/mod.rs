//! Changes a wiring that is plugged in already: the fewest moved ends first, then cost.
//!
//! Everything that can stay is kept as if it were held ([`keep`]), and the rest is designed around it. If that stops the
//! show where a design from nothing would not, cables are set free: one at a time, then pairs, then all of a place, then
//! all. Names, lengths and addresses of what stays are never touched ([`reuse`]); [`repatch`] puts the work in a safe order.

mod extend;
mod keep;
mod moved;
mod order;
mod reuse;

pub use moved::moved_ends;
pub use order::{Repatch, RepatchStep, repatch};

use crate::options::price;
use crate::watch::{Stage, Watch, Watched};
use crate::{Designed, design_trial, design_watched, form::Form};
use indexmap::IndexMap;
use keep::Kept;
use loomwright_model::{Id, Item, Money, Nowhere, Plan, Severity, Wiring};
use loomwright_proof::prove;
use std::collections::BTreeSet;

/// A wiring that keeps what is plugged in.
#[derive(Debug, Clone, PartialEq)]
pub struct Redesigned {
    /// The wiring with its decisions and findings.
    pub designed: Designed,
    /// Ends of cables that could stay by the plan and still have to move.
    pub moved_ends: usize,
    /// Cables that the changed plan itself makes useless: their device left, moved, or needs another network.
    pub useless: Vec<Id>,
}

/// Most sets of cables that are tried. Own choice: a plan of a hundred cables answers within seconds.
const MOST_TRIES: usize = 400;

/// Designs `plan` around what `before` holds plugged. Held items never move. With nothing plugged in it is a design.
pub fn redesign(plan: &Plan, before: &Wiring) -> Redesigned {
    redesign_watched(plan, before, &mut |_| true)
}

/// Like [`redesign`], for a caller that shows progress or wants to stop early: the best so far is then taken.
pub fn redesign_watched(plan: &Plan, before: &Wiring, watch: Watch) -> Redesigned {
    if before.cables.is_empty() && before.switches.is_empty() {
        return Redesigned { designed: design_watched(plan, before, watch), moved_ends: 0, useless: Vec::new() };
    }
    let fresh = design_trial(plan, before, Form::Usual);
    let mut without_purchase = plan.clone();
    without_purchase.stock.switches = Some(IndexMap::new());
    let search =
        Search { plan, before, possible: harm(plan, &fresh)[0], kept: keep::kept(plan, before, None), fresh: &fresh, without_purchase };
    let best = search.run(&Watched::new(watch));
    let useless = before.cables.keys().filter(|id| !search.kept.wiring.cables.contains_key(*id)).cloned().collect();
    Redesigned { moved_ends: best.moved, designed: best.designed, useless }
}

/// What stops the show, in design and proof; and the single failures that silence an essential stream.
fn harm(plan: &Plan, designed: &Designed) -> [usize; 2] {
    let design = designed.findings.iter().filter(|finding| finding.severity == Severity::Stop).count();
    let proof = prove(plan, &designed.wiring, &Nowhere);
    let stops = design + proof.findings.iter().filter(|finding| finding.severity == "stop").count();
    let essential = |stream: &str| plan.streams.get(stream).is_some_and(|stream| stream.essential);
    let silencing = proof.failures.iter().filter(|line| line.silent.iter().any(|silent| essential(&silent.stream))).count();
    [stops, silencing]
}

/// One way to go on.
struct Candidate {
    stops: usize,
    moved: usize,
    /// Single failures that silence an essential stream.
    silencing: usize,
    cost: (Money, usize),
    designed: Designed,
}

impl Candidate {
    /// Smaller is better. Fewer stops than `possible` count for nothing.
    fn rank(&self, possible: usize) -> (usize, usize, usize, (Money, usize)) {
        (self.stops.max(possible), self.moved, self.silencing, self.cost)
    }
}

struct Search<'a> {
    plan: &'a Plan,
    before: &'a Wiring,
    /// Stops that a design from nothing has too.
    possible: usize,
    kept: Kept,
    fresh: &'a Designed,
    /// The plan without a switch to be had: what stands must do.
    without_purchase: Plan,
}

impl Search<'_> {
    fn run(&self, watched: &Watched) -> Candidate {
        let none = BTreeSet::new();
        let mut best = self.best_with(&none);
        if best.stops <= self.possible {
            return best;
        }
        let movable = self.movable(&best);
        let pairs = (0..movable.len()).flat_map(|one| (one + 1..movable.len()).map(move |other| [one, other]));
        let singles = movable.iter().map(|id| BTreeSet::from([id.clone()]));
        let pairs = pairs.map(|pair| pair.map(|at| movable[at].clone()).into_iter().collect::<BTreeSet<Id>>());
        let wider = self.by_place().into_iter().chain([self.kept.wiring.cables.keys().cloned().collect()]);
        let few = singles.map(|set| (1, set)).chain(pairs.map(|set| (2, set))).take(MOST_TRIES);
        for (done, (size, freed)) in few.chain(wider.map(|set| (usize::MAX, set))).enumerate() {
            // A set of this size moves at least as many ends.
            let is_best = best.stops <= self.possible && best.moved <= size;
            if is_best || !watched.goes_on(Stage::Moves { done, of: MOST_TRIES.max(done) }) {
                break;
            }
            let next = self.best_with(&freed);
            if next.rank(self.possible) < best.rank(self.possible) {
                best = next;
            }
        }
        let fresh = self.judged(self.fresh.clone());
        if best.stops > self.possible && fresh.rank(self.possible) < best.rank(self.possible) { fresh } else { best }
    }

    /// The best design that keeps everything but `freed`: with and without new switches, as a longer chain, or with the
    /// settings that a design from nothing has.
    fn best_with(&self, freed: &BTreeSet<Id>) -> Candidate {
        let as_is = self.kept.without(freed);
        let mut tries = vec![design_trial(self.plan, &as_is, Form::Switches)];
        if !as_is.switches.is_empty() {
            tries.push(design_trial(&self.without_purchase, &as_is, Form::Switches));
        }
        if as_is.switches.is_empty() {
            tries.extend(extend::design(self.plan, &as_is));
        }
        let anew = keep::kept(self.plan, self.before, Some(&self.fresh.wiring));
        if anew.wiring != self.kept.wiring {
            tries.push(design_trial(self.plan, &anew.without(freed), Form::Switches));
        }
        let judged = tries.into_iter().map(|designed| self.judged(reuse::restored(self.plan, self.before, designed)));
        judged.min_by_key(|candidate| candidate.rank(self.possible)).expect("the first try is always there")
    }

    fn judged(&self, designed: Designed) -> Candidate {
        let price = price(self.plan, &designed.wiring);
        let moved = moved_ends(&self.kept.wiring, &designed.wiring);
        let [stops, silencing] = harm(self.plan, &designed);
        Candidate { stops, silencing, moved, cost: (price.known(), price.ends), designed }
    }

    /// Cables that may move, those that stand near the trouble first.
    fn movable(&self, stopped: &Candidate) -> Vec<Id> {
        let design = stopped.designed.findings.iter().filter(|finding| finding.severity == Severity::Stop);
        let hurt: Vec<&Item> = design.flat_map(|finding| &finding.items).collect();
        let place = |id: &Id| stopped.designed.wiring.place_of(self.plan, id);
        let near: BTreeSet<&Id> = hurt
            .iter()
            .filter_map(|item| match item {
                Item::Device(id) | Item::Switch(id) => place(id),
                Item::Port(port) => place(&port.item),
                Item::Place(id) => Some(id),
                _ => None,
            })
            .collect();
        let free = self.kept.wiring.cables.iter().filter(|(id, _)| !self.is_held(id));
        let is_far = |ends: &[loomwright_model::PortRef; 2]| !ends.iter().any(|end| place(&end.item).is_some_and(|at| near.contains(at)));
        let mut movable: Vec<(bool, Id)> = free.map(|(id, cable)| (is_far(&cable.ends), id.clone())).collect();
        movable.sort_by_key(|(far, _)| *far);
        movable.into_iter().map(|(_, id)| id).collect()
    }

    fn is_held(&self, id: &Id) -> bool {
        self.before.cables.get(id).is_some_and(|cable| cable.hold)
    }

    /// The free cables of each place.
    fn by_place(&self) -> Vec<BTreeSet<Id>> {
        let at = |place: &Id| {
            let touches =
                |ends: &[loomwright_model::PortRef; 2]| ends.iter().any(|end| self.before.place_of(self.plan, &end.item) == Some(place));
            self.kept
                .wiring
                .cables
                .iter()
                .filter(|(id, cable)| !self.is_held(id) && touches(&cable.ends))
                .map(|(id, _)| id.clone())
                .collect()
        };
        self.plan.places.keys().map(at).filter(|set: &BTreeSet<Id>| !set.is_empty()).collect()
    }
}
