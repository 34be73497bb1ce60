//! Chooses the medium and the way of cables between two places, so that the networks stay apart.
//!
//! Cables of one network between the same two places lie together: their **lane** is chosen once. The first network
//! takes a lane that leaves the second one a way of its own; the second keeps off everything that the first has laid.

use crate::lengths;
use loomwright_model::{Medium, Plan, Survive};
use loomwright_physical::disjoint::{self, Apart};
use loomwright_physical::ways::{Way, Ways};
use std::collections::{BTreeMap, BTreeSet};

/// What a lane is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Lane {
    pub group: usize,
    /// The two places, lower index first.
    pub places: [usize; 2],
    /// A ring's second trunk: keeps off the first trunks of its own network too.
    pub second: bool,
}

/// Copper or fibre, with an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Cable {
    Copper,
    Fibre,
}

impl Cable {
    /// What a cable of `medium` is.
    pub fn of(medium: Medium) -> Self {
        if medium == Medium::Copper { Self::Copper } else { Self::Fibre }
    }

    /// As a medium.
    pub fn medium(self) -> Medium {
        match self {
            Self::Copper => Medium::Copper,
            Self::Fibre => Medium::Fibre,
        }
    }
}

/// A way that a lane can take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Choice {
    pub cable: Cable,
    /// From the place with the lower index to the other.
    pub way: Way,
}

/// Lanes that are chosen.
#[derive(Debug, Clone, Default)]
pub(crate) struct Lanes {
    known: BTreeMap<Lane, Vec<Choice>>,
    /// What the cables of each group go through.
    laid: BTreeMap<usize, BTreeSet<usize>>,
    /// Ways between two places that are taken, with their group.
    taken: BTreeMap<[usize; 2], Vec<(usize, Way)>>,
}

impl Lanes {
    /// The ways that `lane` can take, best first; at most one for each medium. Chosen once, then always the same.
    pub fn choices(&mut self, plan: &Plan, ways: &Ways, mut lane: Lane) -> Vec<Choice> {
        lane.places.sort_unstable();
        if let Some(known) = self.known.get(&lane) {
            return known.clone();
        }
        let choices = Search { plan, ways, lane, lanes: self }.choices();
        self.known.insert(lane, choices.clone());
        choices
    }

    /// Notes that cables lie in `lane` by `choice`: others keep off it.
    pub fn take(&mut self, ways: &Ways, mut lane: Lane, choice: &Choice) {
        lane.places.sort_unstable();
        let taken = self.taken.entry(lane.places).or_default();
        if !taken.iter().any(|(group, way)| *group == lane.group && *way == choice.way) {
            taken.push((lane.group, choice.way.clone()));
            self.laid.entry(lane.group).or_default().extend(ways.risks(&choice.way));
        }
    }
}

/// What is known while one lane is chosen.
struct Search<'s> {
    plan: &'s Plan,
    ways: &'s Ways,
    lane: Lane,
    lanes: &'s Lanes,
}

/// Risks shared with the lane's twin, risks shared with other networks, not in stock, order of the medium, length.
type Rank = (usize, usize, bool, usize, u64);

impl Search<'_> {
    fn choices(&self) -> Vec<Choice> {
        let mut ranked: Vec<(Rank, Choice)> = Vec::new();
        for (order, cable) in [Cable::Copper, Cable::Fibre].into_iter().enumerate() {
            let rank = |way: &Way| self.rank(cable, order, way);
            let best = self.candidates(cable).into_iter().map(|way| (rank(&way), way)).min_by_key(|(rank, _)| *rank);
            ranked.extend(best.map(|(rank, way)| (rank, Choice { cable, way })));
        }
        ranked.sort_by_key(|(rank, _)| *rank);
        ranked.into_iter().map(|(_, choice)| choice).collect()
    }

    fn candidates(&self, cable: Cable) -> Vec<Way> {
        let (medium, [from, to]) = (cable.medium(), self.lane.places);
        let mut candidates: Vec<Way> = self.ways.shortest(medium, from, to).into_iter().collect();
        if self.matters() && from != to {
            candidates.extend(disjoint::pair(self.ways, medium, [from, to], Apart::Routes).into_iter().flat_map(|pair| pair.ways));
            candidates.extend(self.ways.avoiding(medium, [from, to], &self.others()));
            candidates.extend(self.twins().iter().filter_map(|twin| self.ways.avoiding(medium, [from, to], &self.ways.risks(twin))));
        }
        candidates.retain(|way| lengths::within_reach(self.plan, medium, way.length));
        candidates
    }

    /// Whether it matters that ways share nothing.
    fn matters(&self) -> bool {
        self.plan.targets.survive != Survive::Nothing
    }

    /// Ways between the same places that are taken and should share nothing with this one.
    fn twins(&self) -> Vec<&Way> {
        let taken = self.lanes.taken.get(&self.lane.places).map_or(&[][..], Vec::as_slice);
        taken.iter().filter(|(group, _)| *group != self.lane.group || self.lane.second).map(|(_, way)| way).collect()
    }

    /// Everything that the cables of the other groups go through; of this one too for a second way.
    fn others(&self) -> BTreeSet<usize> {
        let counts = |group: usize| group != self.lane.group || self.lane.second;
        self.lanes.laid.iter().filter(|(group, _)| counts(**group)).flat_map(|(_, risks)| risks).copied().collect()
    }

    fn rank(&self, cable: Cable, order: usize, way: &Way) -> Rank {
        let spare = !lengths::cut(self.plan, cable.medium(), way.length).in_stock;
        if !self.matters() {
            return (0, 0, spare, order, way.length);
        }
        let risks = self.ways.risks(way);
        let shared = |other: &Way| self.ways.risks(other).intersection(&risks).count();
        let twins = self.twins();
        let twin = if twins.is_empty() { self.left_for_second(&risks) } else { twins.into_iter().map(shared).min().unwrap_or(0) };
        (twin, self.others().intersection(&risks).count(), spare, order, way.length)
    }

    /// How many risks a second lane between the same places would have to share with one through `risks`.
    fn left_for_second(&self, risks: &BTreeSet<usize>) -> usize {
        let second = |cable: Cable| {
            let way = self.ways.avoiding(cable.medium(), self.lane.places, risks)?;
            let reaches = lengths::within_reach(self.plan, cable.medium(), way.length);
            reaches.then(|| self.ways.risks(&way).intersection(risks).count())
        };
        [Cable::Copper, Cable::Fibre].into_iter().filter_map(second).min().unwrap_or(risks.len())
    }
}
