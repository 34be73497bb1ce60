//! Few places, looked at set by set: switches, cables and the trunks that join them, exactly.
//!
//! The search of [`crate::solve`] knows a trunk only as a price for having switches in a place. Here every set of places
//! is taken in turn, with the shortest tree over it in each layer, trunk ports counted by the trunks that end there, and a
//! trunk between switches side by side.
//!
//! **Shape** (branch and bound): sets in order of what they cost at least: tree, each item to its nearest place, the
//! smallest switches. Within a set items are given to places one by one, biggest first, as long as what is settled stays
//! below the best answer. All sets whose least cost reaches it are done with. If the number of steps runs out, what is
//! left open bounds the answer from below, so the bound holds all the same.
//!
//! Where two layers must lie apart (the same place must not lose both at once), think of both trees as hung up at the same
//! place: every other place then has one trunk in each that leads there, and these two lie apart. The sum of the cheapest
//! such pairs is a bound on both trees together.

use crate::instance::{Instance, Load, NEVER, Plane};
use crate::problem::{Cost, MOST, Problem};

/// Most places that every set is made of. Own choice: 4,095 sets.
pub const MOST_PLACES: usize = 12;

/// What trunks cost.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Trunks {
    /// Between two places; `None` where none can be laid.
    pub one: Vec<Vec<Option<Cost>>>,
    /// Between the same two places in the first two layers, laid apart: both together. Empty where nothing has to lie apart;
    /// `None` where they cannot.
    pub apart: Vec<Vec<Option<Cost>>>,
    /// Between switches side by side.
    pub inside: Cost,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Joined {
    /// By item: the place that serves it in the cheapest answer below the limit; `None` if there is none below it.
    pub home: Option<Vec<usize>>,
    /// No answer costs less.
    pub bound: Cost,
    /// Whether every set was looked at to the end.
    pub finished: bool,
}

/// The cheapest answer below `limit`, within so many `steps`. `None` where there are too many places or an item can be
/// served nowhere. The opening costs and reserved ports of the problem are not looked at, nor is the stock.
pub fn cheapest(problem: &Problem, trunks: &Trunks, limit: Cost, steps: usize) -> Option<Joined> {
    let count = problem.places;
    if count == 0 || count > MOST_PLACES || problem.items.is_empty() || problem.layers.is_empty() {
        return None;
    }
    let board = Board::new(problem, trunks);
    if (0..board.instance.items).any(|item| board.instance.is_stranded(item)) {
        return None;
    }
    let mut sets: Vec<(Cost, usize)> = (1..1usize << count).filter_map(|set| Some((board.least(set)?, set))).collect();
    sets.sort_unstable();
    let mut search = Search::new(&board, limit, steps);
    let mut open = Cost::MAX;
    for (least, set) in sets {
        if least >= search.best {
            break;
        }
        if search.steps == 0 {
            open = open.min(least);
            break;
        }
        search.look_at(set);
        if search.steps == 0 {
            open = open.min(least);
        }
    }
    Some(Joined { bound: open.min(search.best), finished: open == Cost::MAX, home: search.best_home })
}

/// Places of a set.
fn places(set: usize) -> impl Iterator<Item = usize> + Clone {
    (0..MOST_PLACES).filter(move |place| set >> place & 1 == 1)
}

/// The problem with what is worked out once.
struct Board<'t> {
    instance: Instance,
    trunks: &'t Trunks,
    prices: Vec<Price>,
    /// By set: what the shortest tree over it costs, and how many trunks it has.
    trees: Vec<(Cost, u32)>,
    /// By set: the least tree over it and any more.
    grown: Vec<Cost>,
    /// By layer: whether every item has ports in it.
    is_full: Vec<bool>,
    /// By layer: the fewest ports of an item that has any.
    fewest: Vec<u32>,
}

impl<'t> Board<'t> {
    fn new(problem: &Problem, trunks: &'t Trunks) -> Self {
        let count = problem.places;
        let mut wider = problem.clone();
        // Each place may have a trunk to every other, and switches side by side.
        wider.layers.iter_mut().for_each(|layer| layer.reserved_ports = EXTRA + count as u32);
        let instance = Instance::new(&wider);
        let prices = instance.planes.iter().zip(&problem.layers);
        let prices = prices.map(|(plane, layer)| Price::new(plane, layer.models.len(), trunks.inside)).collect();
        let trees: Vec<(Cost, u32)> = (0..1usize << count).map(|set| tree(&trunks.one, set)).collect();
        let mut grown: Vec<Cost> = trees.iter().map(|tree| tree.0).collect();
        for place in 0..count {
            for set in (0..grown.len()).filter(|set| set >> place & 1 == 0) {
                grown[set] = grown[set].min(grown[set | 1 << place]);
            }
        }
        let ports = |layer: usize| instance.planes[layer].least.iter().map(|need| need.ports);
        let layers = instance.planes.len();
        let is_full = (0..layers).map(|layer| ports(layer).all(|ports| ports > 0)).collect();
        let fewest = (0..layers).map(|layer| ports(layer).filter(|ports| *ports > 0).min().unwrap_or(0)).collect();
        Self { prices, trees, grown, is_full, fewest, instance, trunks }
    }

    /// What switches in exactly this set cost at least; `None` if some item is out of its reach.
    fn least(&self, set: usize) -> Option<Cost> {
        let size = set.count_ones();
        if size as usize > self.instance.most_open {
            return None;
        }
        let mut sum = 0;
        for item in 0..self.instance.items {
            let near = places(set).map(|place| self.instance.cable(item, place)).min().filter(|cost| *cost < MOST)?;
            sum += near;
        }
        let masks: Vec<usize> = self.is_full.iter().map(|full| if *full { set } else { 0 }).collect();
        let loads = |layer: usize| if self.is_full[layer] { self.fewest[layer] } else { 0 };
        let own = |layer: usize| self.prices[layer].floor(Load { ports: loads(layer), level: 0 }, u32::from(size > 1));
        let switches: Cost = (0..masks.len()).map(|layer| own(layer) * i64::from(size)).sum();
        Some(sum + switches + self.joining(&masks, set))
    }

    /// What trunks cost at least if the places with switches are these in each layer, and perhaps more where not every item
    /// has ports in it.
    fn joining(&self, masks: &[usize], set: usize) -> Cost {
        let one = |(layer, mask): (usize, &usize)| if self.is_full[layer] { self.trees[*mask].0 } else { self.grown[*mask] };
        let sum: Cost = masks.iter().enumerate().map(one).sum();
        let Some([first, second]) = masks.get(..2).filter(|_| !self.trunks.apart.is_empty()) else { return sum };
        let others: Cost = masks.iter().enumerate().skip(2).map(one).sum();
        sum.max(others + self.apart(first & second, set))
    }

    /// What both trees over `both` cost at least, lying apart at every place.
    fn apart(&self, both: usize, set: usize) -> Cost {
        let own: Vec<Cost> = places(both).map(|place| self.pair(place, set)).collect();
        // Any place may be the one that both are hung up at, so it may be the one that counts least.
        own.iter().sum::<Cost>() - own.iter().copied().min().unwrap_or(0)
    }

    /// The cheapest two trunks from `place`, one in each layer, that lie apart as far as they can.
    fn pair(&self, place: usize, set: usize) -> Cost {
        let one = |to: usize| self.trunks.one[place][to];
        let others = || places(set).filter(move |to| *to != place);
        let same = others().filter_map(|to| self.trunks.apart[place][to].or_else(|| Some(one(to)? * 2))).min();
        let mut singles: Vec<Cost> = others().filter_map(one).collect();
        singles.sort_unstable();
        let different = singles.get(..2).map(|two| two[0] + two[1]);
        same.into_iter().chain(different).min().unwrap_or(0)
    }
}

/// The shortest tree over a set, or the shortest trees where no way joins all: cost and trunks.
fn tree(one: &[Vec<Option<Cost>>], set: usize) -> (Cost, u32) {
    let mut ends: Vec<(Cost, usize, usize)> = Vec::new();
    for from in places(set) {
        ends.extend(places(set).filter(|to| *to > from).filter_map(|to| Some((one[from][to]?, from, to))));
    }
    ends.sort_unstable();
    let mut part: Vec<usize> = (0..MOST_PLACES).collect();
    let (mut sum, mut count) = (0, 0);
    for (cost, from, to) in ends {
        let [keep, gone] = [part[from], part[to]];
        if keep != gone {
            part.iter_mut().filter(|own| **own == gone).for_each(|own| *own = keep);
            (sum, count) = (sum + cost, count + 1);
        }
    }
    (sum, count)
}

/// Most ports that trunks between switches side by side take in one place. Own choice: five switches.
const EXTRA: u32 = 8;

/// What the switches of one place cost in one layer, trunk ports included.
struct Price {
    /// By ports of items and trunks, then power level: exactly, and that or more.
    exact: Vec<Cost>,
    floor: Vec<Cost>,
    ports: u32,
    levels: u32,
}

impl Price {
    fn new(plane: &Plane, models: usize, inside: Cost) -> Self {
        let (ports, levels) = (plane.table.ports + plane.reserved - EXTRA, plane.table.levels);
        let side_by_side = |ports: u32, level: u32| {
            let power = u64::from(level) * plane.unit;
            // So many switches must do, two ports less for every one beyond the first.
            let fits = |more: u32| {
                let wanted = ports + 2 * more;
                let count: u32 = plane.prices.bundle(wanted, power, models)?.iter().sum();
                (count <= more + 1).then(|| plane.prices.cost(wanted, power).unwrap_or(NEVER) + inside * i64::from(more))
            };
            let none = plane.prices.cost(ports, power).is_none();
            if none { NEVER } else { (0..=EXTRA / 2).find_map(fits).unwrap_or_else(|| plane.prices.cost(ports, power).unwrap_or(NEVER)) }
        };
        let mut exact = Vec::with_capacity((ports as usize + 1) * (levels as usize + 1));
        for own in 0..=ports {
            exact.extend((0..=levels).map(|level| if own == 0 { 0 } else { side_by_side(own, level) }));
        }
        let (mut floor, width) = (exact.clone(), levels as usize + 1);
        for at in (width..floor.len()).rev() {
            let more_power = if at % width + 1 < width { floor[at + 1] } else { NEVER };
            floor[at] = floor[at].min(more_power).min(floor.get(at + width).copied().unwrap_or(NEVER));
        }
        Self { exact, floor, ports, levels }
    }

    fn at(&self, load: Load, trunks: u32) -> Option<usize> {
        let ports = load.ports + trunks;
        (ports <= self.ports && load.level <= self.levels).then(|| ports as usize * (self.levels as usize + 1) + load.level as usize)
    }

    /// With so many trunks.
    fn exact(&self, load: Load, trunks: u32) -> Cost {
        if load.ports == 0 { 0 } else { self.at(load, trunks).map_or(NEVER, |at| self.exact[at]) }
    }

    /// With so many trunks, more of anything, or both.
    fn floor(&self, load: Load, trunks: u32) -> Cost {
        if load.ports == 0 { 0 } else { self.at(load, trunks).map_or(NEVER, |at| self.floor[at]) }
    }
}

/// The items of one set being given out.
struct Search<'b, 't> {
    board: &'b Board<'t>,
    /// Items, the biggest first.
    order: Vec<usize>,
    /// By place, then layer.
    loads: Vec<Vec<Load>>,
    home: Vec<usize>,
    set: usize,
    /// By position in the order: cables of all from there on to their nearest places of the set.
    rest: Vec<Cost>,
    best: Cost,
    best_home: Option<Vec<usize>>,
    steps: usize,
}

impl<'b, 't> Search<'b, 't> {
    fn new(board: &'b Board<'t>, limit: Cost, steps: usize) -> Self {
        let instance = &board.instance;
        let ports = |item: usize| instance.planes.iter().map(|plane| plane.least[item].ports).sum::<u32>();
        let mut order: Vec<usize> = (0..instance.items).collect();
        order.sort_by_key(|item| (std::cmp::Reverse(ports(*item)), *item));
        let loads = vec![vec![Load::default(); instance.planes.len()]; instance.places];
        let home = vec![usize::MAX; instance.items];
        Self { board, order, loads, home, set: 0, rest: Vec::new(), best: limit, best_home: None, steps }
    }

    /// Looks for a cheaper answer with switches in exactly this set.
    fn look_at(&mut self, set: usize) {
        let near = |item: &usize| places(set).map(|place| self.board.instance.cable(*item, place)).min().unwrap_or(MOST);
        self.rest = vec![0; self.order.len() + 1];
        for (at, item) in self.order.iter().enumerate().rev() {
            self.rest[at] = self.rest[at + 1] + near(item);
        }
        self.set = set;
        self.give(0, 0);
    }

    /// Gives out the items from position `at` on; `cables` are those of the items before.
    fn give(&mut self, at: usize, cables: Cost) {
        if self.steps == 0 {
            return;
        }
        self.steps -= 1;
        if self.order.len() == at {
            return self.finish(cables);
        }
        if cables + self.rest[at] + self.settled() >= self.best {
            return;
        }
        let (board, item) = (self.board, self.order[at]);
        let mut choices: Vec<(Cost, usize)> = places(self.set).map(|place| (board.instance.cable(item, place), place)).collect();
        choices.retain(|(cost, _)| *cost < MOST);
        choices.sort_unstable();
        for (cost, place) in choices {
            self.load(item, place, Load::plus);
            self.home[item] = place;
            self.give(at + 1, cables + cost);
            self.load(item, place, Load::minus);
        }
    }

    fn load(&mut self, item: usize, place: usize, change: fn(Load, Load) -> Load) {
        for (own, plane) in self.loads[place].iter_mut().zip(&self.board.instance.planes) {
            *own = change(*own, plane.least[item]);
        }
    }

    /// Places with ports in each layer.
    fn masks(&self) -> Vec<usize> {
        let mask = |layer: usize| places(self.set).filter(|place| self.loads[*place][layer].ports > 0).map(|place| 1 << place).sum();
        (0..self.board.prices.len()).map(mask).collect()
    }

    /// What switches and trunks cost at least, as far as items are given out.
    fn settled(&self) -> Cost {
        let (board, several) = (self.board, u32::from(self.set.count_ones() > 1));
        let mut masks = self.masks();
        let mut sum = 0;
        for (layer, price) in board.prices.iter().enumerate() {
            let waiting = Load { ports: if board.is_full[layer] { board.fewest[layer] } else { 0 }, level: 0 };
            for place in places(self.set) {
                let own = self.loads[place][layer];
                sum += price.floor(if own.ports == 0 { waiting } else { own }, if board.is_full[layer] { several } else { 0 });
            }
            if board.is_full[layer] {
                masks[layer] = self.set;
            }
        }
        sum + board.joining(&masks, self.set)
    }

    /// Every item has its place: what it costs.
    fn finish(&mut self, cables: Cost) {
        let masks = self.masks();
        if masks.iter().fold(0, |all, mask| all | mask) != self.set {
            return;
        }
        let switches: Cost = masks.iter().enumerate().map(|(layer, mask)| self.switches(layer, *mask)).sum();
        let trees: Cost = masks.iter().map(|mask| self.board.trees[*mask].0).sum();
        let apart = match masks.get(..2).filter(|_| !self.board.trunks.apart.is_empty()) {
            Some([first, second]) => {
                masks.iter().skip(2).map(|mask| self.board.trees[*mask].0).sum::<Cost>() + self.board.apart(first & second, self.set)
            }
            _ => 0,
        };
        let cost = cables + switches + trees.max(apart);
        if cost < self.best {
            (self.best, self.best_home) = (cost, Some(self.home.clone()));
        }
    }

    /// The cheapest switches of a layer, with the ends of its trunks shared out as suits best.
    fn switches(&self, layer: usize, mask: usize) -> Cost {
        let price = &self.board.prices[layer];
        let trunks = self.board.trees[mask].1;
        if trunks == 0 {
            return places(mask).map(|place| price.exact(self.loads[place][layer], 0)).sum();
        }
        // By ends given out so far.
        let ends = 2 * trunks as usize;
        let mut least = vec![NEVER; ends + 1];
        least[0] = 0;
        for place in places(mask) {
            let load = self.loads[place][layer];
            let mut next = vec![NEVER; ends + 1];
            for (given, cost) in least.iter().enumerate().filter(|(_, cost)| **cost < NEVER) {
                // A place of which no way leads has none.
                let first = u32::from(places(mask).any(|to| to != place && self.board.trunks.one[place][to].is_some()));
                for own in first..=trunks.min((ends - given) as u32) {
                    let to = given + own as usize;
                    next[to] = next[to].min(cost + price.exact(load, own));
                }
            }
            least = next;
        }
        least[ends]
    }
}
