//! Made-up venues whose cheapest placement other programs have proved: `checks/placement/optimum.csv`.
#![allow(clippy::disallowed_methods, reason = "these tests read the outside values")]

mod venue;

use loomwright_placement::{Effort, Placement, Problem, solve};
use std::path::Path;

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/placement")
}

fn instance(name: &str) -> Problem {
    venue::problem(&std::fs::read_to_string(folder().join(format!("instances/{name}.txt"))).expect("every row has its instance"))
}

/// Rows of one topic: instance and value in hundredths.
fn rows(topic: &str) -> Vec<(String, i64)> {
    let text = std::fs::read_to_string(folder().join("optimum.csv")).expect("the outside values are there");
    let cells = text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect::<Vec<String>>());
    cells.filter(|cells| cells[1] == topic).map(|cells| (cells[0].clone(), cells[3].parse().expect("a whole number"))).collect()
}

/// Cost of a placement, summed anew from the problem; panics if it breaks a limit.
fn recount(problem: &Problem, placement: &Placement) -> i64 {
    let layer = &problem.layers[0];
    let mut sum = 0;
    for (place, counts) in placement.switches[0].iter().enumerate() {
        let own: Vec<usize> = (0..problem.items.len()).filter(|item| placement.home[*item] == Some(place)).collect();
        let total =
            |value: &dyn Fn(usize) -> i64| counts.iter().enumerate().map(|(model, count)| value(model) * i64::from(*count)).sum::<i64>();
        let power: u64 = own.iter().map(|item| problem.items[*item].demand[0].power).sum();
        assert!(own.is_empty() || total(&|model| i64::from(layer.models[model].ports)) > own.len() as i64, "one port for the trunk");
        assert!(total(&|model| layer.models[model].power as i64) >= power as i64, "enough power");
        sum += total(&|model| layer.models[model].price) + if own.is_empty() { 0 } else { layer.opening[place] };
        let cable = |item: &usize| problem.items[*item].reach.iter().find(|near| near.place == place).expect("within reach").cost;
        sum += own.iter().map(cable).sum::<i64>();
    }
    assert!(placement.home.iter().all(Option::is_some), "everything is served");
    sum
}

#[test]
fn proved_optimum_is_met_and_proved_again() {
    let rows = rows("placement.optimum");
    assert_eq!(rows.len(), 12);
    for (name, optimum) in rows {
        let problem = instance(&name);
        let placement = solve(&problem, Effort::USUAL, &mut |_| true);
        assert_eq!((placement.cost, placement.bound, recount(&problem, &placement)), (optimum, optimum, optimum), "{name}");
    }
}

#[test]
fn two_hundred_devices_beat_the_best_known_and_stay_above_the_known_bound() {
    let known = rows("placement.best_known");
    for (name, bound) in rows("placement.bound").into_iter().filter(|(name, _)| name.starts_with("200-")) {
        let problem = instance(&name);
        let placement = solve(&problem, Effort::USUAL, &mut |_| true);
        let best = known.iter().find(|(other, _)| *other == name).expect("both rows are there").1;
        assert!(placement.cost <= best && placement.cost >= bound, "{name}: {} of {bound} .. {best}", placement.cost);
        assert!(placement.gap_millionths() <= 10_000, "{name}: {} millionths", placement.gap_millionths());
        assert_eq!(recount(&problem, &placement), placement.cost, "{name}");
    }
}

#[test]
fn an_interrupt_still_gives_a_whole_answer() {
    let problem = instance("50-10-1");
    for calls in [0, 1, 30] {
        let mut left = calls;
        let placement = solve(&problem, Effort::USUAL, &mut |_| {
            left -= 1;
            left >= 0
        });
        assert!(!placement.finished);
        assert!(placement.bound <= placement.cost && recount(&problem, &placement) == placement.cost, "{calls}");
    }
}

#[test]
fn the_same_effort_gives_the_same_answer() {
    let problem = instance("40-8-3");
    let once = || solve(&problem, Effort::QUICK, &mut |_| true);
    assert_eq!(once(), once());
}
