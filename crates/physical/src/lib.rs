//! What can be held in the hand: cable lengths and media, power over Ethernet, optical budgets, feeds.
//!
//! [`inspect`] measures a whole wiring; the modules hold the formulas and tables one by one. It only
//! computes: what to say about a figure, and how loudly, is decided where the proof is put together.
//! Mains, phases and breaker ratings are deliberately absent: they are the work of licensed people.

pub mod cable;
pub mod copper;
pub mod disjoint;
pub mod extra;
pub mod feeds;
mod flow;
pub mod length;
pub mod optics;
pub mod poe;
pub mod ways;

pub use cable::{CableCheck, CableTrouble};
pub use disjoint::{Apart, Pair};
pub use extra::Extra;
pub use feeds::FeedDraw;
pub use length::{LengthLimit, length_limit};
pub use poe::{PoePort, SwitchPoe};

use loomwright_model::{Id, Plan, PortRef, Wiring};

/// Everything that can be said of a wiring without looking at its frames.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Physical {
    /// Every cable, in the order of the wiring.
    pub cables: Vec<CableCheck>,
    /// Ports that more than one cable claims, with those cables.
    pub shared_ports: Vec<(PortRef, Vec<Id>)>,
    /// Every switch that can give or is asked for power, in the order of the wiring.
    pub poe: Vec<SwitchPoe>,
    /// Devices that need power over Ethernet, have no feed of their own and no port that gives any.
    pub without_power_port: Vec<Id>,
    /// Every feed that something hangs on, in order of first mention.
    pub feeds: Vec<FeedDraw>,
}

/// Measures a whole wiring. O(devices + cables).
pub fn inspect(plan: &Plan, wiring: &Wiring) -> Physical {
    let ports = cable::PortTable::new(plan, wiring);
    let poe = poe::power_of_switches(plan, wiring);
    Physical {
        cables: wiring.cables.iter().map(|(id, cable)| cable::check(plan, wiring, &ports, (id, cable))).collect(),
        shared_ports: cable::shared_ports(wiring),
        without_power_port: poe::without_power_port(plan, wiring),
        feeds: feeds::draws(plan, wiring, &poe),
        poe,
    }
}
