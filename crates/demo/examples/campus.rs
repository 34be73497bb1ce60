//! Writes a campus of any size, wired: `cargo run --release -p loomwright-demo --example campus -- FOLDER DEVICES ZONES`.
//!
//! 10000 devices and 6 zones make about 10,000 streams.

#![allow(clippy::disallowed_methods)] // A chore at the desk: it may write files.

use loomwright_demo::campus::{Campus, campus};
use loomwright_model::Wiring;
use std::path::Path;

fn main() -> std::io::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, otherwise: usize| words.get(at).and_then(|word| word.parse().ok()).unwrap_or(otherwise);
    let folder = Path::new(words.first().map_or(".", String::as_str));
    let size = Campus { devices: number(1, 10_000), zones: number(2, 6) as u32, ..Campus::default() };
    let plan = campus(size);
    let begun = std::time::Instant::now();
    let designed = loomwright_design::design(&plan, &Wiring::default());
    let seconds = begun.elapsed().as_secs_f64();
    let wiring = designed.wiring;
    std::fs::create_dir_all(folder)?;
    std::fs::write(folder.join("campus.toml"), loomwright_planfile::write_plan(&plan))?;
    std::fs::write(folder.join("campus.wiring.toml"), loomwright_planfile::write_wiring(&wiring))?;
    println!(
        "{} devices, {} streams, {} switches, {} cables",
        plan.devices.len(),
        plan.streams.len(),
        wiring.switches.len(),
        wiring.cables.len()
    );
    println!("designed in {seconds:.2} s by the wall clock");
    designed.decisions.iter().filter(|decision| decision.says.contains("cost")).for_each(|decision| println!("{}", decision.says));
    Ok(())
}
