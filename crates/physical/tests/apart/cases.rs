//! Worked cases and published statistics of real networks.

use crate::graph::{Line, line, ways};
use loomwright_model::Medium;
use loomwright_physical::disjoint::{Apart, count, pair};
use serde_json::Value;

const ANY: Medium = Medium::Fibre;

fn file(text: &str) -> Vec<Value> {
    let whole: Value = serde_json::from_str(text).expect("a file of cases");
    whole["cases"].as_array().expect("cases").clone()
}

/// Whole units of a case's hundredths: kilometres become tens of metres, counts become hundreds.
fn hundredths(value: &Value) -> u64 {
    (value.as_f64().expect("a number") * 100.0).round() as u64
}

struct Case {
    names: Vec<String>,
    lines: Vec<Line>,
    ends: [usize; 2],
}

/// Reads places by name; a case names a route in its risk groups by its two places, in order of the alphabet.
fn read(case: &Value) -> Case {
    let mut names: Vec<String> = Vec::new();
    let mut number = |value: &Value| {
        let name = value.to_string();
        names.iter().position(|known| *known == name).unwrap_or_else(|| {
            names.push(name);
            names.len() - 1
        })
    };
    let mut lines = Vec::new();
    for edge in case["edges"].as_array().expect("edges") {
        let mut spoken = [0, 1].map(|end| edge[end].as_str().map_or_else(|| edge[end].to_string(), str::to_owned));
        spoken.sort();
        let groups = case["risk_groups"].get(spoken.join("-")).and_then(Value::as_array);
        let hazards = groups.into_iter().flatten().map(|group| group.as_str().expect("a name").to_owned()).collect();
        lines.push(Line { ends: [number(&edge[0]), number(&edge[1])], length: hundredths(&edge[2]), hazards });
    }
    let ends = ["s", "t"].map(|end| number(&case[end]));
    Case { names, lines, ends }
}

#[test]
fn shortest_pairs_agree() {
    let (mut plain, mut with_risks) = (0, 0);
    for case in file(include_str!("../../../../checks/graph/disjoint_paths.json")) {
        let Case { names, lines, ends } = read(&case);
        let graph = ways(names.len(), &lines, |_| None);
        let found = |apart| pair(&graph, ANY, ends, apart).expect("every case has a pair");
        if let Some(expected) = case.get("least_shared_risk_then_cheapest") {
            let found = found(Apart::Routes);
            assert!(found.is_shortest, "{}", case["name"]);
            assert_eq!(found.shared.len() as u64, expected["shared_risks"].as_u64().expect("a count"), "{}", case["name"]);
            assert_eq!(found.length(), hundredths(&expected["total"]), "{}", case["name"]);
            with_risks += 1;
            continue;
        }
        for (apart, key) in [(Apart::Routes, "edge_disjoint"), (Apart::RoutesAndPlaces, "node_disjoint")] {
            assert_eq!(found(apart).length(), hundredths(&case[key]["total"]), "{}, {key}", case["name"]);
        }
        let shortest = graph.shortest(ANY, ends[0], ends[1]).expect("a way");
        assert_eq!(shortest.length, hundredths(&case["shortest"]), "{}", case["name"]);
        plain += 1;
    }
    assert_eq!((plain, with_risks), (15, 2));
}

/// How many ways share nothing, for every two places.
fn counts(places: usize, lines: &[Line], apart: Apart) -> Vec<usize> {
    let graph = ways(places, lines, |_| None);
    let pairs = (0..places).flat_map(|one| (one + 1..places).map(move |two| [one, two]));
    pairs.map(|ends| count(&graph, ANY, ends, (apart, usize::MAX))).collect()
}

#[test]
fn ways_of_196_networks_agree_with_published_counts() {
    let text = include_str!("../../../../checks/graph/zoo.csv");
    let mut seen = 0;
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.expect("a row");
        let number = |text: &str| text.parse::<usize>().expect("a number");
        let lines: Vec<Line> =
            row[4].split(' ').filter_map(|pair| pair.split_once('-')).map(|(a, b)| line(number(a), number(b), 1)).collect();
        let found = counts(number(&row[1]), &lines, Apart::Routes);
        let mean = found.iter().sum::<usize>() as f64 / found.len() as f64;
        // Published with two decimals.
        assert!((mean - row[2].parse::<f64>().expect("a number")).abs() <= 0.0051, "{}: {mean}", &row[0]);
        assert_eq!(found.iter().max(), Some(&number(&row[3])), "{}", &row[0]);
        seen += 1;
    }
    assert_eq!(seen, 196);
}

#[test]
fn connectivity_of_16_networks_agrees() {
    let all = file(include_str!("../../../../checks/graph/cuts.json"));
    for case in &all {
        let places = case["nodes"].as_u64().expect("a count") as usize;
        let end = |value: &Value| value.as_u64().expect("a place") as usize;
        let lines: Vec<Line> =
            case["edges"].as_array().expect("edges").iter().map(|edge| line(end(&edge[0]), end(&edge[1]), hundredths(&edge[2]))).collect();
        let by_route = counts(places, &lines, Apart::Routes);
        let mean = by_route.iter().sum::<usize>() as f64 / by_route.len() as f64;
        let least = |counts: &[usize]| counts.iter().min().copied().expect("two places") as u64;
        assert!((mean - case["mean_pair_edge_connectivity"].as_f64().expect("a number")).abs() < 1e-9, "{}: {mean}", case["name"]);
        assert_eq!(least(&by_route), case["edge_connectivity"].as_u64().expect("a count"), "{}", case["name"]);
        // Two places with a route between them have that one besides ways through other places: no set of places parts them.
        let is_next = |ends: [usize; 2]| lines.iter().any(|line| line.ends == ends || line.ends == [ends[1], ends[0]]);
        let pairs = (0..places).flat_map(|one| (one + 1..places).map(move |two| [one, two]));
        let by_place =
            pairs.zip(counts(places, &lines, Apart::RoutesAndPlaces)).filter(|(ends, _)| !is_next(*ends)).map(|(_, count)| count);
        let least = by_place.min().unwrap_or(places - 1) as u64;
        assert_eq!(least, case["node_connectivity"].as_u64().expect("a count"), "{}", case["name"]);
    }
    assert_eq!(all.len(), 16);
}
