//! Serves one plan: `cargo run -p loomwright-workbench --example serve -- PLAN [PORT] [CREW'S ADDRESS]`.

#![allow(clippy::disallowed_methods, reason = "a program reads its arguments")]

use loomwright_workbench::{Options, serve};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let plan = arguments.next().ok_or("say which plan to open")?;
    let port = arguments.next().map_or(Ok(8750), |port| port.parse())?;
    let crew = arguments.next().map(|address| address.parse()).transpose()?;
    Ok(serve(Options { port, crew, ..Options::for_plan(plan) })?)
}
