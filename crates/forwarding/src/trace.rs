//! Walks one packet stream through the tree of its domain.
//!
//! The tree is rooted at the querier, and reports travel towards it. So a snooping switch knows a
//! receiver if and only if the receiver lies below it, and every switch passes every stream on towards the
//! root (RFC 4541 section 2.1.2): the copies go up from the sender to the root, and down from that way to
//! each receiver. A box that does not snoop passes them to all its other ports as well.

use crate::domain::{Forest, NO_NODE};
use crate::fabric::{Direction, Fabric, NodeIx, NodeKind};
use crate::flow::{Delivery, FlowHop, NO_PARENT};
use crate::removed::Alive;

/// A sender and the receivers of one network.
pub(crate) struct Errand {
    pub(crate) sender: NodeIx,
    /// Index in the stream's `to`, and node.
    pub(crate) receivers: Vec<(u32, NodeIx)>,
}

type Traced = (Vec<FlowHop>, Vec<Delivery>);

/// Traces flows; keeps its working memory between them.
pub(crate) struct Tracer<'a> {
    fabric: &'a Fabric,
    alive: &'a Alive,
    forest: &'a Forest,
    /// In which flow a node was last reached.
    reached: Vec<u32>,
    /// The hop that reached it.
    hop_of: Vec<u32>,
    turn: u32,
    hops: Vec<FlowHop>,
    /// How many of the hops lead up to the root.
    climb: usize,
    /// Nodes reached by the current flow, in order.
    visited: Vec<u32>,
}

impl<'a> Tracer<'a> {
    pub(crate) fn new(fabric: &'a Fabric, alive: &'a Alive, forest: &'a Forest) -> Self {
        let count = fabric.nodes.len();
        Self {
            fabric,
            alive,
            forest,
            reached: vec![0; count],
            hop_of: vec![NO_PARENT; count],
            turn: 0,
            hops: Vec::new(),
            climb: 0,
            visited: Vec::new(),
        }
    }

    /// One copy per link. `floods` for groups that every switch passes everywhere. O(hops).
    pub(crate) fn multicast(&mut self, errand: &Errand, floods: bool) -> Traced {
        let sender = errand.sender.0;
        if !self.start(sender) {
            return (Vec::new(), Vec::new());
        }
        self.climb_to_root(sender);
        let mut highest = 0;
        for (_, receiver) in &errand.receivers {
            if self.is_in_domain(sender, receiver.0) {
                highest = highest.max(self.descend_to(receiver.0));
            }
        }
        self.hops[..highest].iter_mut().for_each(|hop| hop.wanted = true);
        self.flood(floods || !self.forest.has_querier[self.forest.domain[sender as usize] as usize]);
        let deliveries = self.deliveries(errand);
        (std::mem::take(&mut self.hops), deliveries)
    }

    /// The one way from sender to receiver; empty where there is none.
    pub(crate) fn unicast(&mut self, sender: NodeIx, receiver: (u32, NodeIx)) -> Traced {
        let (mut from, mut to) = (sender.0 as usize, receiver.1.0 as usize);
        if !self.start(sender.0) || !self.is_in_domain(sender.0, receiver.1.0) {
            return (Vec::new(), Vec::new());
        }
        let (mut up, mut down) = (Vec::new(), Vec::new());
        while from != to {
            if self.forest.depth[from] >= self.forest.depth[to] {
                up.push(self.upward(from));
                from = self.forest.parent[from] as usize;
            } else {
                down.push(self.upward(to).reversed());
                to = self.forest.parent[to] as usize;
            }
        }
        up.extend(down.into_iter().rev());
        let parent = |at: usize| at.checked_sub(1).map_or(NO_PARENT, |at| at as u32);
        let hops: Vec<FlowHop> =
            up.into_iter().enumerate().map(|(at, direction)| FlowHop { direction, parent: parent(at), wanted: true }).collect();
        let last = hops.len().checked_sub(1).map(|hop| Delivery { receiver: receiver.0, hop: hop as u32 });
        (hops, last.into_iter().collect())
    }

    /// Begins a flow; false if its sender is dead.
    fn start(&mut self, sender: u32) -> bool {
        self.turn += 1;
        self.hops.clear();
        self.visited.clear();
        self.reach(sender, NO_PARENT);
        self.alive.nodes[sender as usize]
    }

    fn is_in_domain(&self, a: u32, b: u32) -> bool {
        self.forest.domain[a as usize] == self.forest.domain[b as usize]
    }

    fn reach(&mut self, node: u32, hop: u32) {
        self.reached[node as usize] = self.turn;
        self.hop_of[node as usize] = hop;
        self.visited.push(node);
    }

    fn is_reached(&self, node: u32) -> bool {
        self.reached[node as usize] == self.turn
    }

    /// The direction from a node to its parent.
    fn upward(&self, node: usize) -> Direction {
        let link = &self.fabric.links[self.forest.parent_link[node] as usize];
        Direction::new(link.cable, usize::from(link.nodes[0].0 as usize != node))
    }

    fn push(&mut self, direction: Direction, from: u32, to: u32) {
        let hop = self.hops.len() as u32;
        self.hops.push(FlowHop { direction, parent: self.hop_of[from as usize], wanted: false });
        self.reach(to, hop);
    }

    /// From the sender to the root: hop `i` leaves the `i`-th node on the way.
    fn climb_to_root(&mut self, sender: u32) {
        let mut node = sender;
        while self.forest.parent[node as usize] != NO_NODE {
            let parent = self.forest.parent[node as usize];
            self.push(self.upward(node as usize), node, parent);
            node = parent;
        }
        self.climb = self.hops.len();
    }

    /// From the way already taken down to a receiver. Says how many hops of the climb it needs.
    fn descend_to(&mut self, receiver: u32) -> usize {
        let mut down = Vec::new();
        let mut node = receiver;
        while !self.is_reached(node) {
            down.push(node);
            node = self.forest.parent[node as usize];
        }
        let joins_at = self.hop_of[node as usize];
        for to in down.into_iter().rev() {
            self.push(self.upward(to as usize).reversed(), self.forest.parent[to as usize], to);
            self.hops.last_mut().expect("a hop was just pushed").wanted = true;
        }
        // A way that joins an earlier way down needs no more of the climb than that one.
        if (joins_at as usize) < self.climb { joins_at as usize + 1 } else { 0 }
    }

    /// Passes copies on at every box that does not snoop, and at all of them if `everywhere`.
    fn flood(&mut self, everywhere: bool) {
        let mut next = 0;
        while next < self.visited.len() {
            let node = self.visited[next];
            next += 1;
            if !everywhere && !self.floods(node) {
                continue;
            }
            for &(link, to) in self.fabric.neighbours(NodeIx(node)) {
                if self.forest.parent_link[to.0 as usize] == link && !self.is_reached(to.0) {
                    self.push(self.upward(to.0 as usize).reversed(), node, to.0);
                }
            }
        }
    }

    fn floods(&self, node: u32) -> bool {
        let kind = self.fabric.nodes[node as usize].kind;
        !matches!(kind, NodeKind::Interface(..)) && !self.fabric.traits[node as usize].is_snooping
    }

    fn deliveries(&self, errand: &Errand) -> Vec<Delivery> {
        let at = |(receiver, node): &(u32, NodeIx)| Delivery { receiver: *receiver, hop: self.hop_of[node.0 as usize] };
        let arrives = |(_, node): &&(u32, NodeIx)| self.is_reached(node.0) && self.hop_of[node.0 as usize] != NO_PARENT;
        errand.receivers.iter().filter(arrives).map(at).collect()
    }
}
