//! A [`Problem`] laid out for speed.

use crate::price::Prices;
use crate::problem::{Cost, Demand, Layer, MOST, Problem};

/// Most steps that power is told apart in, where its exact steps would be more. Own choice: tables stay small.
const LEVELS: u64 = 256;

/// What breaking a rule costs: more than leaving an item without a switch.
pub(crate) const NEVER: Cost = 4 * MOST;

/// What an item adds to a place in one layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Load {
    pub ports: u32,
    /// Power in levels.
    pub level: u32,
}

impl Load {
    pub fn plus(self, other: Self) -> Self {
        Self { ports: self.ports + other.ports, level: self.level + other.level }
    }

    pub fn minus(self, other: Self) -> Self {
        Self { ports: self.ports - other.ports, level: self.level - other.level }
    }
}

/// What a place costs in one layer, by ports and power level; its reserved ports are counted in.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    costs: Vec<Cost>,
    /// Most ports and most levels that it knows.
    pub ports: u32,
    pub levels: u32,
}

impl Table {
    fn new(prices: &Prices, reserved: u32, most: Load, unit: u64) -> Self {
        let mut costs = Vec::with_capacity((most.ports as usize + 1) * (most.level as usize + 1));
        for ports in 0..=most.ports {
            for level in 0..=most.level {
                let cost = prices.cost(ports.saturating_add(reserved), u64::from(level).saturating_mul(unit));
                costs.push(if ports == 0 { 0 } else { cost.unwrap_or(NEVER) });
            }
        }
        Self { costs, ports: most.ports, levels: most.level }
    }

    /// The least that this many ports and this much power, or more, cost.
    fn floor(&self) -> Self {
        let (mut costs, width) = (self.costs.clone(), self.levels as usize + 1);
        for at in (0..costs.len()).rev() {
            let level = at % width;
            let more_power = (level + 1 < width).then(|| costs[at + 1]);
            let more_ports = costs.get(at + width).copied();
            costs[at] = costs[at].min(more_power.unwrap_or(NEVER)).min(more_ports.unwrap_or(NEVER));
        }
        Self { costs, ..*self }
    }

    /// The cost for `load`; [`NEVER`] where no set of switches will do.
    pub fn cost(&self, load: Load) -> Cost {
        if load.ports > self.ports || load.level > self.levels {
            return NEVER;
        }
        self.costs[load.ports as usize * (self.levels as usize + 1) + load.level as usize]
    }
}

/// One layer.
#[derive(Debug, Clone)]
pub(crate) struct Plane {
    pub prices: Prices,
    pub table: Table,
    /// Not above the table anywhere, and never falling with ports or power: for bounds.
    pub floor: Table,
    pub opening: Vec<Cost>,
    /// By item: power rounded up, for designs that must hold.
    pub demand: Vec<Load>,
    /// By item: power rounded down, for bounds that must hold.
    pub least: Vec<Load>,
    /// Power of one level.
    pub unit: u64,
    pub reserved: u32,
}

/// The whole problem.
#[derive(Debug, Clone)]
pub(crate) struct Instance {
    pub places: usize,
    pub items: usize,
    pub planes: Vec<Plane>,
    /// By item, then place: what one port's cable costs; [`MOST`] out of reach. The place after the last is nowhere.
    pub port_cost: Vec<Cost>,
    /// The same for all ports of the item.
    pub cost: Vec<Cost>,
    /// By item: places in reach, cheapest first; nowhere last.
    pub reach: Vec<Vec<u32>>,
    pub most_open: usize,
}

impl Instance {
    pub fn new(problem: &Problem) -> Self {
        let (places, items) = (problem.places, problem.items.len());
        let width = places + 1;
        let mut port_cost = vec![MOST; items * width];
        let mut cost = vec![MOST; items * width];
        let mut reach = Vec::with_capacity(items);
        for (number, item) in problem.items.iter().enumerate() {
            let ports = item.demand.iter().map(|demand| i64::from(demand.ports)).sum::<i64>();
            for near in item.reach.iter().filter(|near| near.place < places) {
                let at = number * width + near.place;
                port_cost[at] = near.cost.clamp(0, MOST - 1).min(port_cost[at]);
                cost[at] = port_cost[at].saturating_mul(ports).min(MOST - 1);
            }
            let mut own: Vec<u32> = (0..places as u32).filter(|place| cost[number * width + *place as usize] < MOST).collect();
            own.sort_by_key(|place| (cost[number * width + *place as usize], *place));
            own.push(places as u32);
            reach.push(own);
        }
        let planes = problem.layers.iter().enumerate().map(|(number, layer)| plane(problem, &reach, (number, layer))).collect();
        Self { places, items, planes, port_cost, cost, reach, most_open: problem.most_open.unwrap_or(usize::MAX) }
    }

    /// Whether no place at all can serve `item`.
    pub fn is_stranded(&self, item: usize) -> bool {
        self.reach[item].len() < 2
    }

    /// What all cables of `item` cost if `place` serves it.
    pub fn cable(&self, item: usize, place: usize) -> Cost {
        self.cost[item * (self.places + 1) + place]
    }
}

fn plane(problem: &Problem, reach: &[Vec<u32>], (number, layer): (usize, &Layer)) -> Plane {
    let wanted: Vec<Demand> = problem.items.iter().map(|item| item.demand.get(number).copied().unwrap_or_default()).collect();
    let exact = wanted.iter().map(|demand| demand.power).fold(0, greatest_common_divisor).max(1);
    let in_reach = |place: u32| {
        let own = || wanted.iter().zip(reach).filter(|(_, reach)| reach.contains(&place)).map(|(demand, _)| demand);
        let power = own().fold(0u64, |sum, demand| sum.saturating_add(demand.power));
        (own().fold(0u32, |sum, demand| sum.saturating_add(demand.ports)), power, own().count() as u64)
    };
    let most: Vec<(u32, u64, u64)> = (0..problem.places as u32).map(in_reach).collect();
    let (ports, power) = (most.iter().map(|most| most.0).max().unwrap_or(0), most.iter().map(|most| most.1).max().unwrap_or(0));
    let crowd = most.iter().map(|most| most.2).max().unwrap_or(0);
    let unit = if power / exact <= LEVELS.max(crowd) { exact } else { power.div_ceil(LEVELS) };
    let rounded = |up: bool| {
        let level = move |power: u64| if up { power.div_ceil(unit) } else { power / unit };
        wanted.iter().map(|demand| Load { ports: demand.ports, level: level(demand.power) as u32 }).collect::<Vec<Load>>()
    };
    let demand = rounded(true);
    let level = (power.div_ceil(unit) + if unit == exact { 0 } else { crowd }) as u32;
    let most = (ports.saturating_add(layer.reserved_ports), u64::from(level) * unit);
    let prices = Prices::of(&layer.models, most, layer.fewest);
    let table = Table::new(&prices, layer.reserved_ports, Load { ports, level }, unit);
    let opening = (0..problem.places).map(|place| layer.opening.get(place).copied().unwrap_or(0).clamp(0, MOST)).collect();
    let floor = if layer.fewest { table.floor() } else { table.clone() };
    Plane { prices, table, floor, opening, demand, least: rounded(false), unit, reserved: layer.reserved_ports }
}

fn greatest_common_divisor(one: u64, other: u64) -> u64 {
    if other == 0 { one } else { greatest_common_divisor(other, one % other) }
}
