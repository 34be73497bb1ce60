//! Which places get switches and which place serves which: asked of the solver.
//!
//! The devices of one place stay together: all are wired to the switches of one place. Which one is asked of the solver of
//! `loomwright-placement`, with what switches, cables and trunks cost. A second question, with costs that no wiring can
//! undercut, gives the bound by which the finished wiring is measured ([`bound`]).

use crate::models::Model;
use crate::sites::{Sites, solver_cost};
use loomwright_placement::joined;
use loomwright_placement::price::Prices;
use loomwright_placement::{self as solver, Effort, Layer, MOST, Problem, Progress, Reach};
use std::collections::BTreeMap;

/// Which place serves which.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Placement {
    /// For every place with jacks: the place whose switches serve it.
    pub home: BTreeMap<usize, usize>,
}

impl Placement {
    /// Every place with switches of its own.
    pub fn everywhere(sites: &Sites) -> Self {
        Self { home: sites.places().into_iter().map(|place| (place, place)).collect() }
    }

    /// Places with switches, in plan order.
    pub fn open(&self) -> Vec<usize> {
        let mut open: Vec<usize> = self.home.values().copied().collect();
        open.sort_unstable();
        open.dedup();
        open
    }
}

/// What is asked: the switch types, how many places may have switches, and who may stop the search.
pub(crate) struct Question<'q, 'a> {
    pub models: &'q [Model<'a>],
    pub most: Option<usize>,
    pub keep_going: &'q mut dyn FnMut(Progress) -> bool,
}

/// Work for one design. Own choice: a plan of some dozen places is solved in a blink, one of two hundred in a second or two.
fn effort(places: usize, bounding: bool) -> Effort {
    let moves = (places as u64).saturating_mul(2_500).clamp(2_500, 150_000);
    match bounding {
        false => Effort { seeds: 2, moves, steps: 0, parts: 0 },
        true => Effort { seeds: 1, moves: moves / 4, steps: 400, parts: if places <= 40 { 60 } else { 6 } },
    }
}

/// Decides the places.
pub(crate) fn place(sites: &Sites, question: &mut Question) -> Placement {
    let places = sites.places();
    if places.is_empty() {
        return Placement::default();
    }
    let problem = problem(sites, question, false);
    let found = solver::solve(&problem, effort(places.len(), false), question.keep_going);
    let homes = found.home.iter().enumerate().filter_map(|(at, home)| Some((places[at], sites.candidates[(*home)?])));
    let mut placement = Placement { home: homes.collect() };
    let open = placement.open();
    for place in places {
        // Without a switch in reach it is left to any that is open; a finding says that it gets no port.
        let nearest = open.iter().copied().min_by_key(|open| (sites.any_way(place, *open), *open));
        let fallback = if question.most.is_some() { nearest.unwrap_or(place) } else { place };
        placement.home.entry(place).or_insert(fallback);
    }
    placement
}

/// Steps of the search through all sets of places. Own choice: some tenths of a second.
const STEPS: usize = 200_000;

/// The cheapest of all sets of places with the trees that join them, as far as costs are known before the cables lie; `None`
/// where there are too many places, or it is stopped by [`STEPS`] before it finds one.
pub(crate) fn place_joined(sites: &Sites, question: &Question) -> Option<Placement> {
    let problem = problem(sites, question, false);
    let found = joined::cheapest(&problem, &sites.trunks(), MOST, STEPS)?.home?;
    Some(Placement { home: sites.places().into_iter().zip(found).map(|(place, home)| (place, sites.candidates[home])).collect() })
}

/// What no wiring costs less than: in which the devices of a place share one place's switches, spare ports stay free and two
/// legs of a device lie apart where they can. `None` where some place is out of reach of all switches. Not above `cost`.
pub(crate) fn bound(sites: &Sites, question: &mut Question, cost: u64) -> Option<u64> {
    let problem = problem(sites, question, true);
    let exact = joined::cheapest(&problem, &sites.trunks(), solver_cost(cost), STEPS);
    let exact_bound = exact.as_ref().and_then(|found| u64::try_from(found.bound).ok());
    if exact.is_some_and(|found| found.finished) {
        return exact_bound;
    }
    let one = in_one_place(sites, question.models);
    if question.most.is_some_and(|most| most <= 1) || sites.candidates.len() < 2 {
        return one;
    }
    let found = solver::solve(&problem, effort(problem.places, true), question.keep_going);
    // One place of each network, the core, has no trunk of its own.
    let core: i64 = problem.layers.iter().map(|layer| layer.opening.iter().copied().max().unwrap_or(0)).sum();
    let several = (found.bound < MOST).then(|| u64::try_from(found.bound.saturating_sub(core)).unwrap_or(0));
    let simple = one.into_iter().chain(several).min();
    exact_bound.into_iter().chain(simple).max().map(|bound| bound.min(cost))
}

/// The least for switches in one place only: no trunk, no port kept for one.
fn in_one_place(sites: &Sites, models: &[Model]) -> Option<u64> {
    let places = sites.places();
    let usable = sites.usable(models);
    let needs: Vec<solver::Demand> = (0..sites.groups).map(|group| sites.needs(&places, group)).collect();
    let price = |needs: &solver::Demand| Prices::fewest(&usable, needs.ports, needs.power).cost(needs.ports, needs.power);
    let mut switches = needs.iter().map(|needs| price(needs).and_then(|cost| u64::try_from(cost).ok()));
    let switches = switches.try_fold(0u64, |sum, own| Some(sum.saturating_add(own?)))?;
    let cables =
        |to: usize| places.iter().map(|place| sites.least_reach(*place, to)).try_fold(0u64, |sum, own| Some(sum.saturating_add(own?)));
    sites.candidates.iter().filter_map(|to| cables(*to)).min().map(|cables| cables.saturating_add(switches))
}

/// The question as the solver takes it: with likely costs, or with those that no wiring undercuts.
fn problem(sites: &Sites, question: &Question, least: bool) -> Problem {
    let places = sites.places();
    let core = sites.middle();
    let opening = |place: &usize| match core {
        Some(core) if !least => sites.trunk(*place, core),
        _ => sites.trunk_to_nearest(*place),
    };
    let trunks: Vec<i64> = sites.candidates.iter().map(|place| solver_cost(opening(place))).collect();
    let reserved_ports = u32::from(question.most != Some(1));
    let layer = |_| Layer { models: sites.usable(question.models), opening: trunks.clone(), reserved_ports, fewest: true };
    let cost = |place: usize, to: usize| if least { sites.least_reach(place, to) } else { sites.reach(place, to) };
    let for_one = |place: usize, to: usize| Some(solver_cost(cost(place, to)? / sites.count(place).max(1) as u64));
    let reach = |place: usize| {
        let near = |(at, to): (usize, &usize)| Some(Reach { place: at, cost: for_one(place, *to)? });
        sites.candidates.iter().enumerate().filter_map(near).collect()
    };
    let item = |place: &usize| solver::Item {
        demand: (0..sites.groups).map(|group| sites.needs(&[*place], group)).collect(),
        reach: reach(*place),
    };
    Problem {
        places: sites.candidates.len(),
        layers: (0..sites.groups).map(layer).collect(),
        items: places.iter().map(item).collect(),
        most_open: question.most,
    }
}
