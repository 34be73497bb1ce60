//! What is taken away, and what is left.

use crate::fabric::{CableIx, DeviceIx, Fabric, Link, NodeIx, SwitchIx};
use std::collections::BTreeSet;

/// What a failure takes from a fabric.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Removed {
    /// Cables that carry nothing.
    pub cables: BTreeSet<CableIx>,
    /// Nodes without power: their links go down.
    pub dead: BTreeSet<NodeIx>,
    /// Nodes that keep their links up and forward nothing. Where frames go in the end is the same as
    /// for dead nodes; how long the others take to notice is not.
    pub frozen: BTreeSet<NodeIx>,
}

impl Removed {
    /// Takes one cable away.
    #[must_use]
    pub fn with_cable(mut self, cable: CableIx) -> Self {
        self.cables.insert(cable);
        self
    }

    /// Takes the power of a switch away.
    #[must_use]
    pub fn with_dead_switch(mut self, fabric: &Fabric, switch: SwitchIx) -> Self {
        self.dead.extend(fabric.nodes_of_switch(switch).map(|node| NodeIx(node as u32)));
        self
    }

    /// Freezes a switch.
    #[must_use]
    pub fn with_frozen_switch(mut self, fabric: &Fabric, switch: SwitchIx) -> Self {
        self.frozen.extend(fabric.nodes_of_switch(switch).map(|node| NodeIx(node as u32)));
        self
    }

    /// Takes the power of a device away.
    #[must_use]
    pub fn with_dead_device(mut self, fabric: &Fabric, device: DeviceIx) -> Self {
        self.dead.extend(fabric.nodes_of_device(device).map(|node| NodeIx(node as u32)));
        self
    }
}

/// What still works.
pub(crate) struct Alive {
    pub(crate) nodes: Vec<bool>,
    pub(crate) links: Vec<bool>,
}

impl Alive {
    pub(crate) fn new(fabric: &Fabric, removed: &Removed) -> Self {
        let mut nodes = vec![true; fabric.nodes.len()];
        for node in removed.dead.iter().chain(&removed.frozen) {
            if let Some(alive) = nodes.get_mut(node.0 as usize) {
                *alive = false;
            }
        }
        let is_up = |link: &Link| link.nodes.iter().all(|node| nodes[node.0 as usize]) && !removed.cables.contains(&link.cable);
        let links = fabric.links.iter().map(is_up).collect();
        Self { nodes, links }
    }
}
