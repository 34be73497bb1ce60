//! The shortest tree that joins given places: trunks along trays and routes, with junctions anywhere.
//!
//! Up to [`EXACT`] terminals the answer is the shortest: subset by subset, the cheapest tree that joins the subset and
//! ends at each node (Dreyfus and Wagner, from memory). Beyond that, key vertices are put in and taken out while that
//! shortens the spanning tree over them, and a bound comes from dual ascent (Wong, from memory): every part that a
//! terminal is cut off by pays for the cheapest way through its edge, and no tree can avoid paying all of it.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Most terminals that are joined exactly. Own choice: 3^11 steps for each node, well under a second.
pub const EXACT: usize = 12;

/// Longer than any tree: what cannot be reached. Own choice.
const FAR: u64 = u64::MAX / 4;

/// Roots that dual ascent is tried from. Own choice.
const ROOTS: usize = 24;

/// Places and the ways between them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Graph {
    /// How many nodes there are.
    pub nodes: usize,
    /// Two nodes and the length or cost between them; capped at 2^40.
    pub edges: Vec<([usize; 2], u64)>,
}

/// A tree that joins all terminals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tree {
    /// Positions in [`Graph::edges`], rising.
    pub edges: Vec<usize>,
    /// Their sum.
    pub cost: u64,
    /// No tree that joins the terminals is shorter.
    pub bound: u64,
}

/// A graph with its neighbours at hand.
pub(crate) struct Net {
    pub at: Vec<Vec<(usize, usize, u64)>>,
}

impl Net {
    fn new(graph: &Graph) -> Self {
        let mut at = vec![Vec::new(); graph.nodes];
        for (edge, ([one, other], cost)) in graph.edges.iter().enumerate() {
            if *one < graph.nodes && *other < graph.nodes && one != other {
                let cost = (*cost).min(1 << 40);
                at[*one].push((*other, edge, cost));
                at[*other].push((*one, edge, cost));
            }
        }
        Self { at }
    }

    /// Lowers `best` to the cheapest way from any node, noting the edge that each was reached by.
    fn spread(&self, best: &mut [u64], through: &mut [Option<(usize, usize)>]) {
        let mut queue: BinaryHeap<Reverse<(u64, usize)>> =
            best.iter().enumerate().filter(|(_, cost)| **cost < FAR).map(|(node, cost)| Reverse((*cost, node))).collect();
        while let Some(Reverse((cost, node))) = queue.pop() {
            if cost > best[node] {
                continue;
            }
            for (next, edge, step) in &self.at[node] {
                if cost + step < best[*next] {
                    best[*next] = cost + step;
                    through[*next] = Some((node, *edge));
                    queue.push(Reverse((cost + step, *next)));
                }
            }
        }
    }

    /// Cost of every node from `node`, and how each is reached.
    fn from(&self, node: usize) -> (Vec<u64>, Vec<Option<(usize, usize)>>) {
        let mut best = vec![FAR; self.at.len()];
        let mut through = vec![None; self.at.len()];
        best[node] = 0;
        self.spread(&mut best, &mut through);
        (best, through)
    }
}

/// The shortest tree that joins `terminals`, or one near it; `None` if they cannot be joined.
pub fn join(graph: &Graph, terminals: &[usize]) -> Option<Tree> {
    let net = Net::new(graph);
    let mut terminals: Vec<usize> = terminals.iter().copied().filter(|node| *node < graph.nodes).collect();
    terminals.sort_unstable();
    terminals.dedup();
    let Some(first) = terminals.first() else { return Some(Tree { edges: Vec::new(), cost: 0, bound: 0 }) };
    let (reached, _) = net.from(*first);
    if terminals.iter().any(|node| reached[*node] >= FAR) {
        return None;
    }
    let cost = |edges: &[usize]| edges.iter().map(|edge| graph.edges[*edge].1.min(1 << 40)).sum::<u64>();
    if terminals.len() <= EXACT {
        let edges = exact(&net, &terminals);
        let cost = cost(&edges);
        return Some(Tree { edges, cost, bound: cost });
    }
    let edges = near(graph, &net, &terminals);
    let cost = cost(&edges);
    let roots = terminals.iter().step_by(terminals.len().div_ceil(ROOTS));
    let bound = roots.map(|root| ascend(graph, *root, &terminals)).max().unwrap_or(0);
    Some(Tree { edges, cost, bound: bound.min(cost) })
}

/// How a subset's tree got to a node.
#[derive(Clone, Copy)]
enum From {
    Nothing,
    Along(usize, usize),
    Joined(usize),
}

fn exact(net: &Net, terminals: &[usize]) -> Vec<usize> {
    let Some((root, others)) = terminals.split_first() else { return Vec::new() };
    let (nodes, subsets) = (net.at.len(), 1usize << others.len());
    let mut best = vec![vec![FAR; nodes]; subsets];
    let mut from = vec![vec![From::Nothing; nodes]; subsets];
    for subset in 1..subsets {
        let (mut own, mut how) = (vec![FAR; nodes], vec![From::Nothing; nodes]);
        if subset.is_power_of_two() {
            own[others[subset.trailing_zeros() as usize]] = 0;
        }
        let lowest = subset & subset.wrapping_neg();
        let mut part = (subset - 1) & subset;
        while part > 0 {
            if part & lowest > 0 {
                for node in 0..nodes {
                    let sum = best[part][node].saturating_add(best[subset ^ part][node]);
                    if sum < own[node] {
                        (own[node], how[node]) = (sum, From::Joined(part));
                    }
                }
            }
            part = (part - 1) & subset;
        }
        let mut through = vec![None; nodes];
        net.spread(&mut own, &mut through);
        for (how, through) in how.iter_mut().zip(through) {
            if let Some((node, edge)) = through {
                *how = From::Along(node, edge);
            }
        }
        (best[subset], from[subset]) = (own, how);
    }
    let mut edges = Vec::new();
    let mut waiting = vec![(subsets - 1, *root)];
    while let Some((subset, node)) = waiting.pop() {
        match from[subset][node] {
            From::Nothing => {}
            From::Along(before, edge) => {
                edges.push(edge);
                waiting.push((subset, before));
            }
            From::Joined(part) => waiting.extend([(part, node), (subset ^ part, node)]),
        }
    }
    edges.sort_unstable();
    edges.dedup();
    edges
}

/// All shortest ways between nodes.
struct Distances {
    cost: Vec<Vec<u64>>,
    through: Vec<Vec<Option<(usize, usize)>>>,
}

/// Puts key vertices in and takes them out while the tree gets shorter.
fn near(graph: &Graph, net: &Net, terminals: &[usize]) -> Vec<usize> {
    let (cost, through): (Vec<_>, Vec<_>) = (0..graph.nodes).map(|node| net.from(node)).unzip();
    let all = Distances { cost, through };
    let mut best: Option<(u64, Vec<usize>)> = None;
    for start in starts(graph, &all, terminals) {
        let found = improve(graph, &all, terminals, start);
        if best.as_ref().is_none_or(|known| found < *known) {
            best = Some(found);
        }
    }
    best.map_or_else(Vec::new, |(_, edges)| edges)
}

/// Key vertices to begin with: none; and the junctions of trees grown by nearest terminal from several roots.
fn starts(graph: &Graph, all: &Distances, terminals: &[usize]) -> Vec<Vec<usize>> {
    let mut starts = vec![Vec::new()];
    for root in terminals.iter().step_by(terminals.len().div_ceil(8)) {
        let mut inside = vec![false; graph.nodes];
        inside[*root] = true;
        let mut left: Vec<usize> = terminals.iter().copied().filter(|node| node != root).collect();
        while !left.is_empty() {
            let tree = || (0..graph.nodes).filter(|node| inside[*node]);
            let nearest = left.iter().enumerate().filter_map(|(at, node)| tree().map(|end| (all.cost[*node][end], at, end)).min()).min();
            let Some((_, at, end)) = nearest else { break };
            let node = left.swap_remove(at);
            let mut step = end;
            inside[node] = true;
            while let Some((before, _)) = all.through[node][step] {
                inside[step] = true;
                step = before;
            }
        }
        starts.push((0..graph.nodes).filter(|node| inside[*node] && !terminals.contains(node)).collect());
    }
    starts
}

fn improve(graph: &Graph, all: &Distances, terminals: &[usize], start: Vec<usize>) -> (u64, Vec<usize>) {
    let mut keys = start;
    let (mut cost, mut edges) = span(graph, all, terminals, &keys);
    loop {
        let before = cost;
        for node in 0..graph.nodes {
            if terminals.contains(&node) {
                continue;
            }
            let mut trial = keys.clone();
            match trial.iter().position(|key| *key == node) {
                Some(at) => drop(trial.remove(at)),
                None => trial.push(node),
            }
            let found = span(graph, all, terminals, &trial);
            if found.0 < cost {
                (cost, edges) = found;
                keys = junctions(graph, &edges, terminals);
            }
        }
        if cost >= before {
            return (cost, edges);
        }
    }
}

/// Nodes of a tree that are no terminals and join three edges or more.
fn junctions(graph: &Graph, edges: &[usize], terminals: &[usize]) -> Vec<usize> {
    let mut degree = vec![0; graph.nodes];
    edges.iter().flat_map(|edge| graph.edges[*edge].0).for_each(|node| degree[node] += 1);
    (0..graph.nodes).filter(|node| degree[*node] > 2 && !terminals.contains(node)).collect()
}

/// The shortest spanning tree over terminals and keys by shortest ways, laid along edges, loose ends cut off.
fn span(graph: &Graph, all: &Distances, terminals: &[usize], keys: &[usize]) -> (u64, Vec<usize>) {
    let members: Vec<usize> = terminals.iter().chain(keys).copied().collect();
    let mut nearest: Vec<(u64, usize)> = members.iter().map(|node| (all.cost[members[0]][*node], members[0])).collect();
    let mut left: Vec<usize> = (1..members.len()).collect();
    let mut used = vec![false; graph.edges.len()];
    while let Some(at) = (0..left.len()).min_by_key(|at| nearest[left[*at]]) {
        let member = left.swap_remove(at);
        if nearest[member].0 >= FAR {
            continue;
        }
        let (node, from) = (members[member], nearest[member].1);
        let mut step = node;
        while let Some((before, edge)) = all.through[from][step] {
            used[edge] = true;
            step = before;
        }
        for other in &left {
            nearest[*other] = nearest[*other].min((all.cost[node][members[*other]], node));
        }
    }
    prune(graph, used, terminals)
}

/// The shortest spanning tree of the used edges, without ends that are no terminals.
fn prune(graph: &Graph, used: Vec<bool>, terminals: &[usize]) -> (u64, Vec<usize>) {
    let mut edges: Vec<usize> = (0..used.len()).filter(|edge| used[*edge]).collect();
    edges.sort_by_key(|edge| (graph.edges[*edge].1, *edge));
    let mut part: Vec<usize> = (0..graph.nodes).collect();
    edges.retain(|edge| {
        let [one, other] = graph.edges[*edge].0.map(|node| find(&mut part, node));
        part[one] = other;
        one != other
    });
    loop {
        let mut degree = vec![0; graph.nodes];
        edges.iter().flat_map(|edge| graph.edges[*edge].0).for_each(|node| degree[node] += 1);
        let loose = |node: usize| degree[node] == 1 && terminals.binary_search(&node).is_err();
        let before = edges.len();
        edges.retain(|edge| !graph.edges[*edge].0.into_iter().any(loose));
        if edges.len() == before {
            break;
        }
    }
    edges.sort_unstable();
    (edges.iter().map(|edge| graph.edges[*edge].1.min(1 << 40)).sum(), edges)
}

fn find(part: &mut [usize], mut node: usize) -> usize {
    while part[node] != node {
        part[node] = part[part[node]];
        node = part[node];
    }
    node
}

/// A bound by dual ascent towards `root`. Arcs are numbered edge x 2, the second against the order of its ends.
fn ascend(graph: &Graph, root: usize, terminals: &[usize]) -> u64 {
    let mut left: Vec<u64> = graph.edges.iter().flat_map(|(_, cost)| [(*cost).min(1 << 40); 2]).collect();
    let mut into: Vec<Vec<(usize, usize)>> = vec![Vec::new(); graph.nodes];
    for (edge, ([one, other], _)) in graph.edges.iter().enumerate() {
        if one != other && *one < graph.nodes && *other < graph.nodes {
            into[*other].push((*one, edge * 2));
            into[*one].push((*other, edge * 2 + 1));
        }
    }
    let mut active: Vec<usize> = terminals.iter().copied().filter(|node| *node != root).collect();
    let mut bound = 0;
    let mut sizes = vec![0usize; graph.nodes];
    while !active.is_empty() {
        // The smallest part first: it shares its payment with the fewest.
        let (_, at) = active.iter().enumerate().map(|(at, node)| (sizes[*node], at)).min().expect("it is not empty");
        let (inside, crossing) = behind(&into, &left, active[at]);
        if inside[root] {
            active.swap_remove(at);
            continue;
        }
        sizes[active[at]] = inside.iter().filter(|inside| **inside).count();
        let Some(least) = crossing.iter().map(|arc| left[*arc]).min() else { return bound };
        bound += least;
        crossing.iter().for_each(|arc| left[*arc] -= least);
    }
    bound
}

/// Every node from which `terminal` is reached over arcs that are paid for, and the arcs into that part.
fn behind(into: &[Vec<(usize, usize)>], left: &[u64], terminal: usize) -> (Vec<bool>, Vec<usize>) {
    let mut inside = vec![false; into.len()];
    inside[terminal] = true;
    let mut waiting = vec![terminal];
    while let Some(node) = waiting.pop() {
        for (from, arc) in &into[node] {
            if left[*arc] == 0 && !inside[*from] {
                inside[*from] = true;
                waiting.push(*from);
            }
        }
    }
    let arcs = (0..into.len()).filter(|node| inside[*node]).flat_map(|node| &into[node]);
    let crossing = arcs.filter(|(from, _)| !inside[*from]).map(|(_, arc)| *arc).collect();
    (inside, crossing)
}
