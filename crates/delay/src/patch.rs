//! An analysis of nearly the same network: keeps rows and lists, changes those of the queues that something joined or left, and
//! works out again only what that reaches. See `docs/decisions/0005-delay-layout.md`.

use crate::align::aligned;
use crate::layout::{BLANK_ROW, Layout, Region, Row, Rows};
use crate::lists::Ranks;
use crate::network::{NONE, Network, StreamSpec};
use crate::overtaken::Once;
use crate::shape::Shapes;
use crate::sweep::{Given, Memory, Sweep, UNKNOWN};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

/// So many streams and bundles may change, and half of all. Own choice: beyond it, starting again is quicker.
const FEW: usize = 64;

/// Works out `after` from what is known of `before`; `None` where starting again is better: much changed, queues feed each
/// other in a circle, or the order of queues no longer holds.
pub(crate) fn patched(known: &Sweep, (before, after): (&Network, &Network)) -> Option<Sweep> {
    if known.layout.acyclic < before.ports.len() || after.ports.len() < before.ports.len() {
        return None;
    }
    let [ranks, known_ranks] = [after, before].map(Ranks::new);
    if ranks.highest() != known_ranks.highest() {
        return None;
    }
    let streams = aligned(&before.streams, &after.streams);
    let bundles = aligned(&before.bundles, &after.bundles);
    let is_new = |places: &[u32]| places.iter().filter(|place| **place == NONE).count();
    if is_new(&streams) + is_new(&bundles) > (after.streams.len() + after.bundles.len()) / 2 + FEW {
        return None;
    }
    let mut patch = Patch::new(known, after.ports.len());
    patch.exchange_streams(known, (before, after), &streams);
    patch.exchange_bundles(known, after, &bundles);
    let (layout, changed) = patch.finish(ranks.is_several())?;
    let mut sweep = Sweep { layout, classes: known.classes.clone(), visited: 0 };
    sweep.classes.reach(&sweep.layout);
    for port in changed.lists.difference(&changed.other).map(|port| *port as usize) {
        // The same pass there, in the same classes.
        for (to, from) in sweep.layout.regions_at(port).zip(known.layout.regions_at(port)) {
            sweep.classes.all[to] = known.classes.all[from];
            sweep.classes.is_bunched[to] = known.classes.is_bunched[from];
            sweep.classes.plain[to] = known.classes.plain[from];
            sweep.classes.gains[to].clone_from(&known.classes.gains[from]);
        }
    }
    let other = after.ports.iter().enumerate().filter(|(port, spec)| before.ports.get(*port) != Some(spec));
    let mut wave = Wave::new(&sweep.layout, known);
    changed.lists.into_iter().for_each(|port| wave.mark(port, LEAVE));
    changed.other.into_iter().chain(other.map(|(port, _)| port as u32)).for_each(|port| wave.mark(port, SERVE));
    wave.run(&mut sweep, after);
    Some(sweep)
}

/// A layout while rows come and go.
struct Patch {
    layout: Layout,
    rows: Rows,
    /// Queues that rows left.
    left: BTreeSet<u32>,
    /// Queues where other things pass now than before.
    other: BTreeSet<u32>,
    /// Rows that joined, by queue.
    joined: BTreeMap<u32, Vec<u32>>,
}

impl Patch {
    fn new(known: &Sweep, ports: usize) -> Self {
        let mut layout = known.layout.clone();
        let rows = Rows {
            rows: std::mem::take(&mut layout.rows),
            siblings: std::mem::take(&mut layout.siblings),
            shapes: Shapes::of(std::mem::take(&mut layout.shapes)),
            kinds: Vec::new(),
            slowest: Vec::new(),
        };
        let end = layout.regions.len() as u32;
        let known_ports = layout.at_port.len() as u32;
        layout.at_port.resize(ports, (end, end));
        layout.order.extend(known_ports..ports as u32);
        layout.acyclic = ports;
        layout.is_unordered.resize(ports, false);
        Self { layout, rows, left: BTreeSet::new(), other: BTreeSet::new(), joined: BTreeMap::new() }
    }

    fn leave(&mut self, row: u32) {
        let port = std::mem::replace(&mut self.rows.rows[row as usize].port, NONE);
        self.left.insert(port);
        self.other.insert(port);
    }

    fn join(&mut self, row: u32) {
        let port = self.rows.rows[row as usize].port;
        self.joined.entry(port).or_default().push(row);
        self.other.insert(port);
    }

    /// Puts a row in the place of an equal one, of which everything known holds as far as the queues before stay as they were.
    fn follow_up(&mut self, old: u32, new: u32) {
        let Row { least, worst, reached, is_bunched, port, .. } = self.rows.rows[old as usize];
        let row = &mut self.rows.rows[new as usize];
        (row.least, row.worst, row.reached, row.is_bunched) = (least, worst, reached, is_bunched);
        self.rows.rows[old as usize].port = NONE;
        if let Some(once) = self.layout.once.get(old as usize).copied() {
            self.layout.once.resize(self.rows.rows.len(), Once::NO);
            self.layout.once[new as usize] = once;
        }
        self.left.insert(port);
        self.joined.entry(port).or_default().push(new);
    }

    /// `places`: for every stream the equal one before.
    fn exchange_streams(&mut self, known: &Sweep, (before, after): (&Network, &Network), places: &[u32]) {
        let starts = &known.layout.stream_start;
        let mut now = vec![NONE; before.streams.len()];
        for (stream, place) in places.iter().enumerate().filter(|(_, place)| **place != NONE) {
            now[*place as usize] = stream as u32;
        }
        self.layout.streams = known.layout.streams.iter().map(|stream| now[*stream as usize]).filter(|stream| *stream != NONE).collect();
        self.layout.stream_start.clear();
        for (stream, place) in places.iter().enumerate() {
            let start = starts.get(*place as usize).copied().unwrap_or(self.rows.rows.len() as u32);
            self.layout.stream_start.push(start);
            if *place == NONE {
                let end = start + after.streams[stream].hops.len() as u32;
                self.layout.streams.push(stream as u32);
                self.rows.rows.resize(end as usize, BLANK_ROW);
                self.rows.put_stream(&after.streams[stream], start);
                let old = before.streams.get(stream).filter(|_| now[stream] == NONE);
                let same = old.map_or(0, |old| same_hops(old, &after.streams[stream]));
                (0..same).for_each(|hop| self.follow_up(starts[stream] + hop, start + hop));
                (start + same..end).for_each(|row| self.join(row));
            }
        }
        for (stream, start) in starts.iter().enumerate().filter(|(stream, _)| now[*stream] == NONE) {
            let end = *start + before.streams[stream].hops.len() as u32;
            let is_left = |patch: &Self, row: u32| patch.rows.rows[row as usize].port != NONE;
            (*start..end).for_each(|row| {
                if is_left(self, row) {
                    self.leave(row)
                }
            });
        }
    }

    fn exchange_bundles(&mut self, known: &Sweep, after: &Network, places: &[u32]) {
        let mut is_kept = vec![false; known.layout.bundle_rows.len()];
        self.layout.bundle_rows.clear();
        for (bundle, place) in places.iter().enumerate() {
            if let Some(row) = known.layout.bundle_rows.get(*place as usize) {
                is_kept[*place as usize] = true;
                self.layout.bundle_rows.push(*row);
            } else {
                let row = self.rows.rows.len() as u32;
                self.rows.add_bundle(&after.bundles[bundle]);
                self.layout.bundle_rows.push(row);
                self.join(row);
            }
        }
        let gone = known.layout.bundle_rows.iter().zip(is_kept).filter(|(_, is_kept)| !is_kept);
        gone.for_each(|(row, _)| self.leave(*row));
    }

    /// The layout with new lists, and the queues that have one. `None` if feeders no longer come before what they feed.
    fn finish(mut self, is_several: bool) -> Option<(Layout, Changed)> {
        let Rows { rows, siblings, shapes, .. } = self.rows;
        (self.layout.rows, self.layout.siblings, self.layout.shapes) = (rows, siblings, shapes.all);
        if is_several || !self.layout.once.is_empty() {
            self.layout.once.resize(self.layout.rows.len(), Once::NO);
        }
        let rank = rank(&self.layout);
        let holds = |row: &Row| row.parent == NONE || rank[row.feeder as usize] < rank[row.port as usize];
        if !self.joined.values().flatten().all(|row| holds(&self.layout.rows[*row as usize])) {
            return None;
        }
        self.left.extend(self.joined.keys());
        for port in &self.left {
            relist(&mut self.layout, *port as usize, self.joined.get(port).map_or(&[], Vec::as_slice));
        }
        Some((self.layout, Changed { lists: self.left, other: self.other }))
    }
}

/// Queues that have a new list, and those of them where other things pass now than before.
struct Changed {
    lists: BTreeSet<u32>,
    other: BTreeSet<u32>,
}

/// How many hops of a stream are as before, from the first on.
fn same_hops(before: &StreamSpec, after: &StreamSpec) -> u32 {
    if (before.class, before.period, before.jitter) != (after.class, after.period, after.jitter) {
        return 0;
    }
    before.hops.iter().zip(&after.hops).take_while(|(before, after)| before == after).count() as u32
}

/// Makes a new list of a queue at the end of all lists: what stayed, in its order, and what joined.
fn relist(layout: &mut Layout, port: usize, joined: &[u32]) {
    let stays = layout.ids[layout.list_at(port)].iter().filter(|row| layout.rows[**row as usize].port != NONE);
    let with_class = |row: &u32| (Reverse(layout.shape_of(&layout.rows[*row as usize]).class), *row);
    let mut list: Vec<(Reverse<u8>, u32)> = stays.chain(joined).map(with_class).collect();
    if !joined.is_empty() {
        list.sort_by_key(|(class, row)| (*class, layout.rows[*row as usize].feeder));
        layout.is_unordered[port] = true;
    }
    let first = layout.regions.len() as u32;
    for group in list.chunk_by(|a, b| a.0 == b.0) {
        let start = layout.ids.len() as u32;
        layout.ids.extend(group.iter().map(|(_, row)| row));
        layout.regions.push(Region { start, end: layout.ids.len() as u32, class: group[0].0.0 });
    }
    layout.at_port[port] = (first, layout.regions.len() as u32);
}

fn rows_at(layout: &Layout, port: usize) -> impl Iterator<Item = u32> {
    layout.ids[layout.list_at(port)].iter().copied()
}

/// What is known of a row.
fn state(layout: &Layout, row: u32) -> (Row, Once) {
    (layout.rows[row as usize], layout.once.get(row as usize).copied().unwrap_or(Once::NO))
}

/// Place of each queue in the order.
fn rank(layout: &Layout) -> Vec<u32> {
    let mut rank = vec![0; layout.order.len()];
    for (at, port) in layout.order.iter().enumerate() {
        rank[*port as usize] = at as u32;
    }
    rank
}

/// What has to be done at a queue: the sums of paths, or its delays as well.
const LEAVE: u8 = 1;
const SERVE: u8 = 3;

/// A change on its way through the queues, feeders before what they feed.
struct Wave<'a> {
    known: &'a Sweep,
    rank: Vec<u32>,
    todo: BinaryHeap<Reverse<(u32, u32)>>,
    /// By queue.
    what: Vec<u8>,
    /// By row: whether the delay of its class is other than before, at its queue or at one before.
    is_delayed_otherwise: Vec<bool>,
    /// By class: whether bounds of stretches may look at queues further up.
    has_stretches: [bool; 256],
}

impl<'a> Wave<'a> {
    fn new(layout: &Layout, known: &'a Sweep) -> Self {
        let ports = layout.order.len();
        let mut has_stretches = [false; 256];
        for (delay, is_bunched) in known.classes.all.iter().zip(&known.classes.is_bunched) {
            has_stretches[usize::from(delay.class)] |= is_bunched;
        }
        let is_delayed_otherwise = vec![false; layout.rows.len()];
        Self { known, rank: rank(layout), todo: BinaryHeap::new(), what: vec![0; ports], is_delayed_otherwise, has_stretches }
    }

    fn mark(&mut self, port: u32, what: u8) {
        if self.what[port as usize] == 0 {
            self.todo.push(Reverse((self.rank[port as usize], port)));
        }
        self.what[port as usize] |= what;
    }

    fn run(&mut self, sweep: &mut Sweep, network: &Network) {
        let mut memory = Memory::default();
        while let Some(Reverse((_, port))) = self.todo.pop() {
            let port = port as usize;
            let given = Given { port, spec: &network.ports[port], is_unordered: sweep.layout.is_unordered[port], is_circular: false };
            memory.stairs.gather(&sweep.layout, port);
            let before: Vec<(Row, Once)> = rows_at(&sweep.layout, port).map(|row| state(&sweep.layout, row)).collect();
            let is_served = self.what[port] == SERVE;
            if is_served {
                sweep.serve(given, &mut memory);
            }
            if sweep.leave(given, &mut memory).is_bunched {
                memory.stretches.pay_once(sweep, network, port);
            }
            memory.overtaken.pay_once(sweep, (port, given.spec), &memory.stairs);
            let mut rows = before.iter();
            for region in sweep.layout.regions_at(port) {
                let delay = sweep.classes.all[region];
                let known = if port < self.known.layout.at_port.len() { self.known.at_port(port) } else { &[] };
                let is_other = !known.contains(&delay);
                for (id, before) in sweep.layout.regions[region].range().zip(rows.by_ref()) {
                    self.go_on(&sweep.layout, (before, sweep.layout.ids[id]), (is_other, is_served));
                }
            }
        }
    }

    /// Whether a queue holds several packets of one stream: it then looks at all that comes to the queues before it.
    fn is_bunched(&self, port: u32) -> bool {
        let layout = &self.known.layout;
        let is_known = (port as usize) < layout.at_port.len();
        is_known && layout.regions_at(port as usize).any(|region| self.known.classes.is_bunched[region])
    }

    /// Marks the queues after a row for what is other than before: jitter changes a queue's delays; so does, where a slower link
    /// keeps packets apart, the delay of any queue further up.
    fn go_on(&mut self, layout: &Layout, ((before, way_before), row): (&(Row, Once), u32), (is_other, is_served): (bool, bool)) {
        let (now, way) = &state(layout, row);
        let is_other = is_other || self.is_delayed_otherwise.get(now.parent as usize) == Some(&true);
        self.is_delayed_otherwise[row as usize] = is_other;
        if before == now && way_before == way && !is_other && !self.has_stretches[usize::from(layout.shape_of(now).class)] {
            return;
        }
        let mut next = now.next;
        while let Some(row) = layout.rows.get(next as usize) {
            let is_nested = layout.shape_of(row).is_feeder_behind_slower;
            let is_late = varies(before) != varies(now) || is_nested && is_other || is_served && self.is_bunched(row.port);
            self.mark(row.port, if is_late { SERVE } else { LEAVE });
            next = layout.siblings.get(next as usize).copied().unwrap_or(NONE);
        }
    }
}

/// How much the delay of a row's packets varies.
fn varies(row: &Row) -> u64 {
    if row.worst == UNKNOWN { UNKNOWN } else { row.worst.saturating_sub(row.least) }
}
