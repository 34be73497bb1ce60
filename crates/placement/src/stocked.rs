//! Placements when there are only so many switches of a model.
//!
//! **Shape**: a model that runs out is made dearer, one that is left over cheaper again, round by round (Lagrangian
//! relaxation of the stock). With any such premiums, the cost less the premiums on the whole stock is a bound for every
//! placement that keeps the stock. The cheapest placement met that keeps it is the answer; if none does, the one that
//! lacks fewest switches, and what it lacks.

use crate::price::Prices;
use crate::problem::{Cost, MOST, Model, Problem};
use crate::solve::{Effort, Placement, Progress, unlimited};
use std::collections::BTreeMap;

/// Most rounds. Own choice.
const ROUNDS: u32 = 10;

/// Solves with stock: all layers buy from the stock that the first layer names, model by model.
pub(crate) fn solve(problem: &Problem, effort: Effort, keep_going: &mut dyn FnMut(Progress) -> bool) -> Placement {
    let stock: Vec<Option<u32>> = problem.layers.first().map_or(Vec::new(), |layer| layer.models.iter().map(|model| model.stock).collect());
    let mut premiums = vec![0 as Cost; stock.len()];
    let mut best: Option<Placement> = None;
    let mut bound = 0;
    for round in 0..ROUNDS {
        let mut found = unlimited(&with(problem, &premiums), effort, keep_going);
        let buys = used(&found, stock.len());
        let on_stock: Cost = premiums.iter().zip(&stock).map(|(premium, stock)| premium * Cost::from(stock.unwrap_or(0))).sum();
        let on_used: Cost = premiums.iter().zip(&buys).map(|(premium, used)| premium * Cost::from(*used)).sum();
        bound = bound.max(found.bound - on_stock);
        found.cost -= on_used;
        exchange(problem, &mut found, &stock);
        let kept = used(&found, stock.len());
        found.lacking = kept.iter().zip(&stock).map(|(used, stock)| stock.map_or(0, |stock| used.saturating_sub(stock))).collect();
        let is_settled = premiums.iter().zip(buys.iter().zip(&stock)).all(|(premium, (used, stock))| match stock {
            Some(stock) => used <= stock && (*premium == 0 || used == stock),
            None => true,
        });
        let rank = |placement: &Placement| (placement.lacking.iter().sum::<u32>(), placement.cost);
        let finished = found.finished;
        if best.as_ref().is_none_or(|known| rank(&found) < rank(known)) {
            best = Some(found);
        }
        if is_settled || !finished {
            break;
        }
        for (at, premium) in premiums.iter_mut().enumerate() {
            let Some(stock) = stock[at] else { continue };
            let price = problem.layers.iter().filter_map(|layer| layer.models.get(at)).map(|model| model.price).max().unwrap_or(0);
            let step = price.clamp(1, MOST / 64) / Cost::from(2 + round);
            *premium = if buys[at] > stock {
                *premium + step
            } else if buys[at] < stock {
                (*premium - step / 2).max(0)
            } else {
                *premium
            };
        }
    }
    let mut best = best.expect("there is at least one round");
    // Short of switches nothing is proved: the cost is of something that cannot be built yet.
    best.bound = if best.lacking.iter().all(|lacking| *lacking == 0) { bound.clamp(0, best.cost) } else { bound.max(0) };
    best
}

/// Where a model is used beyond its stock, buys other models in the places where that adds least.
fn exchange(problem: &Problem, found: &mut Placement, stock: &[Option<u32>]) {
    let mut tables: BTreeMap<(usize, Vec<bool>), Prices> = BTreeMap::new();
    loop {
        let used = used(found, stock.len());
        let scarce: Vec<bool> = used.iter().zip(stock).map(|(used, stock)| stock.is_some_and(|stock| *used >= stock)).collect();
        let is_over = |at: usize| stock[at].is_some_and(|stock| used[at] > stock);
        let Some(over) = (0..stock.len()).find(|at| is_over(*at)) else { return };
        let mut best: Option<(Cost, [usize; 2], Vec<u32>)> = None;
        for (layer, place) in (0..problem.layers.len()).flat_map(|layer| (0..problem.places).map(move |place| (layer, place))) {
            let now = &found.switches[layer][place];
            if now.get(over).is_none_or(|count| *count == 0) {
                continue;
            }
            let models = &problem.layers[layer].models;
            let (ports, power) = need(problem, found, layer, place);
            let allowed: Vec<Model> = models
                .iter()
                .zip(&scarce)
                .map(|(model, scarce)| if *scarce { Model { ports: 0, power: 0, ..*model } } else { *model })
                .collect();
            let table = tables.entry((layer, scarce.clone())).or_insert_with(|| {
                let all = (0..problem.places).map(|place| need(problem, found, layer, place));
                let most = all.fold((0, 0), |most, own| (most.0.max(own.0), most.1.max(own.1)));
                Prices::of(&allowed, most, problem.layers[layer].fewest)
            });
            let Some(other) = table.bundle(ports, power, models.len()) else { continue };
            let price = |counts: &[u32]| models.iter().zip(counts).map(|(model, count)| model.price * Cost::from(*count)).sum::<Cost>();
            let fits = (0..stock.len()).all(|at| scarce[at] || stock[at].is_none_or(|stock| used[at] - now[at] + other[at] <= stock));
            let added = price(&other) - price(now);
            if fits && best.as_ref().is_none_or(|(known, ..)| added < *known) {
                best = Some((added, [layer, place], other));
            }
        }
        let Some((added, [layer, place], other)) = best else { return };
        found.cost += added;
        found.switches[layer][place] = other;
    }
}

/// Ports, the reserved ones included, and power that a place needs in one layer.
fn need(problem: &Problem, found: &Placement, layer: usize, place: usize) -> (u32, u64) {
    let own = problem.items.iter().zip(&found.home).filter(|(_, home)| **home == Some(place));
    let demands = own.filter_map(|(item, _)| item.demand.get(layer));
    let sum = demands.fold((0u32, 0u64), |sum, own| (sum.0.saturating_add(own.ports), sum.1.saturating_add(own.power)));
    if sum.0 == 0 { sum } else { (sum.0.saturating_add(problem.layers[layer].reserved_ports), sum.1) }
}

fn with(problem: &Problem, premiums: &[Cost]) -> Problem {
    let mut dearer = problem.clone();
    for model in dearer.layers.iter_mut().flat_map(|layer| layer.models.iter_mut().zip(premiums)) {
        model.0.price = model.0.price.saturating_add(*model.1);
    }
    dearer
}

fn used(placement: &Placement, models: usize) -> Vec<u32> {
    let places = || placement.switches.iter().flatten();
    (0..models).map(|model| places().map(|counts| counts.get(model).copied().unwrap_or(0)).sum()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::{Demand, Item, Layer, Model, Reach};

    /// Two places of twelve devices each, far from each other; eight-port switches are cheap for their ports.
    fn venue(small: Option<u32>) -> Problem {
        let model = |ports, price, stock| Model { ports, power: 0, price, stock };
        let item = |near: usize| Item {
            demand: vec![Demand { ports: 1, power: 0 }],
            reach: vec![Reach { place: near, cost: 10 }, Reach { place: 1 - near, cost: 90 }],
        };
        let layer =
            Layer { models: vec![model(8, 100, small), model(24, 350, None)], opening: vec![20, 20], reserved_ports: 0, fewest: false };
        Problem { places: 2, layers: vec![layer], items: (0..24).map(|number| item(number / 12)).collect(), most_open: None }
    }

    #[test]
    fn stock_is_kept_where_it_can_be() {
        // 12 devices: 2 x 8 ports = 200 or 1 x 24 = 350; so 680, 830 and 980 with enough, with two and with no small ones.
        for (small, cost) in [(None, 680), (Some(4), 680), (Some(3), 830), (Some(2), 830), (Some(0), 980)] {
            let found = crate::solve(&venue(small), Effort { parts: 20, ..Effort::QUICK }, &mut |_| true);
            assert_eq!((found.cost, found.lacking.iter().sum::<u32>()), (cost, 0), "{small:?}");
            assert!(found.bound <= cost && found.bound * 100 >= cost * 80, "{small:?}: {}", found.bound);
        }
    }

    #[test]
    fn what_is_lacking_is_said() {
        let mut problem = venue(Some(1));
        problem.layers[0].models[1].stock = Some(0);
        let found = crate::solve(&problem, Effort::QUICK, &mut |_| true);
        assert!(found.lacking.iter().sum::<u32>() >= 2, "{found:?}");
    }
}
