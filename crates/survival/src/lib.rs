//! What falls silent when something fails: every single failure, any set of them, pairs, gaps and
//! availability.
//!
//! One failure graph serves all: nodes and cables are vertices, a failure takes a set of them, a stream
//! lives on a leg while that leg's two ends still hang together. [`Survival::new`] builds it once;
//! [`Survival::single_failures`] gives every single failure in near-linear time, [`Survival::whatif`] any
//! set by plain flood fill, which is also what the fast way is tested against.
//!
//! Deliberately absent: load on the ways that remain, and sound itself. A receiver is silent here when no
//! leg reaches it.

pub mod availability;
mod blocks;
mod cut;
mod demand;
mod double;
mod gap;
mod graph;
mod hearing;
mod importance;
mod loss;
mod ring;
mod rows;
mod single;
pub mod timers;
mod whatif;

pub use availability::{Availability, Down, Mission, Spare};
pub use demand::Demand;
pub use double::{DoubleFailure, Doubles};
pub use gap::Gap;
pub use hearing::{LegOf, Signs, Taken};
pub use importance::{Importance, Pairing};
pub use loss::Loss;
pub use single::Singles;
pub use timers::Timers;
pub use whatif::Effect;

use graph::Graph;
use loomwright_forwarding::{Fabric, Tree};
use loomwright_model::{Plan, Wiring};

/// A wiring made ready for questions about failures.
#[derive(Debug, Clone, Default)]
pub struct Survival {
    graph: Graph,
    things: loss::Things,
    demands: demand::Demands,
    /// Vertices that carry nothing until the spanning tree lets them: blocked links.
    blocked: Vec<bool>,
    /// Component of each vertex of the intact graph, blocked links used.
    component: Vec<u32>,
    healing: gap::Healing,
}

impl Survival {
    /// Builds the failure graph. `blocked` says for each link of the fabric whether spanning tree blocks it
    /// now; missing entries count as open. O(devices + cables + streams).
    pub fn new(plan: &Plan, wiring: &Wiring, fabric: &Fabric, blocked: &[bool]) -> Self {
        let graph = Graph::new(fabric);
        let mut blocked_vertices = vec![false; graph.len()];
        for (link, _) in blocked.iter().enumerate().filter(|(_, blocked)| **blocked) {
            if let Some(vertex) = blocked_vertices.get_mut(fabric.nodes.len() + link) {
                *vertex = true;
            }
        }
        let component = graph.components(&vec![false; graph.len()]);
        Self {
            things: loss::Things::new(plan, wiring, fabric),
            demands: demand::Demands::new(plan, fabric),
            healing: gap::Healing::new((plan, wiring), fabric, &component),
            blocked: blocked_vertices,
            component,
            graph,
        }
    }

    /// The same with other timers.
    #[must_use]
    pub fn with_timers(mut self, timers: Timers) -> Self {
        self.healing.timers = timers;
        self
    }

    /// The same, knowing what the spanning tree decided: with the classic tree, a switch that loses its way to the root and has a
    /// blocked port which leads there too finds it sooner. Without this, gaps are bounded as if none had.
    #[must_use]
    pub fn with_tree(mut self, fabric: &Fabric, tree: &Tree) -> Self {
        self.healing.know_tree(fabric, tree);
        self
    }

    /// Every stream at every receiver, in the order of the plan. Effects speak of them by index.
    pub fn demands(&self) -> &[Demand] {
        &self.demands.all
    }

    /// Demands that no leg reaches even with nothing lost. They are in no effect.
    pub fn never_heard(&self) -> Vec<u32> {
        (0..self.demands.all.len() as u32).filter(|&demand| !self.is_heard(demand, &self.component)).collect()
    }

    /// How many legs of a demand stand, given a component of each vertex.
    fn legs_standing(&self, demand: u32, component: &[u32]) -> usize {
        let legs = self.demands.legs_of(demand).iter();
        legs.filter(|leg| {
            let [from, to] = leg.ends.map(|end| component[end as usize]);
            from != graph::NONE && from == to
        })
        .count()
    }

    fn is_heard(&self, demand: u32, component: &[u32]) -> bool {
        self.legs_standing(demand, component) > 0
    }

    /// Whether `losses` name the demand's own sender or receiver: then its silence is no news.
    fn is_own_end(&self, demand: u32, losses: &[Loss]) -> bool {
        let ends = self.demands.all[demand as usize].ends;
        losses.iter().any(|loss| match loss {
            Loss::Gone(loomwright_model::Item::Device(id)) => {
                self.things.devices.get_index_of(id).is_some_and(|at| ends.contains(&(at as u32)))
            }
            _ => false,
        })
    }
}
