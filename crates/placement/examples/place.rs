//! Places switches for one made-up venue and prints what `benchsuite/placement` compares.
//!
//! usage: `place FILE SEEDS MOVES STEPS PARTS`; the file is described in `benchsuite/placement/instances.py`.

#![allow(clippy::disallowed_methods, reason = "an example reads a file and measures time")]

use loomwright_placement::{Effort, solve};
use std::time::Instant;

#[path = "../tests/venue/mod.rs"]
mod venue;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, default: u64| arguments.get(at).map_or(default, |text| text.parse().expect("a whole number"));
    let text = std::fs::read_to_string(&arguments[0]).expect("a readable file");
    let problem = venue::problem(&text);
    let usual = Effort::USUAL;
    let effort = Effort {
        seeds: number(1, usual.seeds),
        moves: number(2, usual.moves),
        steps: number(3, usual.steps as u64) as usize,
        parts: number(4, usual.parts as u64) as usize,
    };
    let start = Instant::now();
    let mut found = Vec::new();
    let placement = solve(&problem, effort, &mut |progress| {
        if found.last().is_none_or(|(_, cost)| *cost > progress.best) {
            found.push((start.elapsed(), progress.best));
        }
        true
    });
    let seconds = start.elapsed().as_secs_f64();
    for (at, cost) in found {
        eprintln!("{:.2} s: {cost}", at.as_secs_f64());
    }
    println!("cost {} bound {} gap {:.4} % seconds {seconds:.2}", placement.cost, placement.bound, placement.gap_millionths() as f64 / 1e4);
    println!(
        "home {}",
        placement.home.iter().map(|home| home.map_or("-".to_owned(), |place| place.to_string())).collect::<Vec<_>>().join(" ")
    );
    for (place, counts) in placement.switches[0].iter().enumerate().filter(|(_, counts)| counts.iter().any(|count| *count > 0)) {
        println!("place {place} {}", counts.iter().map(u32::to_string).collect::<Vec<_>>().join(" "));
    }
}
