//! Small placements against trying every one of them.

use loomwright_placement::price::Prices;
use loomwright_placement::{Demand, Effort, Item, Layer, MOST, Model, Problem, Reach, solve};

/// Numbers that are the same on every run.
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}

fn made(chance: &mut Chance, layers: usize, biggest: u64) -> Problem {
    let places = 2 + chance.below(3) as usize;
    let model = |chance: &mut Chance| Model {
        ports: 2 + chance.below(7) as u32,
        power: chance.below(5) * 10,
        price: 50 + chance.below(200) as i64,
        stock: None,
    };
    let layer = |chance: &mut Chance| Layer {
        models: (0..1 + chance.below(3)).map(|_| model(chance)).collect(),
        opening: (0..places).map(|_| chance.below(120) as i64).collect(),
        reserved_ports: chance.below(2) as u32,
        fewest: places == 3,
    };
    let layers: Vec<Layer> = (0..layers).map(|_| layer(chance)).collect();
    let item = |chance: &mut Chance| {
        let power = if chance.below(3) == 0 { 7 } else { 0 };
        let demand = layers.iter().map(|_| Demand { ports: 1 + chance.below(biggest) as u32, power }).collect();
        let near = (0..places).filter(|_| chance.below(5) > 0).collect::<Vec<usize>>();
        Item { demand, reach: near.into_iter().map(|place| Reach { place, cost: chance.below(60) as i64 }).collect() }
    };
    let items = (0..3 + chance.below(4)).map(|_| item(chance)).collect();
    Problem { places, layers, items, most_open: if chance.below(4) == 0 { Some(1) } else { None } }
}

/// What serving items from `homes` costs; the place after the last is nowhere.
fn cost(problem: &Problem, homes: &[usize], prices: &[Prices]) -> i64 {
    let mut sum = 0;
    for (item, home) in problem.items.iter().zip(homes) {
        let ports: i64 = item.demand.iter().map(|demand| i64::from(demand.ports)).sum();
        sum += item.reach.iter().find(|near| near.place == *home).map_or(MOST, |near| near.cost * ports);
    }
    for place in 0..problem.places {
        for (number, layer) in problem.layers.iter().enumerate() {
            let own = || problem.items.iter().zip(homes).filter(|(_, home)| **home == place).map(|(item, _)| item.demand[number]);
            let ports: u32 = own().map(|demand| demand.ports).sum();
            if ports > 0 {
                let switches = prices[number].cost(ports + layer.reserved_ports, own().map(|demand| demand.power).sum());
                sum += switches.unwrap_or(4 * MOST) + layer.opening[place];
            }
        }
    }
    let open = (0..problem.places).filter(|place| homes.contains(place)).count();
    sum + 4 * MOST * open.saturating_sub(problem.most_open.unwrap_or(usize::MAX)) as i64
}

fn cheapest(problem: &Problem) -> i64 {
    let prices: Vec<Prices> = problem
        .layers
        .iter()
        .map(|layer| if layer.fewest { Prices::fewest(&layer.models, 60, 200) } else { Prices::new(&layer.models, 60, 200) })
        .collect();
    let count = (problem.places + 1).pow(problem.items.len() as u32);
    let homes = |mut number: usize| {
        let digit = |_| {
            let digit = number % (problem.places + 1);
            number /= problem.places + 1;
            digit
        };
        (0..problem.items.len()).map(digit).collect::<Vec<usize>>()
    };
    (0..count).map(|number| cost(problem, &homes(number), &prices)).min().expect("at least one way")
}

#[test]
fn bound_is_never_above_and_the_cheapest_is_met() {
    let effort = Effort { seeds: 2, moves: 6_000, steps: 150, parts: 40 };
    let mut chance = Chance(11);
    for (layers, biggest) in [(1, 1), (1, 3), (2, 2)] {
        let (mut met, mut closed) = (0, 0);
        for number in 0..60 {
            let problem = made(&mut chance, layers, biggest);
            let (found, cheapest) = (solve(&problem, effort, &mut |_| true), cheapest(&problem));
            assert!(found.bound <= cheapest, "{number}: bound {} above {cheapest}: {problem:?}", found.bound);
            assert!(found.cost >= cheapest && found.cost / MOST == cheapest / MOST, "{number}: as many are served: {problem:?}");
            assert!(found.cost == cheapest || problem.most_open.is_some(), "{number}: {} not {cheapest}: {problem:?}", found.cost);
            met += usize::from(found.cost == cheapest);
            closed += usize::from(found.is_cheapest());
        }
        assert!(met >= 57, "the cheapest is met: {met} of 60");
        assert!(biggest > 1 || closed >= 40, "items of one port close in the end: {closed} of 60");
        eprintln!("{layers} layers, up to {biggest} ports: {closed} of 60 proved");
    }
}
