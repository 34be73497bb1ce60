//! Published polynomials, worked cases, and a slow judge that tries every state.

use super::bdd::{ALWAYS, Functions, NEVER};
use super::connect::{Puzzle, joined};
use super::formulas::*;
use super::skeleton::Skeleton;
use crate::graph::Graph;
use serde_json::Value;

fn cases(text: &str) -> Vec<Value> {
    let whole: Value = serde_json::from_str(text).expect("a file of cases");
    whole["cases"].as_array().expect("cases").clone()
}

fn reliability() -> Vec<Value> {
    cases(include_str!("../../../../checks/graph/reliability.json"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("a number: {value}"))
}

fn near(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() <= 1e-12 * expected.abs().max(1.0), "{what}: found {found}, expected {expected}");
}

/// Perfect nodes, edges that fail: each edge becomes a vertex.
fn function_of(case: &Value, functions: &mut Functions) -> (u32, u32) {
    let nodes = case["nodes"].as_u64().expect("a count") as usize;
    let edges = case["edges"].as_array().expect("edges");
    let mut next_to = vec![Vec::new(); nodes + edges.len()];
    for (at, edge) in edges.iter().enumerate() {
        for end in [0, 1] {
            let node = edge[end].as_u64().expect("a node") as usize;
            next_to[node].push((nodes + at) as u32);
            next_to[nodes + at].push(node as u32);
        }
    }
    let mut is_terminal = vec![false; nodes + edges.len()];
    case["terminals"].as_array().expect("terminals").iter().for_each(|at| is_terminal[at.as_u64().expect("a node") as usize] = true);
    let mut works = vec![ALWAYS; nodes];
    works.extend((0..edges.len() as u32).map(|edge| functions.item(edge)));
    let function = joined(&Puzzle { next_to, is_terminal }, &works, functions, 1_000_000).expect("room");
    (function, edges.len() as u32)
}

#[test]
fn polynomials_are_exact() {
    let all = reliability();
    for case in &all {
        let mut functions = Functions::new(2_000_000);
        let (function, edges) = function_of(case, &mut functions);
        let expected: Vec<u128> =
            case["counts_by_edges_up"].as_array().expect("counts").iter().map(|n| u128::from(n.as_u64().expect("a count"))).collect();
        assert_eq!(functions.working_sets(function, edges), expected, "{}", case["name"]);
        for (up, reliability) in case["reliability"].as_object().expect("values") {
            let down = vec![1.0 - up.parse::<f64>().expect("a chance"); edges as usize];
            near(1.0 - functions.down_chance(function, &down), number(reliability), &case["name"].to_string());
        }
    }
    assert_eq!(all.len(), 32);
}

/// The two-terminal values once more, by reductions and chances alone: no polynomial and no function of items.
#[test]
fn two_terminal_values_agree_a_second_way() {
    let mut seen = 0;
    for case in reliability() {
        let terminals: Vec<u32> =
            case["terminals"].as_array().expect("terminals").iter().map(|at| at.as_u64().expect("a node") as u32).collect();
        let [from, to] = terminals[..] else { continue };
        let nodes = case["nodes"].as_u64().expect("a count") as usize;
        let edges = case["edges"].as_array().expect("edges");
        let end = |edge: &Value, end: usize| edge[end].as_u64().expect("a node") as u32;
        let halves = edges.iter().zip(nodes as u32..).flat_map(|(edge, own)| [0, 1].map(|side| (end(edge, side), own)));
        let graph = Graph::from_edges(nodes + edges.len(), &halves.collect::<Vec<_>>());
        for (up, reliability) in case["reliability"].as_object().expect("values") {
            let mut weight = vec![0.0; nodes];
            weight.resize(nodes + edges.len(), -up.parse::<f64>().expect("a chance").ln());
            let down = Skeleton::new(&graph, &weight).down([from, to]).expect("room");
            near(1.0 - down, number(reliability), &case["name"].to_string());
        }
        seen += 1;
    }
    assert_eq!(seen, 13);
}

#[test]
fn reductions_agree_with_trying_every_state() {
    let mut seed = 11u64;
    let mut roll = |below: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % below
    };
    let (mut partly, mut left) = (0, 0);
    for _ in 0..800 {
        // A ring, chains beside parts of it, sometimes a chord.
        let around = 3 + roll(5);
        let mut edges: Vec<(u32, u32)> = (0..around).map(|at| (at as u32, ((at + 1) % around) as u32)).collect();
        let mut count = around as u32;
        for _ in 0..roll(4) {
            let (one, two) = (roll(around) as u32, roll(around) as u32);
            if one != two {
                edges.extend([(one, count), (count, two)]);
                count += 1;
            }
        }
        let graph = Graph::from_edges(count as usize, &edges);
        let ends = [roll(count as usize) as u32, roll(count as usize) as u32];
        let down: Vec<f64> = (0..count).map(|at| if ends.contains(&at) || roll(5) == 0 { 0.0 } else { roll(9) as f64 / 10.0 }).collect();
        let weight: Vec<f64> = down.iter().map(|down| -(-down).ln_1p()).collect();
        let found = Skeleton::new(&graph, &weight).down(ends).expect("room");
        let is_terminal = (0..count).map(|at| ends.contains(&at)).collect();
        let puzzle = Puzzle { next_to: (0..count).map(|at| graph.next_to(at).to_vec()).collect(), is_terminal };
        let chance = |state: u32| -> f64 {
            let of = |(at, down): (usize, &f64)| if state >> at & 1 == 1 { 1.0 - down } else { *down };
            down.iter().enumerate().map(of).product()
        };
        let expected: f64 = (0u32..1 << count).filter(|&state| !holds(&puzzle, state)).map(chance).sum();
        assert!((found - expected).abs() < 1e-13, "{edges:?} {ends:?} {down:?}: {found}, {expected}");
        partly += usize::from(expected > 0.0);
        left += usize::from(edges.len() > around + 4);
    }
    assert!(partly > 150 && left > 50, "{partly} can fail, {left} are more than a ring");
}

#[test]
fn worked_cases_agree() {
    let all = cases(include_str!("../../../../checks/graph/availability.json"));
    for case in &all {
        let (name, input, expected) = (case["name"].as_str().expect("a name"), &case["input"], &case["expected"]);
        match name {
            "single item" => {
                let (mtbf, mttr) = (number(&input["mtbf_h"]), number(&input["mttr_h"]));
                near(up_share(mtbf, mttr), number(&expected["availability"]), name);
                near(minutes_down_per_year(down_share(mtbf, mttr)), number(&expected["downtime_min_per_year_8760h"]), name);
            }
            "three in series" => {
                let items: Vec<[f64; 2]> =
                    input["items"].as_array().expect("items").iter().map(|item| [number(&item[0]), number(&item[1])]).collect();
                near(1.0 - any_down(items.iter().map(|[mtbf, mttr]| down_share(*mtbf, *mttr))), number(&expected["availability"]), name);
                near(series_mtbf(items.iter().map(|[mtbf, _]| *mtbf)), number(&expected["system_mtbf_h"]), name);
            }
            "1 of 2, one repairer each" | "1 of 2, single repairer" => {
                let (mtbf, mttr) = (number(&input["mtbf_h"]), number(&input["mttr_h"]));
                let two_repairers = number(&input["repairers"]) > 1.5;
                let pair = OneOfTwo { failure_rate: 1.0 / mtbf, repair_rate: 1.0 / mttr, two_repairers };
                near(pair.down_share() * 1e6, number(&expected["unavailability"]) * 1e6, name);
                near(pair.mean_time_to_failure(), number(&expected["mttf_h"]), name);
            }
            "2 of 3" => near(at_least(2, 3, number(&input["p"])), number(&expected["reliability"]), name),
            "3 of 5" => near(at_least(3, 5, number(&input["p"])), number(&expected["reliability"]), name),
            "MTTF without repair, exponential, rate 0.01/h" => {
                let rate = number(&input["rate"]);
                near(mean_time_to_failure(&[0.0, 0.0, 3.0, 1.0], rate), number(&expected["2_of_3"]), name);
                near(mean_time_to_failure(&[0.0, 0.0, 2.0, 8.0, 5.0, 1.0], rate), number(&expected["bridge_of_5"]), name);
                near(mean_time_to_failure(&[0.0, 2.0, 1.0], rate), number(&expected["1_of_2"]), name);
            }
            "two networks, shared tray, A on one power feed" => shared_tray(input, expected),
            "beta-factor common cause, 1 of 2" => {
                let (down, beta) = (number(&input["q_total"]), number(&input["beta"]));
                let own = (1.0 - beta) * down;
                near(any_down([beta * down, all_down([own, own])]), number(&expected["both_down_exact"]), name);
            }
            _ => panic!("no one knows the case {name}"),
        }
    }
    assert_eq!(all.len(), 10);
}

/// Two ways that share one item, as decision diagrams: chances and what each item matters.
fn shared_tray(input: &Value, expected: &Value) {
    let chances = input["q"].as_object().expect("chances");
    let names: Vec<&String> = chances.keys().collect();
    let item = |name: &str| names.iter().position(|known| *known == name).expect("an item") as u32;
    let mut functions = Functions::new(10_000);
    let way = |names: &Value, functions: &mut Functions| {
        let items: Vec<u32> =
            names.as_array().expect("names").iter().map(|name| functions.item(item(name.as_str().expect("a name")))).collect();
        items.into_iter().fold(ALWAYS, |all, one| functions.both(all, one).expect("room"))
    };
    let (a, b) = (way(&input["paths"]["A"], &mut functions), way(&input["paths"]["B"], &mut functions));
    let ends = way(&input["in_series"], &mut functions);
    let either = functions.either(a, b).expect("room");
    let whole = functions.both(either, ends).expect("room");
    let down: Vec<f64> = names.iter().map(|name| number(&chances[*name])).collect();
    near(functions.down_chance(whole, &down) * 1e3, number(&expected["unavailability_exact"]) * 1e3, "two networks");
    for (name, importance) in expected["birnbaum"].as_object().expect("importances") {
        let with = |chance: f64| {
            let mut down = down.clone();
            down[item(name) as usize] = chance;
            functions.down_chance(whole, &down)
        };
        near(with(1.0) - with(0.0), number(importance), name);
    }
}

#[test]
fn published_rows_agree() {
    let rows = include_str!("../../../../checks/availability.csv");
    let mut seen = 0;
    for row in csv::Reader::from_reader(rows.as_bytes()).records() {
        let row = row.expect("a row");
        let input = |key: &str| {
            let mut parts = row[2].split(';').filter_map(|part| part.split_once('='));
            parts.find(|(name, _)| *name == key).and_then(|(_, value)| value.parse::<f64>().ok()).expect("a number")
        };
        let count = |key: &str| input(key) as usize;
        let down = || down_share(input("mtbf"), input("mttr"));
        let found = match &row[1] {
            "avail.series" => 1.0 - any_down(vec![down(); count("n")]),
            "avail.parallel" => 1.0 - all_down(vec![down(); count("n")]),
            "avail.two_nets" => 1.0 - all_down([any_down(vec![down(); count("series")]); 2]),
            "avail.show" => 1.0 - any_down(vec![fails_within(input("mtbf"), input("hours")); count("n")]),
            "avail.show_dual" => 1.0 - all_down([any_down(vec![fails_within(input("mtbf"), input("hours")); count("n")]); 2]),
            "avail.downtime" => minutes_down_per_year(1.0 - input("A")),
            topic => panic!("no one knows {topic}"),
        };
        let digits = row[3].split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
        let expected: f64 = row[3].parse().expect("a number");
        assert!((found - expected).abs() <= 0.5000001 * 10f64.powi(-digits), "{}: found {found}, expected {expected}", &row[0]);
        seen += 1;
    }
    assert!(seen >= 8, "only {seen} rows");
}

#[test]
fn joining_agrees_with_trying_every_state() {
    let mut seed = 7u64;
    let mut roll = |below: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % below
    };
    for _ in 0..300 {
        let count = 2 + roll(8);
        let mut next_to = vec![Vec::new(); count];
        for _ in 0..roll(2 * count) {
            let (one, two) = (roll(count), roll(count));
            next_to[one].push(two as u32);
            next_to[two].push(one as u32);
        }
        let terminals: Vec<usize> = (0..1 + roll(3)).map(|_| roll(count)).collect();
        let is_terminal: Vec<bool> = (0..count).map(|at| terminals.contains(&at)).collect();
        let puzzle = Puzzle { next_to, is_terminal };
        let mut functions = Functions::new(100_000);
        let works: Vec<u32> = (0..count as u32).map(|at| functions.item(at)).collect();
        let function = joined(&puzzle, &works, &mut functions, 100_000).expect("room");
        let mut expected = vec![0u128; count + 1];
        for state in 0u32..1 << count {
            expected[state.count_ones() as usize] += u128::from(holds(&puzzle, state));
        }
        assert_eq!(functions.working_sets(function, count as u32), expected);
    }
}

/// Whether all terminals are up and joined when the vertices in `state` are up.
fn holds(puzzle: &Puzzle, state: u32) -> bool {
    let is_up = |at: usize| state >> at & 1 == 1;
    let terminals: Vec<usize> = (0..puzzle.next_to.len()).filter(|&at| puzzle.is_terminal[at]).collect();
    let mut reached = vec![false; puzzle.next_to.len()];
    let mut todo = vec![terminals[0]];
    while let Some(at) = todo.pop() {
        if is_up(at) && !std::mem::replace(&mut reached[at], true) {
            todo.extend(puzzle.next_to[at].iter().map(|&next| next as usize));
        }
    }
    terminals.iter().all(|&at| reached[at])
}

#[test]
fn forgetting_keeps_what_was_asked_for() {
    let mut functions = Functions::new(10_000);
    let items: Vec<u32> = (0..6).map(|at| functions.item(at)).collect();
    let one = functions.both(items[0], items[3]).expect("room");
    let two = functions.either(one, items[5]).expect("room");
    let other = functions.either(items[1], items[2]).expect("room");
    let before = [functions.working_sets(two, 6), functions.working_sets(other, 6)];
    let mut roots = [two, other, ALWAYS];
    let size = functions.len();
    functions.keep_only(&mut roots);
    assert!(functions.len() < size && roots[2] == ALWAYS);
    assert_eq!([functions.working_sets(roots[0], 6), functions.working_sets(roots[1], 6)], before);
}

#[test]
fn a_full_store_says_so() {
    let mut functions = Functions::new(4);
    let items: Vec<u32> = (0..20).map(|at| functions.item(at)).collect();
    let all = items.iter().try_fold(ALWAYS, |all, &one| functions.both(all, one));
    assert_eq!(all, None);
    assert_eq!(functions.both(NEVER, items[0]), Some(NEVER));
}
