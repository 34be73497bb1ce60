//! A second opinion on which places get switches, by closing places one after the other.
//!
//! Every place with devices starts with switches of its own. Then the place whose closing saves most is closed,
//! its devices being wired to the nearest place within reach, until closing saves nothing more. O(places^3).

use crate::models::Model;
use crate::placement::Placement;
use crate::sites::Sites;
use loomwright_placement::price::Prices;

/// The search.
struct Search<'s, 'a> {
    sites: &'s Sites<'a>,
    /// What switches for so many ports and so much power cost.
    prices: Prices,
    /// For every place with switches: what its trunks cost, all networks together.
    trunks: Vec<u64>,
}

/// Decides the places. `most` is how many places may have switches.
pub(crate) fn place(sites: &Sites, models: &[Model], most: Option<usize>) -> Placement {
    let needs = (0..sites.groups).map(|group| sites.needs(&sites.places(), group));
    let (ports, power) = needs.fold((0, 0), |most, own| (most.0.max(own.ports), most.1.max(own.power)));
    let prices = Prices::fewest(&sites.usable(models), ports.saturating_add(1), power);
    let trunks = sites.places().iter().map(|place| sites.trunk_to_nearest(*place)).collect();
    let search = Search { sites, prices, trunks };
    let mut placement = Placement { home: sites.places().into_iter().map(|place| (place, place)).collect() };
    loop {
        let open = placement.open();
        let forced = most.is_some_and(|most| open.len() > most.max(1));
        let best = open
            .iter()
            .filter(|place| !sites.holds(**place))
            .filter_map(|place| search.closing(&placement, *place, forced))
            .min_by_key(|(saved, next)| (std::cmp::Reverse(*saved), next.home.clone()));
        match best {
            Some((saved, next)) if saved > 0 || forced => placement = next,
            _ => return placement,
        }
    }
}

impl Search<'_, '_> {
    /// The placement without switches in `place`, and what it saves (negative: what it costs more).
    /// `None` if its devices would be out of reach, unless closing is `forced`.
    fn closing(&self, placement: &Placement, place: usize, forced: bool) -> Option<(i128, Placement)> {
        let open: Vec<usize> = placement.open().into_iter().filter(|other| *other != place).collect();
        let moved: Vec<usize> = placement.home.iter().filter(|(_, home)| **home == place).map(|(from, _)| *from).collect();
        let mut next = placement.clone();
        let mut lost: i128 = 0;
        for from in &moved {
            let nearest = open.iter().filter_map(|to| Some((self.sites.reach(*from, *to)?, *to))).min();
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
        Some((self.part_cost(placement, &touched) - self.part_cost(&next, &touched) + lost, next))
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
        let needs = (0..self.sites.groups).map(|group| self.sites.needs(&served, group)).filter(|needs| needs.ports > 0);
        let switches = needs.clone().map(|needs| self.prices.cost(needs.ports + 1, needs.power).map_or(OUT_OF_REACH, i128::from));
        let cables = served.iter().map(|place| i128::from(self.sites.reach(*place, home).unwrap_or(0)));
        let trunk = self.sites.places().iter().position(|place| *place == home).map_or(0, |at| self.trunks[at]);
        switches.sum::<i128>() + cables.sum::<i128>() + i128::from(trunk) * needs.count() as i128
    }
}

/// What leaving one place out of reach is worth avoiding, in hundredths.
const OUT_OF_REACH: i128 = 1_000_000_000_000;
