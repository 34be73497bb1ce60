//! Binary decision diagrams of monotone functions: what works while which items are up.
//!
//! Every function is stored once; a node asks one item and goes on to one function if it is up and to
//! another if it is down. Chances add up over the diagram without ever subtracting, so that 1e-12 keeps
//! all its figures.
//!
//! **Source**: Bryant 1986, ordered and reduced decision diagrams (from memory).

use std::collections::HashMap;

/// Never works.
pub(crate) const NEVER: u32 = 0;
/// Always works.
pub(crate) const ALWAYS: u32 = 1;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Node {
    item: u32,
    down: u32,
    up: u32,
}

/// All functions made so far. Items are numbered in the order in which nodes ask them.
#[derive(Debug, Clone)]
pub(crate) struct Functions {
    nodes: Vec<Node>,
    known: HashMap<Node, u32>,
    joined: HashMap<(bool, u32, u32), u32>,
    most: usize,
}

impl Functions {
    /// Holds up to about `most` nodes; then results may be `None`.
    pub(crate) fn new(most: usize) -> Self {
        let end = Node { item: u32::MAX, down: NEVER, up: NEVER };
        Self { nodes: vec![end; 2], known: HashMap::new(), joined: HashMap::new(), most }
    }

    /// How many nodes it holds.
    pub(crate) fn len(&self) -> usize {
        self.nodes.len()
    }

    fn node(&mut self, node: Node) -> u32 {
        if node.up == node.down {
            return node.up;
        }
        let next = self.nodes.len() as u32;
        let at = *self.known.entry(node).or_insert(next);
        if at == next {
            self.nodes.push(node);
        }
        at
    }

    /// Works while `item` is up.
    pub(crate) fn item(&mut self, item: u32) -> u32 {
        self.node(Node { item, down: NEVER, up: ALWAYS })
    }

    /// Works while both do; `None` when there are too many nodes.
    pub(crate) fn both(&mut self, one: u32, two: u32) -> Option<u32> {
        self.join(true, one, two)
    }

    /// Works while one of them does; `None` when there are too many nodes.
    pub(crate) fn either(&mut self, one: u32, two: u32) -> Option<u32> {
        self.join(false, one, two)
    }

    fn join(&mut self, is_both: bool, one: u32, two: u32) -> Option<u32> {
        let (absorbs, passes) = if is_both { (NEVER, ALWAYS) } else { (ALWAYS, NEVER) };
        match (one, two) {
            _ if one == two || two == passes => return Some(one),
            _ if one == passes => return Some(two),
            _ if one == absorbs || two == absorbs => return Some(absorbs),
            _ => {}
        }
        let key = (is_both, one.min(two), one.max(two));
        if let Some(&known) = self.joined.get(&key) {
            return Some(known);
        }
        if self.nodes.len() > self.most {
            return None;
        }
        let (a, b) = (self.nodes[one as usize], self.nodes[two as usize]);
        let item = a.item.min(b.item);
        let split = |node: Node, whole: u32| if node.item == item { (node.down, node.up) } else { (whole, whole) };
        let ((a_down, a_up), (b_down, b_up)) = (split(a, one), split(b, two));
        let down = self.join(is_both, a_down, b_down)?;
        let up = self.join(is_both, a_up, b_up)?;
        let result = self.node(Node { item, down, up });
        self.joined.insert(key, result);
        Some(result)
    }

    /// Forgets every function but `roots`, which get new numbers.
    pub(crate) fn keep_only(&mut self, roots: &mut [u32]) {
        let mut is_kept = vec![false; self.nodes.len()];
        let mut todo = roots.to_vec();
        while let Some(at) = todo.pop() {
            if at > ALWAYS && !std::mem::replace(&mut is_kept[at as usize], true) {
                todo.extend([self.nodes[at as usize].down, self.nodes[at as usize].up]);
            }
        }
        let mut kept = Self::new(self.most);
        let mut number: Vec<u32> = (0..self.nodes.len() as u32).collect();
        // A node is always made after those that it goes on to.
        for at in (0..self.nodes.len()).filter(|&at| is_kept[at]) {
            let Node { item, down, up } = self.nodes[at];
            number[at] = kept.node(Node { item, down: number[down as usize], up: number[up as usize] });
        }
        roots.iter_mut().for_each(|root| *root = number[*root as usize]);
        *self = kept;
    }

    /// Chance that `function` does not work when item `n` is down with chance `down[n]`.
    pub(crate) fn down_chance(&self, function: u32, down: &[f64]) -> f64 {
        let mut known = HashMap::from([(NEVER, 1.0), (ALWAYS, 0.0)]);
        self.visit(function, &mut known, &|node, lost, kept| {
            let chance = down[node.item as usize];
            chance * lost + (1.0 - chance) * kept
        })
    }

    /// How many sets of i working items, of `items` in all, let `function` work, for every i.
    #[cfg(test)]
    pub(crate) fn working_sets(&self, function: u32, items: u32) -> Vec<u128> {
        let level = |function: u32| self.nodes[function as usize].item.min(items);
        let mut known = HashMap::from([(NEVER, vec![0u128]), (ALWAYS, vec![1])]);
        let free = |sets: &[u128], count: u32| {
            (0..count).fold(sets.to_vec(), |sets, _| {
                (0..=sets.len()).map(|at| sets.get(at).unwrap_or(&0) + at.checked_sub(1).map_or(0, |below| sets[below])).collect()
            })
        };
        let sets = self.visit(function, &mut known, &|node, lost: Vec<u128>, kept: Vec<u128>| {
            let lost = free(&lost, level(node.down) - node.item - 1);
            let kept = free(&kept, level(node.up) - node.item - 1);
            let length = lost.len().max(kept.len() + 1);
            (0..length).map(|at| lost.get(at).unwrap_or(&0) + at.checked_sub(1).and_then(|below| kept.get(below)).unwrap_or(&0)).collect()
        });
        let mut sets = free(&sets, level(function));
        sets.resize(items as usize + 1, 0);
        sets
    }

    /// Works out a value for every node below `function`, ends given in `known`.
    fn visit<T: Clone>(&self, function: u32, known: &mut HashMap<u32, T>, join: &dyn Fn(Node, T, T) -> T) -> T {
        let mut todo = vec![function];
        while let Some(&at) = todo.last() {
            if known.contains_key(&at) {
                todo.pop();
                continue;
            }
            let node = self.nodes[at as usize];
            match (known.get(&node.down), known.get(&node.up)) {
                (Some(down), Some(up)) => {
                    let value = join(node, down.clone(), up.clone());
                    known.insert(at, value);
                }
                _ => todo.extend([node.down, node.up].into_iter().filter(|next| !known.contains_key(next))),
            }
        }
        known[&function].clone()
    }
}
