//! What stands in each place: its switches one by one, its devices summed up by type.

use crate::measure::Typeface;
use crate::options::Desk;
use loomwright_model::{Id, Place};
use std::collections::BTreeMap;

/// Width of a switch.
const SWITCH_W: f64 = 150.0;
/// A switch with long texts grows to this.
const MOST_SWITCH_W: f64 = 215.0;
/// Height of a switch and least height of a device list.
const NODE_H: f64 = 78.0;
/// Between nodes.
const GAP: f64 = 14.0;
/// Inside a place, on all sides.
const SIDE: f64 = 16.0;
/// Room for the place's name.
const NAME_H: f64 = 26.0;
/// More switches than this in one place are drawn as one box. Own choice.
const MOST_SWITCHES: usize = 8;
/// More lines than this in a device list are summed up. Own choice.
const MOST_LINES: usize = 5;

/// What a node stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NodeKind {
    /// One switch.
    Switch,
    /// Many switches of one place.
    Switches,
    /// All devices of one place.
    Devices,
}

/// A box inside a place.
#[derive(Debug, Clone)]
pub(super) struct Node<'a> {
    pub(super) kind: NodeKind,
    pub(super) items: Vec<&'a Id>,
    pub(super) title: String,
    pub(super) lines: Vec<String>,
    pub(super) width: f64,
}

/// A place with what stands in it.
#[derive(Debug, Clone)]
pub(super) struct PlaceBox<'a> {
    pub(super) id: Option<&'a Id>,
    pub(super) nodes: Vec<Node<'a>>,
    /// Height above the floor, millimetres.
    pub(super) height: i64,
    pub(super) row: usize,
    pub(super) column: usize,
    /// Across, millimetres.
    x: i64,
}

impl PlaceBox<'_> {
    pub(super) fn width(&self) -> f64 {
        let nodes: f64 = self.nodes.iter().map(|node| node.width + GAP).sum();
        nodes - GAP + 2.0 * SIDE
    }

    pub(super) fn node_height(&self) -> f64 {
        self.nodes.iter().map(|node| 34.0 + 14.0 * node.lines.len() as f64).fold(NODE_H, f64::max)
    }

    pub(super) fn box_height(&self) -> f64 {
        self.node_height() + 2.0 * SIDE + NAME_H - 8.0
    }

    /// Left edges of the nodes, from the left edge of the box; and their distance from its upper edge.
    pub(super) fn node_offsets(&self) -> (Vec<f64>, f64) {
        let mut x = SIDE;
        let lefts = self.nodes.iter().map(|node| {
            let left = x;
            x += node.width + GAP;
            left
        });
        (lefts.collect(), SIDE)
    }
}

/// Every place with something in it, from the highest down, then from left to right.
pub(super) fn boxes<'a>(desk: &Desk<'a>) -> Vec<PlaceBox<'a>> {
    let mut by_place: BTreeMap<Option<&'a Id>, (Vec<&'a Id>, Vec<&'a Id>)> = BTreeMap::new();
    let switching = desk.scene.switching_items();
    for item in &switching {
        by_place.entry(desk.scene.place_of(item)).or_default().0.push(item);
    }
    for item in desk.scene.plan.devices.keys().filter(|item| !desk.scene.is_switching(item)) {
        by_place.entry(desk.scene.place_of(item)).or_default().1.push(item);
    }
    let mut boxes: Vec<PlaceBox<'a>> = by_place.into_iter().map(|(id, items)| place_box(desk, id, items)).collect();
    boxes.sort_by_key(|place| (std::cmp::Reverse(place.height), place.x, place.id));
    boxes
}

fn place_box<'a>(desk: &Desk<'a>, id: Option<&'a Id>, (switches, devices): (Vec<&'a Id>, Vec<&'a Id>)) -> PlaceBox<'a> {
    let at = id.and_then(|id| desk.scene.plan.places.get(id)).and_then(|place: &Place| place.at).unwrap_or_default();
    let mut nodes = if switches.len() > MOST_SWITCHES {
        vec![many_switches(desk, switches)]
    } else {
        switches.into_iter().map(|switch| one_switch(desk, switch)).collect()
    };
    if !devices.is_empty() {
        nodes.push(device_list(desk, devices));
    }
    // Heights within half a metre count as one level. Own choice.
    let height = (at.z as f64 / 500.0).round() as i64 * 500;
    PlaceBox { id, nodes, height, row: 0, column: 0, x: at.x }
}

fn one_switch<'a>(desk: &Desk<'a>, id: &'a Id) -> Node<'a> {
    let networks = desk.palette.words(&desk.scene.networks_of(id, &desk.plugs));
    let (used, all) = (desk.plugs.of(id).len(), desk.scene.gear(id).map_or(0, |gear| gear.switch_port_count()));
    let gear = desk.scene.gear(id).map(|gear| gear.title.clone()).unwrap_or_default();
    let mut lines = vec![networks, format!("{used} of {all} ports used"), gear];
    lines.extend(desk.hang(&desk.scene.item(id)).map(|hang| format!("without it: {}", hang.short())));
    let widest = lines.iter().map(|line| Typeface::Regular.width(line, 10.0)).fold(Typeface::Bold.width(id.as_str(), 12.0), f64::max);
    Node { kind: NodeKind::Switch, items: vec![id], title: id.to_string(), lines, width: (widest + 25.0).clamp(SWITCH_W, MOST_SWITCH_W) }
}

fn many_switches<'a>(desk: &Desk<'a>, items: Vec<&'a Id>) -> Node<'a> {
    let used: usize = items.iter().map(|id| desk.plugs.of(id).len()).sum();
    let all: u32 = items.iter().filter_map(|id| desk.scene.gear(id)).map(|gear| gear.switch_port_count()).sum();
    let title = format!("{} switches", items.len());
    Node { kind: NodeKind::Switches, items, title, lines: vec![format!("{used} of {all} ports used")], width: SWITCH_W }
}

fn device_list<'a>(desk: &Desk<'a>, items: Vec<&'a Id>) -> Node<'a> {
    let mut types: Vec<(&str, usize)> = Vec::new();
    for item in &items {
        let title = desk.scene.gear(item).map_or("unknown type", |gear| gear.title.as_str());
        match types.iter_mut().find(|(known, _)| *known == title) {
            Some((_, count)) => *count += 1,
            None => types.push((title, 1)),
        }
    }
    let rest: usize = types.iter().skip(MOST_LINES).map(|(_, count)| count).sum();
    let mut lines: Vec<String> = types.iter().take(MOST_LINES).map(|(title, count)| format!("{count} \u{d7} {title}")).collect();
    if rest > 0 {
        lines.push(format!("and {rest} more"));
    }
    let title = if items.len() == 1 { "1 device".to_owned() } else { format!("{} devices", items.len()) };
    let widest = lines.iter().map(|line| Typeface::Regular.width(line, 10.0)).fold(0.0, f64::max);
    Node { kind: NodeKind::Devices, items, title, lines, width: (widest + 25.0).clamp(120.0, 260.0) }
}

/// A new level begins a new row; a level with more than `most` places takes several.
pub(super) fn into_rows(boxes: &mut [PlaceBox<'_>], most: usize) {
    let mut row = 0;
    for level in boxes.chunk_by_mut(|a, b| a.height == b.height) {
        let rows = level.len().div_ceil(most.max(1));
        let columns = level.len().div_ceil(rows.max(1));
        for (n, place) in level.iter_mut().enumerate() {
            (place.row, place.column) = (row + n / columns, n % columns);
        }
        row += rows;
    }
}
