//! Where boxes stand and lines run.

use super::links::{LANE, Link};
use super::nodes::PlaceBox;
use crate::geometry::{Area, Point, at};
use crate::options::Desk;

/// Least room between columns.
const COLUMN_GAP: f64 = 26.0;
/// Between lines that run down side by side.
const GUTTER_LANE: f64 = 12.0;
/// From a row's upper edge to its lowest lane.
const RISE: f64 = 20.0;
/// Below a row.
const ROW_GAP: f64 = 16.0;

/// The finished layout.
#[derive(Debug, Clone, Default)]
pub(super) struct Routed {
    pub(super) boxes: Vec<Area>,
    /// All nodes of all places, in order.
    pub(super) nodes: Vec<Area>,
    /// Corners of each line and the middle of its label.
    pub(super) ways: Vec<(Vec<Point>, Point)>,
    pub(super) width: f64,
    pub(super) bottom: f64,
}

/// One horizontal run of a line.
#[derive(Debug, Clone, Copy)]
struct Run {
    link: usize,
    row: usize,
    from: f64,
    to: f64,
    has_label: bool,
    lane: usize,
}

/// What the layout is made from.
struct Router<'r, 'a> {
    desk: &'r Desk<'a>,
    boxes: &'r [PlaceBox<'a>],
    links: &'r [Link<'a>],
    /// The place of each node.
    place_of: Vec<usize>,
    /// The gutter that each line changes rows in; `None` within one row.
    gutters: Vec<Option<(usize, usize)>>,
    corner: Point,
}

/// Places boxes below `corner` and routes `links` between them.
pub(super) fn route(desk: &Desk<'_>, boxes: &[PlaceBox<'_>], links: &[Link<'_>], corner: Point) -> Routed {
    let place_of = boxes.iter().enumerate().flat_map(|(n, place)| std::iter::repeat_n(n, place.nodes.len())).collect();
    let mut router = Router { desk, boxes, links, place_of, gutters: Vec::new(), corner };
    router.choose_gutters();
    router.lay_out()
}

impl Router<'_, '_> {
    fn place(&self, node: usize) -> &PlaceBox<'_> {
        &self.boxes[self.place_of[node]]
    }

    /// Gives each line that changes rows a lane in the gutter between its two ends.
    fn choose_gutters(&mut self) {
        let mut used = std::collections::BTreeMap::new();
        for link in self.links {
            let [a, b] = link.nodes.map(|node| self.place(node));
            let gutter = (a.row != b.row).then(|| {
                let gutter = (a.column + b.column) / 2 + 1;
                let lane = used.entry(gutter).and_modify(|lane| *lane += 1).or_insert(0_usize);
                (gutter, *lane)
            });
            self.gutters.push(gutter);
        }
    }

    /// Left edge of each column, and one more: the right end.
    fn columns(&self) -> Vec<f64> {
        let count = self.boxes.iter().map(|place| place.column + 1).max().unwrap_or(0);
        let mut edges = vec![self.corner.x];
        for column in 0..count {
            let widest = self.boxes.iter().filter(|place| place.column == column).map(PlaceBox::width).fold(0.0, f64::max);
            let lanes = self.gutters.iter().flatten().filter(|(gutter, _)| *gutter == column + 1).count() as f64;
            let last = edges.last().copied().unwrap_or_default();
            edges.push(last + widest + COLUMN_GAP + if lanes > 0.0 { GUTTER_LANE * lanes + 8.0 } else { 0.0 });
        }
        edges
    }

    fn lay_out(&self) -> Routed {
        let columns = self.columns();
        let lefts: Vec<f64> = self.boxes.iter().map(|place| columns[place.column]).collect();
        let nodes_x = self.node_edges(&lefts);
        let exits = self.exits(&nodes_x, &columns);
        let mut runs = self.runs(&exits, &columns);
        let lanes = self.give_lanes(&mut runs);
        let rows = self.row_edges(&lanes);
        let boxes: Vec<Area> = self
            .boxes
            .iter()
            .zip(&lefts)
            .map(|(place, x)| Area::new(*x, rows[place.row], place.width(), self.row_height(place.row)))
            .collect();
        let nodes = self.node_areas(&boxes);
        let ways = (0..self.links.len()).map(|link| self.way(link, (&exits, &columns), (&runs, &nodes, &rows))).collect();
        let bottom = boxes.iter().map(Area::bottom).fold(self.corner.y, f64::max) + 8.0;
        let label_right = runs.iter().map(|run| self.span(run).1).fold(0.0, f64::max);
        let width = boxes.iter().map(Area::right).fold(label_right, f64::max).max(self.right_most(&columns)) + self.corner.x;
        Routed { boxes, nodes, ways, width, bottom }
    }

    fn right_most(&self, columns: &[f64]) -> f64 {
        self.gutters.iter().flatten().map(|gutter| gutter_x(columns, *gutter)).fold(0.0, f64::max)
    }

    fn node_edges(&self, lefts: &[f64]) -> Vec<(f64, f64)> {
        let offsets = |(place, left): (&PlaceBox<'_>, &f64)| {
            let (offsets, _) = place.node_offsets();
            offsets.into_iter().zip(&place.nodes).map(|(x, node)| (left + x, node.width)).collect::<Vec<_>>()
        };
        self.boxes.iter().zip(lefts).flat_map(offsets).collect()
    }

    /// Where each line leaves its two nodes: spread along the upper edge in the order of where they go.
    fn exits(&self, nodes_x: &[(f64, f64)], columns: &[f64]) -> Vec<[f64; 2]> {
        let mut exits = vec![[0.0; 2]; self.links.len()];
        for (node, (left, width)) in nodes_x.iter().enumerate() {
            let mut ends: Vec<(f64, usize, usize)> = Vec::new();
            for (n, link) in self.links.iter().enumerate() {
                for end in 0..2 {
                    if link.nodes[end] == node {
                        let (far_left, far_width) = nodes_x[link.nodes[1 - end]];
                        let goal = self.gutters[n].map_or(far_left + far_width / 2.0, |gutter| gutter_x(columns, gutter));
                        ends.push((goal, n, end));
                    }
                }
            }
            ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            let count = ends.len() as f64;
            for (n, (_, link, end)) in ends.into_iter().enumerate() {
                exits[link][end] = left + width * (n as f64 + 1.0) / (count + 1.0);
            }
        }
        exits
    }

    fn runs(&self, exits: &[[f64; 2]], columns: &[f64]) -> Vec<Run> {
        let mut runs = Vec::new();
        for (link, [a, b]) in exits.iter().copied().enumerate() {
            let rows = self.links[link].nodes.map(|node| self.place(node).row);
            let Some(gutter) = self.gutters[link] else {
                runs.push(Run { link, row: rows[0], from: a, to: b, has_label: true, lane: 0 });
                continue;
            };
            let x = gutter_x(columns, gutter);
            let is_first_longer = (a - x).abs() >= (b - x).abs();
            runs.push(Run { link, row: rows[0], from: a, to: x, has_label: is_first_longer, lane: 0 });
            runs.push(Run { link, row: rows[1], from: x, to: b, has_label: !is_first_longer, lane: 0 });
        }
        runs
    }

    /// What a run covers with its label.
    fn span(&self, run: &Run) -> (f64, f64) {
        let (low, high) = (run.from.min(run.to), run.from.max(run.to));
        if !run.has_label || !self.desk.options.layers.labels {
            return (low - 6.0, high + 6.0);
        }
        let (middle, half) = (self.label_x(run), self.links[run.link].pill.width() / 2.0 + 5.0);
        (low.min(middle - half) - 6.0, high.max(middle + half) + 6.0)
    }

    /// The middle of a run's label, kept inside the sheet.
    fn label_x(&self, run: &Run) -> f64 {
        let half = self.links[run.link].pill.width() / 2.0;
        ((run.from + run.to) / 2.0).max(self.corner.x + half)
    }

    /// Gives each run the lowest lane of its row that is free; short runs first. Returns the lanes of each row.
    fn give_lanes(&self, runs: &mut [Run]) -> Vec<usize> {
        let rows = self.boxes.iter().map(|place| place.row + 1).max().unwrap_or(0);
        let mut taken: Vec<Vec<Vec<(f64, f64)>>> = vec![Vec::new(); rows];
        let mut order: Vec<usize> = (0..runs.len()).collect();
        order.sort_by(|a, b| {
            let reach = |n: &usize| (runs[*n].from - runs[*n].to).abs();
            reach(a).total_cmp(&reach(b)).then(a.cmp(b))
        });
        for n in order {
            let span = self.span(&runs[n]);
            let lanes = &mut taken[runs[n].row];
            let is_free = |lane: &Vec<(f64, f64)>| lane.iter().all(|(from, to)| *to <= span.0 || *from >= span.1);
            let lane = lanes.iter().position(is_free).unwrap_or(lanes.len());
            if lane == lanes.len() {
                lanes.push(Vec::new());
            }
            lanes[lane].push(span);
            runs[n].lane = lane;
        }
        taken.iter().map(Vec::len).collect()
    }

    fn row_height(&self, row: usize) -> f64 {
        self.boxes.iter().filter(|place| place.row == row).map(PlaceBox::box_height).fold(0.0, f64::max)
    }

    fn row_edges(&self, lanes: &[usize]) -> Vec<f64> {
        let mut y = self.corner.y;
        let mut edges = Vec::new();
        for (row, lanes) in lanes.iter().enumerate() {
            y += RISE + LANE * *lanes as f64;
            edges.push(y);
            y += self.row_height(row) + ROW_GAP;
        }
        edges
    }

    fn node_areas(&self, boxes: &[Area]) -> Vec<Area> {
        let areas = |(place, area): (&PlaceBox<'_>, &Area)| {
            let (offsets, top) = place.node_offsets();
            let height = self.row_height(place.row) - (place.box_height() - place.node_height());
            let node = |(x, node): (f64, &super::nodes::Node<'_>)| Area::new(area.x + x, area.y + top, node.width, height);
            offsets.into_iter().zip(&place.nodes).map(node).collect::<Vec<_>>()
        };
        self.boxes.iter().zip(boxes).flat_map(areas).collect()
    }

    fn way(
        &self,
        link: usize,
        (exits, columns): (&[[f64; 2]], &[f64]),
        (runs, nodes, rows): (&[Run], &[Area], &[f64]),
    ) -> (Vec<Point>, Point) {
        let [a, b] = exits[link];
        let tops = self.links[link].nodes.map(|node| nodes[node].y);
        let own: Vec<&Run> = runs.iter().filter(|run| run.link == link).collect();
        let y = |run: &Run| rows[run.row] - RISE + 2.0 - LANE * run.lane as f64 - LANE / 2.0 + 6.0;
        let label = own.iter().find(|run| run.has_label).map_or(at(a, tops[0]), |run| at(self.label_x(run), y(run)));
        let mut corners = vec![at(a, tops[0])];
        match (self.gutters[link], own.as_slice()) {
            (Some(gutter), [first, second]) => {
                let x = gutter_x(columns, gutter);
                corners.extend([at(a, y(first)), at(x, y(first)), at(x, y(second)), at(b, y(second))]);
            }
            (_, [only, ..]) => corners.extend([at(a, y(only)), at(b, y(only))]),
            _ => {}
        }
        corners.push(at(b, tops[1]));
        (corners, label)
    }
}

/// Where lane `lane` of a gutter runs; gutter `n` lies left of column `n`.
fn gutter_x(columns: &[f64], (gutter, lane): (usize, usize)) -> f64 {
    columns.get(gutter).copied().unwrap_or_default() - COLUMN_GAP / 2.0 - GUTTER_LANE * lane as f64
}
