//! What is known of the places while switches are being placed: what stands there, what cables between them cost.

use crate::cost::CableCost;
use crate::demand::{self, Jack};
use crate::draft::Draft;
use crate::lengths;
use crate::models::Model;
use crate::racks::feeds_at;
use loomwright_model::{Length, Medium, Survive};
use loomwright_physical::disjoint::{self, Apart};
use loomwright_placement::joined::Trunks;
use loomwright_placement::{self as solver, Demand, MOST};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Millimetres from one place to every other; `None` where no way leads.
type Ways = BTreeMap<usize, Vec<Option<u64>>>;

/// The places with jacks, and those that could hold switches for them.
pub(crate) struct Sites<'a> {
    draft: &'a Draft<'a>,
    jacks: BTreeMap<usize, Vec<&'a Jack>>,
    /// Places that can have switches: those with jacks, and those with a power feed.
    pub candidates: Vec<usize>,
    copper: Ways,
    fibre: Ways,
    cost: CableCost,
    /// Whether two audio networks are to carry on alone.
    two_legs: bool,
    /// Places that hold a switch already.
    held: Vec<usize>,
    /// How many groups of networks there are.
    pub groups: usize,
    /// What [`Sites::two_ways`] found so far.
    known: RefCell<BTreeMap<[usize; 2], Apartness>>,
}

/// Whether two networks between two places can lie apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Apartness {
    /// Over copper, with the lengths of the two ways; whether no two are shorter in sum.
    Copper { ways: [u64; 2], is_shortest: bool },
    /// Over fibre only: switches in both places are then worth their price.
    FibreOnly,
    /// Not at all.
    Never,
}

impl<'a> Sites<'a> {
    /// Of these jacks.
    pub fn new(draft: &'a Draft<'a>, all: &'a [Jack]) -> Self {
        let mut jacks: BTreeMap<usize, Vec<&Jack>> = BTreeMap::new();
        all.iter().for_each(|jack| jacks.entry(jack.place).or_default().push(jack));
        let powered = draft.plan.places.values().enumerate().filter(|(_, place)| !place.feeds.is_empty()).map(|(index, _)| index);
        let mut candidates: Vec<usize> = jacks.keys().copied().chain(powered).collect();
        candidates.sort_unstable();
        candidates.dedup();
        let ways = |medium| candidates.iter().map(|place| (*place, draft.ways.distances(medium, *place))).collect();
        Self {
            copper: ways(Medium::Copper),
            fibre: ways(Medium::Fibre),
            two_legs: draft.plan.targets.survive != Survive::Nothing && demand::audio_networks(draft.plan).len() > 1,
            held: draft.done.wiring.switches.values().filter_map(|switch| draft.place_index(&switch.place)).collect(),
            groups: all.iter().map(|jack| jack.group + 1).max().unwrap_or(0),
            cost: CableCost::new(draft.plan),
            known: RefCell::default(),
            candidates,
            jacks,
            draft,
        }
    }

    /// Places with jacks, in plan order.
    pub fn places(&self) -> Vec<usize> {
        self.jacks.keys().copied().collect()
    }

    /// Whether a held switch stands in `place`.
    pub fn holds(&self, place: usize) -> bool {
        self.held.contains(&place)
    }

    /// Ports and milliwatts that the jacks of `places` need in one group.
    pub fn needs(&self, places: &[usize], group: usize) -> Demand {
        let own = || places.iter().filter_map(|place| self.jacks.get(place)).flatten().filter(|jack| jack.group == group);
        let power = own().filter(|jack| jack.poe.is_some()).map(|jack| jack.draws.milliwatts()).fold(0, u64::saturating_add);
        Demand { ports: u32::try_from(own().count()).unwrap_or(u32::MAX), power }
    }

    /// How many jacks `place` has.
    pub fn count(&self, place: usize) -> usize {
        self.jacks.get(&place).map_or(0, Vec::len)
    }

    /// Switch types as the solver sees them: spare ports taken off, power in milliwatts.
    pub fn usable(&self, models: &[Model]) -> Vec<solver::Model> {
        let spare = u64::from(self.draft.plan.targets.spare_ports.parts_per_million());
        let model = |model: &Model| {
            let ports = u64::from(model.gear.switch_port_count());
            let kept = (ports * spare).div_ceil(1_000_000);
            let feeds = model.gear.ports.iter().any(|port| port.poe.is_some());
            solver::Model {
                ports: u32::try_from(ports.saturating_sub(kept)).unwrap_or(u32::MAX),
                power: if feeds { model.gear.poe_budget.map_or(NO_LIMIT, |budget| budget.milliwatts()) } else { 0 },
                price: solver_cost(model.price.hundredths()),
                stock: model.left,
            }
        };
        models.iter().map(model).collect()
    }

    /// What the cables of all jacks in `place` to a switch in `to` cost, on the ways that they will probably take; `None`
    /// if not all of them can be laid.
    pub fn reach(&self, place: usize, to: usize) -> Option<u64> {
        let sum = self.straight(place, to)?;
        let Some([first, second]) = self.apart_on_copper(place, to)?.map(|(ways, _)| ways) else { return Some(sum) };
        let legs = [self.copper_jacks(place, 0), self.copper_jacks(place, 1)];
        let short = self.copper_cost(self.copper[&place][to].unwrap_or(first));
        let detour = [first, second].map(|way| self.copper_cost(way).saturating_sub(short));
        Some(sum.saturating_add(detour[0].saturating_mul(legs[0])).saturating_add(detour[1].saturating_mul(legs[1])))
    }

    /// No cables of all jacks in `place` to a switch in `to` cost less, if the two legs of a device are to lie apart.
    pub fn least_reach(&self, place: usize, to: usize) -> Option<u64> {
        let sum = self.straight(place, to)?;
        let Some((ways, true)) = self.apart_on_copper(place, to)? else { return Some(sum) };
        let pairs = self.copper_jacks(place, 0).min(self.copper_jacks(place, 1));
        let both = ways[0].saturating_add(ways[1]);
        let short = self.copper_cost(self.copper[&place][to].unwrap_or(ways[0]));
        // Of two ways one is at least half of their sum; pieces from stock are at least as long as way and ends.
        let halves = short.saturating_add(self.copper_cost(both.div_ceil(2)));
        let straight = self
            .cost
            .of_length(Medium::Copper, lengths::least_of_two(self.draft.plan, both))
            .saturating_add(self.cost.of_length(Medium::Copper, Length::ZERO));
        let detour = halves.max(straight).saturating_sub(short.saturating_mul(2));
        Some(sum.saturating_add(detour.saturating_mul(pairs)))
    }

    /// All cables on the shortest ways.
    fn straight(&self, place: usize, to: usize) -> Option<u64> {
        if place != to && (self.holds(place) || self.both_legs_on_one_feed(place, to)) {
            return None;
        }
        let over = |jack: &Jack| {
            let table = if jack.cable() == Medium::Copper { &self.copper } else { &self.fibre };
            let way = table.get(&place)?[to].filter(|way| lengths::within_reach(self.draft.plan, jack.cable(), *way))?;
            Some(self.cost.over(self.draft.plan, jack.cable(), way))
        };
        self.jacks.get(&place)?.iter().map(|jack| over(jack)).try_fold(0u64, |sum, own| Some(sum.saturating_add(own?)))
    }

    /// Whether both networks would hang on one feed at `to` although the devices in `place` hang on others.
    fn both_legs_on_one_feed(&self, place: usize, to: usize) -> bool {
        let own = feeds_at(self.draft, to);
        self.two_legs && own.len() == 1 && feeds_at(self.draft, place) != own
    }

    fn copper_cost(&self, way: u64) -> u64 {
        self.cost.over(self.draft.plan, Medium::Copper, way)
    }

    /// Copper jacks of one group in a place.
    fn copper_jacks(&self, place: usize, group: usize) -> u64 {
        self.jacks.get(&place).map_or(0, |own| own.iter().filter(|jack| jack.group == group && jack.cable() == Medium::Copper).count())
            as u64
    }

    /// Lengths of two ways apart over copper, where two legs need them and they are there. `None` where `to` must not serve
    /// `place`: the cables would have to lie together although trunks need not.
    fn apart_on_copper(&self, place: usize, to: usize) -> Option<Option<([u64; 2], bool)>> {
        if place == to || !self.two_legs {
            return Some(None);
        }
        match self.two_ways(place, to) {
            Apartness::Copper { ways, is_shortest } => Some(Some((ways, is_shortest))),
            Apartness::Never => Some(None),
            Apartness::FibreOnly => None,
        }
    }

    fn two_ways(&self, place: usize, to: usize) -> Apartness {
        if let Some(known) = self.known.borrow().get(&[place, to]) {
            return *known;
        }
        let draft = self.draft;
        let apart = |medium| {
            let pair = disjoint::pair(&draft.ways, medium, [place, to], Apart::Routes)?;
            let [one, other] = &pair.ways;
            draft.ways.risks(one).is_disjoint(&draft.ways.risks(other)).then_some(([one.length, other.length], pair.is_shortest))
        };
        let reaches = |longer: u64| lengths::within_reach(draft.plan, Medium::Copper, longer);
        let found = match apart(Medium::Copper).filter(|(ways, _)| reaches(ways[1])) {
            Some((ways, is_shortest)) => Apartness::Copper { ways, is_shortest },
            None if apart(Medium::Fibre).is_some() => Apartness::FibreOnly,
            None => Apartness::Never,
        };
        self.known.borrow_mut().insert([place, to], found);
        found
    }

    /// Millimetres over any medium.
    pub fn any_way(&self, place: usize, to: usize) -> u64 {
        let over = |table: &Ways| table.get(&place).and_then(|ways| ways[to]);
        [over(&self.copper), over(&self.fibre)].into_iter().flatten().min().unwrap_or(u64::MAX)
    }

    /// The place from which the ways to all jacks are shortest in sum: where the core will be, by all that is known yet.
    pub fn middle(&self) -> Option<usize> {
        let sum = |place: usize| {
            let ways = self.jacks.iter().map(|(other, jacks)| self.any_way(place, *other).min(FAR).saturating_mul(jacks.len() as u64));
            ways.fold(0, u64::saturating_add)
        };
        self.jacks.keys().copied().min_by_key(|place| (sum(*place), *place))
    }

    /// What one trunk from `place` to `core` costs; where none can be laid, one to the nearest place.
    pub fn trunk(&self, place: usize, core: usize) -> u64 {
        if place == core { 0 } else { self.trunk_between(place, core).unwrap_or_else(|| self.trunk_to_nearest(place)) }
    }

    /// What the cheapest trunk from `place` to any other place costs; 0 if none can be laid.
    pub fn trunk_to_nearest(&self, place: usize) -> u64 {
        self.candidates.iter().filter(|other| **other != place).filter_map(|other| self.trunk_between(place, *other)).min().unwrap_or(0)
    }

    fn trunk_between(&self, place: usize, to: usize) -> Option<u64> {
        [self.trunk_over(Medium::Copper, [place, to]), self.trunk_over(Medium::Fibre, [place, to])].into_iter().flatten().min()
    }

    fn trunk_over(&self, medium: Medium, [place, to]: [usize; 2]) -> Option<u64> {
        let table = if medium == Medium::Copper { &self.copper } else { &self.fibre };
        let way = table.get(&place)?[to].filter(|way| lengths::within_reach(self.draft.plan, medium, *way))?;
        Some(self.cost.over(self.draft.plan, medium, way))
    }

    /// What trunks between the candidates cost at least, and two of them that lie apart.
    pub fn trunks(&self) -> Trunks {
        let matrix = |cost: &dyn Fn(usize, usize) -> Option<u64>| -> Vec<Vec<Option<i64>>> {
            let row = |from: &usize| self.candidates.iter().map(|to| cost(*from, *to).map(solver_cost)).collect();
            self.candidates.iter().map(row).collect()
        };
        let apart = |from: usize, to: usize| self.two_trunks(from.min(to), from.max(to));
        Trunks {
            one: matrix(&|from, to| self.trunk_between(from, to)),
            apart: if self.two_legs { matrix(&apart) } else { Vec::new() },
            inside: solver_cost(self.cost.over(self.draft.plan, Medium::Copper, 0)),
        }
    }

    /// No two trunks between these places, one of each network, cost less if they lie apart. `None` if they cannot.
    fn two_trunks(&self, place: usize, to: usize) -> Option<u64> {
        if place == to {
            return None;
        }
        let plan = self.draft.plan;
        let both = |medium: Medium| {
            let pair = disjoint::pair(&self.draft.ways, medium, [place, to], Apart::Routes)?;
            let [one, other] = &pair.ways;
            let reaches = lengths::within_reach(plan, medium, one.length.max(other.length));
            let are_apart = self.draft.ways.risks(one).is_disjoint(&self.draft.ways.risks(other));
            let one = self.trunk_over(medium, [place, to])?;
            // Of two ways one is at least half of their sum.
            let halves = one.saturating_add(self.cost.over(plan, medium, pair.length().div_ceil(2)));
            let straight = self.cost.of_length(medium, lengths::least_of_two(plan, pair.length()));
            let straight = straight.saturating_add(self.cost.of_length(medium, Length::ZERO));
            (reaches && are_apart).then(|| if pair.is_shortest { halves.max(straight) } else { one.saturating_mul(2) })
        };
        let mixed = || Some(self.trunk_over(Medium::Copper, [place, to])?.saturating_add(self.trunk_over(Medium::Fibre, [place, to])?));
        [both(Medium::Copper), both(Medium::Fibre)].into_iter().flatten().min().map(|both| both.min(mixed().unwrap_or(both)))
    }
}

/// Millimetres that stand for "no way" when places are compared: farther than any venue is wide.
const FAR: u64 = 1_000_000_000;

/// Milliwatts of a switch whose budget is not known. Own choice: more than any plan asks for.
const NO_LIMIT: u64 = 1_000_000_000_000;

/// A cost as the solver counts, capped.
pub(crate) fn solver_cost(hundredths: u64) -> i64 {
    i64::try_from(hundredths).unwrap_or(MOST).min(MOST)
}
