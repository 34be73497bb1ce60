//! Wires the plan with switches: from each placement that was found a whole wiring, of which the best is kept.
//!
//! Placements come from an exact search through all sets of places where they are few, from the solver, from a second search
//! and from switches in every place. The one whose wiring is cheapest comes first. If it stops the show, lets a single failure
//! silence an essential stream or misses a target, the next is proved too; the one with least harm is kept, the cheaper one
//! of equals.

use crate::closing;
use crate::cost;
use crate::demand::{self, Group, Jack};
use crate::draft::{Care, Draft};
use crate::near;
use crate::placement::{self, Placement, Question};
use crate::sites::Sites;
use crate::switches::{self, Placed, Sited};
use crate::trunks::Run;
use crate::watch::{Stage, Watched};
use crate::{clusters, lay, models, plug_in, settle, shape, sort_switches, trunks};
use loomwright_model::{Nowhere, Severity};
use loomwright_proof::prove;
use std::collections::BTreeSet;

/// A placement and where it comes from.
struct Proposal {
    placement: Placement,
    from: &'static str,
}

/// A whole wiring.
struct Attempt<'a> {
    draft: Draft<'a>,
    sited: Sited,
    /// Where the cores came to stand.
    cores: Vec<Option<usize>>,
    from: &'static str,
    harm: Harm,
}

impl Attempt<'_> {
    /// Whether nothing else need be tried. Of a trial only what stops it counts.
    fn is_good(&self) -> bool {
        let harm = self.harm;
        harm.stops == [0, 0] && (self.draft.care == Care::Trial || harm.silencing == 0 && harm.shared == 0 && harm.warnings == 0)
    }
}

/// How bad a wiring is: what stops the design, then the proof; essential streams that a single failure silences; what both networks share; targets
/// missed; cost. Smaller is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Harm {
    stops: [usize; 2],
    silencing: usize,
    shared: usize,
    warnings: usize,
    cost: u64,
}

/// Places switches, joins them, plugs everything in and settles the rest.
pub(crate) fn decide<'a>(draft: &mut Draft<'a>, (groups, jacks): (&[Group], &[Jack]), types: Vec<models::Model<'a>>, watched: &Watched) {
    let (jacks, chains) = clusters::decide(draft, jacks.to_vec());
    let ring = models::wants_ring(draft.plan, demand::audio_networks(draft.plan).len());
    let most = models::available(&types).map(|count| usize::try_from(count).unwrap_or(usize::MAX) / groups.len().max(1));
    let types = models::well_behaved(types, ring);
    let base = draft.clone();
    let sites = Sites::new(&base, &jacks);
    let mut placing = |progress| watched.goes_on(Stage::Places(progress));
    let mut question = Question { models: &types, most, keep_going: &mut placing };
    let parts = Parts { base: &base, groups, jacks: &jacks, types: &types, chains: &chains, watched };
    let proposals = parts.ranked(proposals(&sites, &mut question, draft.care));
    let mut attempts: Vec<Attempt> = Vec::new();
    for (done, Proposal { placement, from }) in proposals.iter().enumerate() {
        let attempt = parts.attempt(parts.sited(placement.clone()), from);
        let is_good = attempt.is_good();
        attempts.push(attempt);
        if is_good || !watched.goes_on(Stage::Wirings { done: done + 1, of: proposals.len() }) {
            break;
        }
    }
    let Some(best) = (0..attempts.len()).min_by_key(|at| (attempts[*at].harm, *at)) else { return };
    let refused = (best > 0).then(|| refusal(&attempts[0], &attempts[best]));
    let mut kept = attempts.swap_remove(best);
    if draft.care != Care::Trial {
        kept = parts.repaired(parts.with_best_cores(kept), &sites);
    }
    *draft = kept.draft;
    if let Some((says, because)) = refused {
        draft.decide(loomwright_model::Item::Plan, says, because);
    }
    if draft.care == Care::Full {
        near::tell(draft, &sites, &mut question);
    }
}

/// Placements that differ, the solver's first. A trial takes the first that can be wired.
fn proposals(sites: &Sites, question: &mut Question, care: Care) -> Vec<Proposal> {
    let joined = if care != Care::Trial { placement::place_joined(sites, question) } else { None };
    let joined = joined.map(|placement| Proposal { placement, from: "the cheapest of all sets of places" });
    let found = [
        Proposal { placement: placement::place(sites, question), from: "the cheapest placement that was found" },
        Proposal { placement: closing::place(sites, question.models, question.most), from: "one that closes place after place" },
        Proposal { placement: Placement::everywhere(sites), from: "switches in every place" },
    ];
    let mut kept: Vec<Proposal> = Vec::new();
    for proposal in joined.into_iter().chain(found) {
        let allowed = kept.is_empty() || question.most.is_none_or(|most| proposal.placement.open().len() <= most);
        if allowed && kept.iter().all(|other| other.placement != proposal.placement) {
            kept.push(proposal);
        }
    }
    kept
}

/// Most places that are tried as the core of one network. Own choice: those farther out are seldom better.
const MOST_CORES: usize = 4;

/// Most wirings that are tried to repair one that something is wrong with. Own choice: a blink for a small plan.
const MOST_REPAIRS: usize = 24;

/// What all attempts are made of.
struct Parts<'p, 'a, 'w> {
    base: &'p Draft<'a>,
    groups: &'p [Group],
    jacks: &'p [Jack],
    types: &'p [models::Model<'a>],
    chains: &'p [Run],
    watched: &'p Watched<'w>,
}

impl<'a> Parts<'_, 'a, '_> {
    /// The proposals by what is wrong with the wiring made of each and what it costs, before it is proved. A trial keeps their order.
    fn ranked(&self, mut proposals: Vec<Proposal>) -> Vec<Proposal> {
        if self.base.care != Care::Trial && proposals.len() > 1 {
            proposals.sort_by_cached_key(|proposal| trouble(&self.build(&self.sited(proposal.placement.clone())).0));
        }
        proposals
    }

    /// With the cores left to common practice.
    fn sited(&self, placement: Placement) -> Sited {
        Sited { placement, cores: vec![None; self.groups.len()] }
    }

    /// A whole wiring with switches in these places.
    fn attempt(&self, sited: Sited, from: &'static str) -> Attempt<'a> {
        let (mut draft, placed) = self.build(&sited);
        settle(&mut draft, self.groups, &placed);
        let harm = harm(&draft);
        Attempt { draft, cores: placed.cores, sited, from, harm }
    }

    /// The same with the cores where they cost least: one network after the other, every place that ranks well is tried.
    /// What costs less is proved before it is kept.
    fn with_best_cores(&self, mut best: Attempt<'a>) -> Attempt<'a> {
        for group in (0..self.groups.len()).take_while(|_| !self.watched.is_stopped()) {
            let ranked = switches::ranked_cores(self.base, &best.sited.placement, self.jacks, group);
            let others = ranked.into_iter().take(MOST_CORES).filter(|core| best.cores[group] != Some(*core));
            let sited = others.map(|core| {
                let mut sited = best.sited.clone();
                sited.cores[group] = Some(core);
                sited
            });
            let tried = sited.map(|sited| (trouble(&self.build(&sited).0), sited)).min_by_key(|(trouble, _)| *trouble);
            if let Some((_, sited)) = tried.filter(|(trouble, _)| is_better(*trouble, &best)) {
                let next = self.attempt(sited, best.from);
                if next.harm < best.harm {
                    best = next;
                }
            }
        }
        best
    }

    /// Where something is still wrong: the same with one place wired to another, as long as that leaves less wrong.
    fn repaired(&self, mut best: Attempt<'a>, sites: &Sites) -> Attempt<'a> {
        let mut tries = MOST_REPAIRS;
        while !best.is_good() && tries > 0 && self.watched.goes_on(Stage::Wirings { done: MOST_REPAIRS - tries, of: MOST_REPAIRS }) {
            let moves = sites.places().into_iter().flat_map(|place| sites.candidates.iter().map(move |to| (place, *to)));
            let moves = moves.filter(|(place, to)| best.sited.placement.home[place] != *to && sites.reach(*place, *to).is_some());
            let moved = moves.take(tries).map(|(place, to)| {
                let mut sited = best.sited.clone();
                sited.placement.home.insert(place, to);
                sited
            });
            let moved: Vec<Sited> = moved.collect();
            tries -= moved.len();
            let next = moved.into_iter().map(|sited| (trouble(&self.build(&sited).0), sited)).min_by_key(|(trouble, _)| *trouble);
            let Some((_, sited)) = next.filter(|(trouble, _)| is_better(*trouble, &best)) else { break };
            let next = self.attempt(sited, best.from);
            if next.harm >= best.harm {
                break;
            }
            best = next;
        }
        best
    }

    fn build(&self, sited: &Sited) -> (Draft<'a>, Placed) {
        let mut draft = self.base.clone();
        let mut placed = switches::decide(&mut draft, (self.groups, self.jacks), self.types.to_vec(), sited);
        let ring = models::wants_ring(draft.plan, demand::audio_networks(draft.plan).len());
        let mut runs = trunks::decide(&mut draft, self.groups, &mut placed, ring);
        switches::squeeze_in(&mut draft, &mut placed);
        runs.extend(plug_in(&mut draft, &mut placed));
        runs.extend(self.chains.iter().cloned());
        sort_switches(&mut draft);
        shape::tell(&mut draft, &placed);
        lay::decide(&mut draft, &runs);
        (draft, placed)
    }
}

/// What stops it, what misses a target, what it costs.
fn trouble(draft: &Draft) -> (usize, usize, u64) {
    let count = |severity| draft.done.findings.iter().filter(|finding| finding.severity == severity).count();
    (count(Severity::Stop), count(Severity::Warn), cost::added(draft.plan, &draft.done.wiring))
}

/// Whether a wiring with this trouble is better than an attempt. Of what cannot be built, only less that stops it counts: its
/// cost means nothing.
fn is_better(trouble: (usize, usize, u64), attempt: &Attempt) -> bool {
    let harm = &attempt.harm;
    if harm.stops[0] > 0 { trouble.0 < harm.stops[0] } else { trouble < (0, harm.warnings, harm.cost) }
}

/// What is wrong with a wiring. A trial is not proved: whoever tries it does so.
fn harm(draft: &Draft) -> Harm {
    let (stops, warnings, cost) = trouble(draft);
    if draft.care == Care::Trial {
        return Harm { stops: [stops, 0], silencing: 0, shared: 0, warnings, cost };
    }
    let proof = prove(draft.plan, &draft.done.wiring, &Nowhere);
    let essential = |stream: &str| draft.plan.streams.get(stream).is_some_and(|stream| stream.essential);
    let silent = proof.failures.iter().flat_map(|line| &line.silent).map(|silent| silent.stream.as_str());
    let silencing = silent.filter(|stream| essential(stream)).collect::<BTreeSet<&str>>().len();
    let stopped = proof.findings.iter().filter(|finding| finding.severity == "stop").count();
    let shared = proof.findings.iter().filter(|finding| finding.severity == "warn" && finding.code.starts_with("fate/")).count();
    Harm { stops: [stops, stopped], silencing, shared, warnings, cost }
}

/// Why the first attempt was not kept.
fn refusal(first: &Attempt, kept: &Attempt) -> (String, String) {
    let says = format!("Not {}, but {} decides where switches stand.", first.from, kept.from);
    let [bad, good] = [&first.harm, &kept.harm];
    let because = if bad.stops != good.stops {
        format!("wired in full it leaves {} findings that stop the show, this one {}", sum(bad.stops), sum(good.stops))
    } else if bad.silencing != good.silencing {
        format!("with it single failures silence {} essential streams, with this one {}", bad.silencing, good.silencing)
    } else if bad.shared != good.shared {
        format!("with it both networks hang or lie together {} times, with this one {}", bad.shared, good.shared)
    } else if bad.warnings != good.warnings {
        format!("wired in full it misses {} targets, this one {}", bad.warnings, good.warnings)
    } else {
        "once all trunks are laid this one is cheaper".to_owned()
    };
    (says, because)
}

fn sum(stops: [usize; 2]) -> usize {
    stops[0] + stops[1]
}

#[cfg(test)]
mod tests;
