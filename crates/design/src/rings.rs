//! Gives the leaves of a tree a second way, in pairs: each new trunk closes one ring, which spanning tree opens.

use crate::trunks::{self, Tree};
use loomwright_model::{BitRate, Item, SpanningTree};

/// Adds second ways until every leaf has one or cannot have one.
pub(crate) fn close(tree: &mut Tree) {
    let is_leaf = |rack: &usize| *rack != tree.root && !tree.parent.values().any(|(parent, _)| parent == rack);
    let mut open: Vec<usize> = tree.depth.keys().copied().filter(is_leaf).collect();
    while !open.is_empty() {
        let rack = open.remove(0);
        let joined = partners(tree, rack, &open).into_iter().find_map(|other| Some((other, tree.lay([rack, other], BitRate::ZERO, true)?)));
        match joined {
            Some((other, run)) => {
                trunks::tell(tree.draft, &run, false);
                tree.runs.push(run);
                open.retain(|left| *left != other);
            }
            None => tell(tree, rack),
        }
    }
}

/// Racks that a second trunk of `rack` may lead to, best first: a leaf that needs one too, then any other, near ones
/// first; last its own parent, for a second trunk beside the first.
fn partners(tree: &Tree, rack: usize, open: &[usize]) -> Vec<usize> {
    let far = tree.draft.ways.distances_any(tree.place(rack));
    let parent = tree.parent.get(&rack).map(|(parent, _)| *parent);
    let heals = |rack: usize| {
        let gear = tree.switch(rack).and_then(|id| tree.draft.done.wiring.gear_at(tree.draft.plan, id));
        gear.is_some_and(|gear| gear.spanning_tree != SpanningTree::None)
    };
    let mut order: Vec<(bool, bool, u64, usize)> = tree
        .depth
        .keys()
        .copied()
        .filter(|other| *other != rack && heals(*other) && heals(rack))
        .map(|other| (Some(other) == parent, !open.contains(&other), far[tree.place(other)].unwrap_or(u64::MAX), other))
        .collect();
    order.sort_unstable();
    order.into_iter().map(|(_, _, _, other)| other).collect()
}

fn tell(tree: &mut Tree, rack: usize) {
    let Some(switch) = tree.switch(rack).cloned() else { return };
    let says = format!("{switch} has one trunk only: no second way round could be made.");
    let remedy = "Use switches with rapid spanning tree and free trunk ports, and add a route apart from the first.".to_owned();
    tree.draft.warn("design/no-second-way", vec![Item::Switch(switch)], [says, remedy]);
}
