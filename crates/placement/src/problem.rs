//! The switch placement problem, without names.
//!
//! **Items** (a device, or all devices of one place) stand still. **Places** can hold switches. Each item is served by one
//! place that it can reach; each place that serves anything buys the cheapest set of switch models with ports and power
//! for what it serves, plus the ports it keeps for its trunk. **Layers** are networks on switches of their own: an item
//! is served by the same place in all of them.

/// Money in whole hundredths (or any other whole unit, as long as all costs share it).
pub type Cost = i64;

/// The dearest that a single cost can be; dearer ones count as this. Also what an item without a switch costs.
/// Own choice: 2^32, so that a million of them, kept in 1024ths, stay within 64 bits.
pub const MOST: Cost = 1 << 32;

/// Everything that is asked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// How many places there are.
    pub places: usize,
    /// One for each network on switches of its own; at least one.
    pub layers: Vec<Layer>,
    /// What has to be served.
    pub items: Vec<Item>,
    /// How many places may have switches; `None` is as many as wanted.
    pub most_open: Option<usize>,
}

/// One network on switches of its own.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Layer {
    /// What can be bought.
    pub models: Vec<Model>,
    /// What it costs, place by place, to have switches there at all: rack and trunk.
    pub opening: Vec<Cost>,
    /// Ports that each place with switches keeps free of items, for its trunk.
    pub reserved_ports: u32,
    /// Whether a place gets as few switches as will do, and only among those sets the cheapest.
    pub fewest: bool,
}

/// One switch model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Model {
    /// Ports that items and trunks may use; spare ports are already taken off.
    pub ports: u32,
    /// What it can feed in all, in the same unit as [`Demand::power`].
    pub power: u64,
    /// What one costs.
    pub price: Cost,
    /// How many there are; `None` is as many as wanted.
    pub stock: Option<u32>,
}

/// What has to be served.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Item {
    /// What it needs in each layer.
    pub demand: Vec<Demand>,
    /// Where it can be served. A place that is not named is out of reach.
    pub reach: Vec<Reach>,
}

/// What an item needs in one layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, PartialOrd, Ord)]
pub struct Demand {
    /// Ports.
    pub ports: u32,
    /// Power over Ethernet, in any whole unit.
    pub power: u64,
}

/// A place within reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reach {
    /// The place.
    pub place: usize,
    /// What the cable for one port costs.
    pub cost: Cost,
}
