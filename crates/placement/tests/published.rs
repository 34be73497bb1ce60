//! Trees whose shortest length others published: `checks/placement/published.csv`.
#![allow(clippy::disallowed_methods, reason = "these tests read the outside values")]

use loomwright_placement::steiner::{EXACT, Graph, Tree, join};
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/placement")
}

fn rows(topic: &str) -> Vec<(String, u64)> {
    let text = std::fs::read_to_string(folder().join("published.csv")).expect("the outside values are there");
    let cells = text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect::<Vec<String>>());
    cells.filter(|cells| cells[1] == topic).map(|cells| (cells[0].clone(), cells[3].parse().expect("a whole number"))).collect()
}

/// Reads the format of the challenge: `E from to length`, `T terminal`, nodes from 1.
fn graph(name: &str) -> (Graph, Vec<usize>) {
    let text = std::fs::read_to_string(folder().join(format!("steiner/{name}.gr"))).expect("every row has its instance");
    let (mut graph, mut terminals) = (Graph::default(), Vec::new());
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        let number = |at: usize| words[at].parse::<usize>().expect("a whole number");
        match words.first() {
            Some(&"Nodes") => graph.nodes = number(1),
            Some(&"E") => graph.edges.push(([number(1) - 1, number(2) - 1], number(3) as u64)),
            Some(&"T") => terminals.push(number(1) - 1),
            _ => {}
        }
    }
    (graph, terminals)
}

/// Whether the edges of a tree join all terminals, and their sum.
fn walk(graph: &Graph, terminals: &[usize], tree: &Tree) -> (bool, u64) {
    let mut seen = vec![false; graph.nodes];
    seen[terminals[0]] = true;
    for _ in 0..tree.edges.len() {
        for edge in &tree.edges {
            let [one, other] = graph.edges[*edge].0;
            (seen[one], seen[other]) = (seen[one] || seen[other], seen[one] || seen[other]);
        }
    }
    (terminals.iter().all(|node| seen[*node]), tree.edges.iter().map(|edge| graph.edges[*edge].1).sum())
}

#[test]
fn published_trees_are_met() {
    let rows = rows("steiner.optimum");
    assert_eq!(rows.len(), 9);
    let mut gaps = 0.0;
    for (name, optimum) in rows {
        let (graph, terminals) = graph(&name);
        let tree = join(&graph, &terminals).expect("the terminals can be joined");
        assert_eq!(walk(&graph, &terminals, &tree), (true, tree.cost), "{name}");
        assert!(tree.bound <= optimum && optimum <= tree.cost, "{name}: {} <= {optimum} <= {}", tree.bound, tree.cost);
        assert!(terminals.len() > EXACT || tree.cost == optimum, "{name}: {} instead of {optimum}", tree.cost);
        let gap = (tree.cost - optimum) as f64 / optimum as f64 * 100.0;
        println!("{name}: {} terminals, {} over {optimum} ({gap:.3} %), proved down to {}", terminals.len(), tree.cost, tree.bound);
        gaps += gap;
    }
    assert!(gaps / 9.0 <= 0.5, "{} % on average", gaps / 9.0);
}
