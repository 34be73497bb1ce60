//! Decides which places get switches and which place serves which.
//!
//! Every place with devices starts with switches of its own. Then the place whose closing saves most is closed,
//! its devices being wired to the nearest place within reach, until closing saves nothing more. O(places^3).

use crate::demand::{self, Jack};
use crate::draft::Draft;
use crate::lengths;
use crate::models::Model;
use loomwright_model::{Length, Medium, Money, Survive};
use loomwright_physical::disjoint::{self, Apart};
use loomwright_physical::ways::Way;
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Costs where the plan names none, in hundredths per metre or end. Own choice, only to compare designs.
const COPPER_METRE: u64 = 200;
const FIBRE_METRE: u64 = 300;
const CABLE_END: u64 = 500;

/// What cable costs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CableCost {
    copper_metre: u64,
    fibre_metre: u64,
    end: u64,
}

impl CableCost {
    /// From the plan's labour and material, else the defaults.
    pub fn new(draft: &Draft) -> Self {
        let labour = &draft.plan.labour;
        let metre = |material: Option<Money>, default| match (labour.per_metre, material) {
            (None, None) => default,
            (lay, material) => lay.unwrap_or_default().hundredths().saturating_add(material.unwrap_or_default().hundredths()),
        };
        Self {
            copper_metre: metre(labour.copper_per_metre, COPPER_METRE),
            fibre_metre: metre(labour.fibre_per_metre, FIBRE_METRE),
            end: labour.per_end.map_or(CABLE_END, Money::hundredths),
        }
    }

    /// One cable over `way` millimetres, both ends plugged.
    pub fn cable(&self, medium: Medium, way: u64) -> u64 {
        self.of_length(medium, Length::from_millimetres(lengths::with_slack(way)))
    }

    /// One cable of this length, both ends plugged.
    pub fn of_length(&self, medium: Medium, length: Length) -> u64 {
        let metre = if medium == Medium::Copper { self.copper_metre } else { self.fibre_metre };
        (length.millimetres().saturating_mul(metre) / 1_000).saturating_add(self.end.saturating_mul(2))
    }
}

/// Which place serves which.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Placement {
    /// For every place with jacks: the place whose switches serve it.
    pub home: BTreeMap<usize, usize>,
}

impl Placement {
    /// Places with switches, in plan order.
    pub fn open(&self) -> Vec<usize> {
        let mut open: Vec<usize> = self.home.values().copied().collect();
        open.sort_unstable();
        open.dedup();
        open
    }
}

/// What stands in one place.
#[derive(Debug, Clone, Default)]
struct Load {
    /// Jacks by group.
    by_group: Vec<usize>,
    copper: bool,
    fibre: bool,
    powered: bool,
}

/// The search.
struct Search<'a> {
    loads: BTreeMap<usize, Load>,
    /// Millimetres from a place (key) to every place, over copper and over fibre.
    copper: BTreeMap<usize, Vec<Option<u64>>>,
    fibre: BTreeMap<usize, Vec<Option<u64>>>,
    /// Switch cost by number of jacks, for places without and with powered devices.
    prices: [Vec<u64>; 2],
    cost: CableCost,
    draft: &'a Draft<'a>,
    /// Whether two audio networks are to carry on alone.
    two_legs: bool,
    /// What [`Search::keeps_apart`] found so far.
    apart: RefCell<BTreeMap<[usize; 2], bool>>,
    /// Places that hold a switch already.
    held: Vec<usize>,
}

/// Decides the places. `most` is how many places may have switches.
pub(crate) fn place(draft: &Draft, jacks: &[Jack], models: &[Model], most: Option<usize>) -> Placement {
    let search = Search::new(draft, jacks, models);
    let mut placement = Placement { home: search.loads.keys().map(|place| (*place, *place)).collect() };
    loop {
        let open = placement.open();
        let forced = most.is_some_and(|most| open.len() > most.max(1));
        let best = open
            .iter()
            .filter(|place| !search.held.contains(place))
            .filter_map(|place| search.closing(&placement, *place, forced))
            .min_by_key(|(saved, next)| (std::cmp::Reverse(*saved), next.home.clone()));
        match best {
            Some((saved, next)) if saved > 0 || forced => placement = next,
            _ => return placement,
        }
    }
}

impl<'a> Search<'a> {
    fn new(draft: &'a Draft, jacks: &[Jack], models: &[Model]) -> Self {
        let mut loads: BTreeMap<usize, Load> = BTreeMap::new();
        let groups = jacks.iter().map(|jack| jack.group + 1).max().unwrap_or(0);
        for jack in jacks {
            let load = loads.entry(jack.place).or_default();
            load.by_group.resize(groups, 0);
            load.by_group[jack.group] += 1;
            load.copper |= jack.medium == Medium::Copper;
            load.fibre |= jack.medium != Medium::Copper;
            load.powered |= jack.poe.is_some();
        }
        let two_legs = draft.plan.targets.survive != Survive::Nothing && demand::audio_networks(draft.plan).len() > 1;
        let ways = |medium| loads.keys().map(|place| (*place, draft.ways.distances(medium, *place))).collect();
        let held = draft.done.wiring.switches.values().filter_map(|switch| draft.place_index(&switch.place)).collect();
        let prices = [false, true].map(|powered| price_table(draft, models, powered, jacks.len() + 1));
        Self {
            copper: ways(Medium::Copper),
            fibre: ways(Medium::Fibre),
            loads,
            prices,
            cost: CableCost::new(draft),
            draft,
            two_legs,
            apart: RefCell::default(),
            held,
        }
    }

    /// How far the cables from `place` to a switch in `to` run, if all of them can.
    fn reach(&self, place: usize, to: usize) -> Option<u64> {
        let load = self.loads.get(&place)?;
        let over = |medium, table: &BTreeMap<usize, Vec<Option<u64>>>| {
            table.get(&place)?[to].filter(|way| lengths::within_reach(self.draft.plan, medium, *way))
        };
        let copper = if load.copper { over(Medium::Copper, &self.copper)? } else { 0 };
        let fibre = if load.fibre { over(Medium::Fibre, &self.fibre)? } else { 0 };
        self.keeps_apart(place, to).then_some(copper.max(fibre))
    }

    /// False where the cables of two networks would have to lie together although trunks need not: own switches are
    /// then worth their price.
    fn keeps_apart(&self, place: usize, to: usize) -> bool {
        if place == to || !self.two_legs {
            return true;
        }
        if let Some(known) = self.apart.borrow().get(&[place, to]) {
            return *known;
        }
        let draft = self.draft;
        let apart = |medium| {
            let pair = disjoint::pair(&draft.ways, medium, [place, to], Apart::Routes).map(|pair| pair.ways);
            pair.filter(|[one, other]| draft.ways.risks(one).is_disjoint(&draft.ways.risks(other)))
        };
        let reaches = |[_, longer]: &[Way; 2]| lengths::within_reach(draft.plan, Medium::Copper, longer.length);
        let kept = apart(Medium::Copper).is_some_and(|pair| reaches(&pair)) || apart(Medium::Fibre).is_none();
        self.apart.borrow_mut().insert([place, to], kept);
        kept
    }

    /// What the switches for `loads` cost, a trunk port each counted in.
    fn switches(&self, places: &[usize]) -> u64 {
        let loads: Vec<&Load> = places.iter().filter_map(|place| self.loads.get(place)).collect();
        let groups = loads.first().map_or(0, |load| load.by_group.len());
        let table = &self.prices[usize::from(loads.iter().any(|load| load.powered))];
        let count = |group: usize| loads.iter().map(|load| load.by_group[group]).sum::<usize>();
        (0..groups).map(count).filter(|count| *count > 0).map(|count| table[count + 1]).fold(0, u64::saturating_add)
    }

    /// The placement without switches in `place`, and what it saves (negative: what it costs more).
    /// `None` if its devices would be out of reach, unless closing is `forced`.
    fn closing(&self, placement: &Placement, place: usize, forced: bool) -> Option<(i128, Placement)> {
        let open: Vec<usize> = placement.open().into_iter().filter(|other| *other != place).collect();
        let moved: Vec<usize> = placement.home.iter().filter(|(_, home)| **home == place).map(|(from, _)| *from).collect();
        let mut next = placement.clone();
        let mut lost: i128 = 0;
        for from in &moved {
            let nearest = open.iter().filter_map(|to| Some((self.reach(*from, *to)?, *to))).min();
            match nearest {
                Some((_, to)) => next.home.insert(*from, to),
                None if forced && !open.is_empty() => {
                    lost -= OUT_OF_REACH;
                    next.home.insert(*from, open[0])
                }
                None => return None,
            };
        }
        let touched: Vec<usize> = moved.iter().map(|from| next.home[from]).chain([place]).collect();
        let saved = self.part_cost(placement, &touched) - self.part_cost(&next, &touched);
        Some((saved + lost, next))
    }

    /// What the places that `homes` serve cost: switches, access cables and one trunk for each group.
    fn part_cost(&self, placement: &Placement, homes: &[usize]) -> i128 {
        let mut homes = homes.to_vec();
        homes.sort_unstable();
        homes.dedup();
        homes.iter().map(|home| self.home_cost(placement, *home)).sum()
    }

    fn home_cost(&self, placement: &Placement, home: usize) -> i128 {
        let served: Vec<usize> = placement.home.iter().filter(|(_, at)| **at == home).map(|(from, _)| *from).collect();
        if served.is_empty() {
            return 0;
        }
        let mut total = i128::from(self.switches(&served));
        for place in &served {
            let way = self.reach(*place, home).unwrap_or(0);
            let jacks: usize = self.loads[place].by_group.iter().sum();
            total += i128::from(self.cost.cable(Medium::Copper, way)) * jacks as i128;
        }
        let groups = self.loads[&served[0]].by_group.iter().filter(|count| **count > 0).count();
        total + i128::from(self.trunk(home)) * groups as i128
    }

    /// What one trunk from `home` to the nearest other place with devices costs.
    fn trunk(&self, home: usize) -> u64 {
        let Some(fibre) = self.fibre.get(&home) else { return 0 };
        let copper = &self.copper[&home];
        let others = self.loads.keys().filter(|place| **place != home);
        others
            .filter_map(|place| [fibre[*place], copper[*place]].into_iter().flatten().min())
            .min()
            .map_or(0, |way| self.cost.cable(Medium::Fibre, way))
    }
}

/// What leaving one place out of reach is worth avoiding, in hundredths.
const OUT_OF_REACH: i128 = 1_000_000_000_000;

/// The least that switches for 0, 1, 2 .. `most` jacks cost. O(jacks x types).
fn price_table(draft: &Draft, models: &[Model], powered: bool, most: usize) -> Vec<u64> {
    let spare = draft.plan.targets.spare_ports;
    let sizes: Vec<(usize, u64)> = models
        .iter()
        .filter(|model| !powered || model.gear.ports.iter().any(|port| port.poe.is_some()))
        .map(|model| {
            let ports = u64::from(model.gear.switch_port_count());
            ((ports - spare.of(ports)) as usize, model.price.hundredths())
        })
        .filter(|(ports, _)| *ports > 1)
        .collect();
    let mut table = vec![0u64];
    for jacks in 1..=most {
        let least = sizes.iter().map(|(ports, price)| table[jacks.saturating_sub(*ports)].saturating_add(*price)).min();
        table.push(least.unwrap_or(0));
    }
    table
}
