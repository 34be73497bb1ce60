//! The failure graph: nodes and links as vertices, so that one removal serves boxes and cables alike.

use loomwright_forwarding::Fabric;

/// No vertex, block or component.
pub(crate) const NONE: u32 = u32::MAX;

/// An undirected graph: first every node of the fabric, then every link.
#[derive(Debug, Clone, Default)]
pub(crate) struct Graph {
    start: Vec<u32>,
    to: Vec<u32>,
}

impl Graph {
    /// Subdivides every link of the fabric. O(nodes + links).
    pub(crate) fn new(fabric: &Fabric) -> Self {
        let nodes = fabric.nodes.len() as u32;
        let edges = fabric.links.iter().enumerate().flat_map(|(at, link)| link.nodes.map(|node| (node.0, nodes + at as u32)));
        Self::from_edges(fabric.nodes.len() + fabric.links.len(), &edges.collect::<Vec<_>>())
    }

    /// From pairs of vertices.
    pub(crate) fn from_edges(vertices: usize, edges: &[(u32, u32)]) -> Self {
        let both = edges.iter().flat_map(|&(a, b)| [(a, b), (b, a)]);
        let lists = Lists::group(vertices, &both.collect::<Vec<_>>());
        Self { start: lists.start, to: lists.items }
    }

    /// How many vertices it has.
    pub(crate) fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// Vertices next to `vertex`.
    pub(crate) fn next_to(&self, vertex: u32) -> &[u32] {
        &self.to[self.start[vertex as usize] as usize..self.start[vertex as usize + 1] as usize]
    }

    /// Where the neighbours of `vertex` begin and end.
    pub(crate) fn span(&self, vertex: u32) -> (u32, u32) {
        (self.start[vertex as usize], self.start[vertex as usize + 1])
    }

    /// The neighbour at a position of a span.
    pub(crate) fn at(&self, position: u32) -> u32 {
        self.to[position as usize]
    }

    /// A component number for each vertex, [`NONE`] for those that are gone: the plain flood fill.
    pub(crate) fn components(&self, gone: &[bool]) -> Vec<u32> {
        let mut component = vec![NONE; self.len()];
        let mut stack = Vec::new();
        for root in 0..self.len() as u32 {
            if gone[root as usize] || component[root as usize] != NONE {
                continue;
            }
            component[root as usize] = root;
            stack.push(root);
            while let Some(vertex) = stack.pop() {
                for &next in self.next_to(vertex) {
                    if !gone[next as usize] && component[next as usize] == NONE {
                        component[next as usize] = root;
                        stack.push(next);
                    }
                }
            }
        }
        component
    }

    /// The vertices of a shortest way between two, both included; empty if there is none.
    pub(crate) fn way(&self, [from, to]: [u32; 2], gone: &[bool]) -> Vec<u32> {
        let mut before = vec![NONE; self.len()];
        let mut queue = std::collections::VecDeque::from([from]);
        before[from as usize] = from;
        while let Some(vertex) = queue.pop_front().filter(|vertex| *vertex != to && !gone[*vertex as usize]) {
            for &next in self.next_to(vertex) {
                if !gone[next as usize] && before[next as usize] == NONE {
                    before[next as usize] = vertex;
                    queue.push_back(next);
                }
            }
        }
        if gone[from as usize] || before[to as usize] == NONE {
            return Vec::new();
        }
        let mut way = vec![to];
        while way[way.len() - 1] != from {
            way.push(before[way[way.len() - 1] as usize]);
        }
        way
    }
}

/// Many short lists in one: list `n` holds what was paired with key `n`, in the order given.
#[derive(Debug, Clone, Default)]
pub(crate) struct Lists {
    pub(crate) start: Vec<u32>,
    pub(crate) items: Vec<u32>,
}

impl Lists {
    /// Groups `(key, item)` by key, keys below `keys`. Keeps the order within a key.
    pub(crate) fn group(keys: usize, pairs: &[(u32, u32)]) -> Self {
        let mut start = vec![0u32; keys + 1];
        for &(key, _) in pairs {
            start[key as usize + 1] += 1;
        }
        for at in 0..keys {
            start[at + 1] += start[at];
        }
        let mut next = start.clone();
        let mut items = vec![0; pairs.len()];
        for &(key, item) in pairs {
            items[next[key as usize] as usize] = item;
            next[key as usize] += 1;
        }
        Self { start, items }
    }

    /// No list yet, to be filled one after the other.
    pub(crate) fn empty() -> Self {
        Self { start: vec![0], items: Vec::new() }
    }

    /// How many lists there are.
    pub(crate) fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// List `key`.
    pub(crate) fn of(&self, key: u32) -> &[u32] {
        &self.items[self.start[key as usize] as usize..self.start[key as usize + 1] as usize]
    }

    /// Adds a list of what follows `items` up to now.
    pub(crate) fn close(&mut self) {
        self.start.push(self.items.len() as u32);
    }

    /// The same pairs, grouped by item; items below `items`.
    pub(crate) fn turned(&self, items: usize) -> Self {
        let mut start = vec![0u32; items + 1];
        self.items.iter().for_each(|&item| start[item as usize + 1] += 1);
        for at in 0..items {
            start[at + 1] += start[at];
        }
        let mut next = start.clone();
        let mut keys = vec![0; self.items.len()];
        for key in 0..self.len() as u32 {
            for &item in self.of(key) {
                keys[next[item as usize] as usize] = key;
                next[item as usize] += 1;
            }
        }
        Self { start, items: keys }
    }
}
