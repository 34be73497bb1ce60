//! Few places joined by trunks, against every placement with every tree.

use loomwright_placement::joined::{Trunks, cheapest};
use loomwright_placement::price::Prices;
use loomwright_placement::{Demand, Item, Layer, Model, Problem, Reach};

/// Numbers that are the same on every run.
struct Chance(u64);

impl Chance {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}

/// Two layers, two to four places, some items without ports in the second layer.
fn made(chance: &mut Chance) -> (Problem, Trunks) {
    let places = 2 + chance.below(3) as usize;
    let models = (0..2).map(|_| Model {
        ports: 4 + chance.below(8) as u32,
        power: chance.below(3) * 20,
        price: 50 + chance.below(200) as i64,
        stock: None,
    });
    let models: Vec<Model> = models.collect();
    let layer = || Layer { models: models.clone(), opening: vec![0; places], reserved_ports: 0, fewest: true };
    let item = |chance: &mut Chance| {
        let power = if chance.below(4) == 0 { 7 } else { 0 };
        let second = if chance.below(4) == 0 { 0 } else { 1 };
        let demand = vec![Demand { ports: 1 + chance.below(2) as u32, power }, Demand { ports: second, power: 0 }];
        let near: Vec<usize> = (0..places).filter(|_| chance.below(5) > 0).collect();
        Item { demand, reach: near.into_iter().map(|place| Reach { place, cost: chance.below(80) as i64 }).collect() }
    };
    let items = (0..3 + chance.below(3)).map(|_| item(chance)).collect();
    let mut trunks = Trunks { one: vec![vec![None; places]; places], apart: vec![vec![None; places]; places], inside: 9 };
    for from in 0..places {
        for to in 0..from {
            let one = (chance.below(8) > 0).then(|| 10 + chance.below(90) as i64);
            let apart = one.filter(|_| chance.below(3) > 0).map(|one| 2 * one + chance.below(60) as i64);
            (trunks.one[from][to], trunks.one[to][from]) = (one, one);
            (trunks.apart[from][to], trunks.apart[to][from]) = (apart, apart);
        }
    }
    if chance.below(3) == 0 {
        trunks.apart.clear();
    }
    (Problem { places, layers: vec![layer(), layer()], items, most_open: None }, trunks)
}

/// Every way to join these places by trunks without a circle, that joins all that can be joined: the ends of each trunk.
fn trees(open: &[usize], trunks: &Trunks) -> Vec<Vec<[usize; 2]>> {
    let pairs: Vec<[usize; 2]> = open.iter().flat_map(|a| open.iter().filter(move |b| *b > a).map(move |b| [*a, *b])).collect();
    let pairs: Vec<[usize; 2]> = pairs.into_iter().filter(|[a, b]| trunks.one[*a][*b].is_some()).collect();
    let parts = |edges: &[[usize; 2]]| {
        let mut part: Vec<usize> = (0..8).collect();
        for [a, b] in edges {
            let [keep, gone] = [part[*a], part[*b]];
            part.iter_mut().filter(|own| **own == gone).for_each(|own| *own = keep);
        }
        open.iter().map(|place| part[*place]).collect::<std::collections::BTreeSet<usize>>().len()
    };
    let fewest = parts(&pairs);
    let chosen = |set: usize| pairs.iter().enumerate().filter(|(n, _)| set >> n & 1 == 1).map(|(_, pair)| *pair).collect();
    let all = (0..1usize << pairs.len()).map(chosen);
    all.filter(|edges: &Vec<[usize; 2]>| parts(edges) == fewest && edges.len() + fewest == open.len()).collect()
}

/// What switches for so many ports cost, joined side by side where one will not do.
fn side_by_side(prices: &Prices, (ports, power): (u32, u64), inside: i64) -> Option<i64> {
    (0..8).find_map(|more| {
        let count: u32 = prices.bundle(ports + 2 * more, power, 2)?.iter().sum();
        (count <= more + 1).then(|| prices.cost(ports + 2 * more, power).map(|cost| cost + inside * i64::from(more))).flatten()
    })
}

/// The least of all trees and pairs of trees for items at `homes`.
fn cost(problem: &Problem, trunks: &Trunks, homes: &[usize], prices: &Prices) -> Option<i64> {
    let mut cables = 0;
    for (item, home) in problem.items.iter().zip(homes) {
        let ports: i64 = item.demand.iter().map(|demand| i64::from(demand.ports)).sum();
        cables += item.reach.iter().find(|near| near.place == *home)?.cost * ports;
    }
    let load = |place: usize, layer: usize| {
        let own = || problem.items.iter().zip(homes).filter(|(_, home)| **home == place).map(|(item, _)| item.demand[layer]);
        (own().map(|demand| demand.ports).sum::<u32>(), own().map(|demand| demand.power).sum::<u64>())
    };
    let open = |layer: usize| (0..problem.places).filter(|place| load(*place, layer).0 > 0).collect::<Vec<usize>>();
    let switches = |layer: usize, tree: &[[usize; 2]]| {
        let mut sum = 0;
        for place in open(layer) {
            let (ports, power) = load(place, layer);
            let ends = tree.iter().flatten().filter(|end| **end == place).count() as u32;
            sum += side_by_side(prices, (ports + ends, power), trunks.inside)?;
        }
        Some(sum)
    };
    let one = |[a, b]: &[usize; 2]| trunks.one[*a][*b].unwrap_or(0);
    let joined = |first: &[[usize; 2]], second: &[[usize; 2]]| {
        let mut sum: i64 = first.iter().chain(second).map(one).sum();
        for pair in first.iter().filter(|pair| second.contains(pair)) {
            let apart = trunks.apart.get(pair[0]).and_then(|row| row[pair[1]]);
            sum += apart.map_or(0, |both| both - 2 * one(pair));
        }
        sum
    };
    let mut least: Option<i64> = None;
    for first in trees(&open(0), trunks) {
        for second in trees(&open(1), trunks) {
            let (Some(a), Some(b)) = (switches(0, &first), switches(1, &second)) else { continue };
            let sum = a + b + joined(&first, &second);
            least = Some(least.map_or(sum, |known| known.min(sum)));
        }
    }
    least.map(|least| least + cables)
}

#[test]
fn the_bound_is_never_above_the_cheapest_of_all_and_mostly_is_it() {
    let mut chance = Chance(5);
    let (mut tried, mut met) = (0, 0);
    for number in 0..120 {
        let (problem, trunks) = made(&mut chance);
        let prices = Prices::fewest(&problem.layers[0].models, 60, 200);
        let count = problem.places.pow(problem.items.len() as u32);
        let homes = |mut number: usize| {
            let digit = |_| {
                let digit = number % problem.places;
                number /= problem.places;
                digit
            };
            (0..problem.items.len()).map(digit).collect::<Vec<usize>>()
        };
        let best = (0..count).filter_map(|number| cost(&problem, &trunks, &homes(number), &prices)).min();
        let (Some(best), Some(found)) = (best, cheapest(&problem, &trunks, i64::MAX / 4, 1_000_000)) else { continue };
        assert!(found.finished && found.bound <= best, "{number}: {} above {best}: {problem:?} {trunks:?}", found.bound);
        let home = found.home.expect("there is an answer");
        assert!(cost(&problem, &trunks, &home, &prices).is_some_and(|own| own >= best));
        // Cut short it is still a bound, and with the cheapest as the limit it says so.
        let short = cheapest(&problem, &trunks, i64::MAX / 4, 5).expect("as before");
        assert!(short.bound <= found.bound, "{number}");
        let again = cheapest(&problem, &trunks, found.bound, 1_000_000).expect("as before");
        assert_eq!((again.bound, again.home), (found.bound, None), "{number}");
        tried += 1;
        met += usize::from(found.bound == best);
    }
    assert!(tried >= 80 && met * 10 >= tried * 7, "{met} of {tried} met");
    eprintln!("{met} of {tried} met");
}
