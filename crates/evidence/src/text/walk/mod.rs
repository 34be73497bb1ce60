//! SNMP walks: rows of numbered values, whatever program wrote them, become ports, tables and neighbours.
//!
//! Boxes number the same port in up to three ways: as an interface, as a bridge's port, and as a port of the neighbour tables. Each
//! table here is translated to the port's name by its own way, and only where the walk holds that translation.

mod bridge;
mod interfaces;
mod names;
mod neighbours;
mod ports;
mod power;
mod rows;
mod system;
mod tree;

use crate::evidence::Evidence;
use crate::seen::{Seen, Spot, Trust};
use ports::Ports;
use tree::Tree;

/// Reads the output of a walk.
pub fn read_walk(text: &str) -> Evidence {
    collect(&rows::walk(text))
}

/// Reads a recorded walk.
pub fn read_record(text: &str) -> Evidence {
    collect(&rows::record(text))
}

fn collect((tree, wrong): &(Tree, Vec<(Spot, &'static str)>)) -> Evidence {
    let mut evidence = Evidence::default();
    for (spot, says) in wrong {
        super::complain(&mut evidence, *spot, *says);
    }
    if tree.is_empty() {
        super::complain(&mut evidence, Spot::Whole, "no row that can be read");
        return evidence;
    }
    let system = system::read(tree);
    let ports = Ports::new(tree);
    let name = system.as_ref().and_then(|system| system.name.clone());
    interfaces::read(tree, &ports, name.as_deref(), &mut evidence);
    power::read(tree, &ports, name.as_deref(), &mut evidence);
    neighbours::read(tree, &ports, name.as_deref(), &mut evidence);
    bridge::read(tree, &ports, name.as_deref(), &mut evidence);
    evidence.systems.extend(system);
    evidence
}

/// Seen in a row of the walk.
fn seen(spot: Spot, trust: Trust) -> Seen {
    Seen::at(spot, trust)
}
