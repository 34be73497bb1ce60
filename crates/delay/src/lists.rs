//! Lists the packets of each queue while the queues are worked out.
//!
//! Each queue puts its packets into the lists of the next: so all that come by one link lie
//! together there, and among them those that shared the link before, and so on back to the senders. Within a queue the
//! highest class comes first. A queue whose list is full is ready to be worked out.

use crate::layout::{Layout, Region};
use crate::network::{Bundle, NONE, Network, StreamSpec};
use crate::stairs::Stairs;

/// Which classes there are, highest first.
pub(crate) struct Ranks {
    classes: Vec<u8>,
    rank: [u8; 256],
}

impl Ranks {
    pub(crate) fn new(network: &Network) -> Self {
        let mut is_there = [false; 256];
        network.streams.iter().for_each(|stream| is_there[usize::from(stream.class)] = true);
        network.bundles.iter().for_each(|bundle| is_there[usize::from(bundle.class)] = true);
        let mut ranks = Self { classes: Vec::new(), rank: [0; 256] };
        for class in (0..=255u8).rev().filter(|class| is_there[usize::from(*class)]) {
            ranks.rank[usize::from(class)] = ranks.classes.len() as u8;
            ranks.classes.push(class);
        }
        ranks
    }

    /// The highest class, if there is any.
    pub(crate) fn highest(&self) -> Option<u8> {
        self.classes.first().copied()
    }

    /// Whether there is more than one class.
    pub(crate) fn is_several(&self) -> bool {
        self.classes.len() > 1
    }
}

/// Where lists are filled.
pub(crate) struct Lists {
    ranks: Ranks,
    /// By queue and class: where the next hop goes.
    cursor: Vec<u32>,
    /// Hops of each queue that have a hop before, as far as not listed.
    waits_for: Vec<u32>,
    /// Rows of hops that have none before.
    first: Vec<u32>,
    /// Queues whose list is full and that are not worked out.
    ready: Vec<u32>,
}

impl Lists {
    pub(crate) fn new(ranks: Ranks, ports: usize) -> Self {
        let (cursor, waits_for) = (vec![0u32; ports * ranks.classes.len()], vec![0u32; ports]);
        Self { ranks, cursor, waits_for, first: Vec::new(), ready: Vec::new() }
    }

    /// Whether there is more than one class.
    pub(crate) fn has_classes(&self) -> bool {
        self.ranks.is_several()
    }

    /// Makes room for a bundle.
    pub(crate) fn count_bundle(&mut self, bundle: &Bundle) {
        let place = self.place(bundle.port, bundle.class);
        self.cursor[place] += 1;
    }

    /// Makes room for all hops of a stream, whose rows begin at `start`.
    pub(crate) fn count_stream(&mut self, stream: &StreamSpec, start: u32) {
        let (classes, rank) = (self.ranks.classes.len(), usize::from(self.ranks.rank[usize::from(stream.class)]));
        for (at, hop) in stream.hops.iter().enumerate() {
            self.cursor[hop.port as usize * classes + rank] += 1;
            match hop.parent_at(at) {
                Some(_) => self.waits_for[hop.port as usize] += 1,
                None => self.first.push(start + at as u32),
            }
        }
    }

    /// Lists what comes from no other queue.
    pub(crate) fn begin(&mut self, layout: &mut Layout) {
        let ports = self.waits_for.len();
        self.make_room(layout, ports);
        for at in &std::mem::take(&mut self.first) {
            let row = &layout.rows[*at as usize];
            let place = self.place(row.port, layout.shape_of(row).class);
            layout.ids[self.take(place)] = *at;
        }
        layout.order.reserve(ports);
        self.ready = (0..ports as u32).rev().filter(|port| self.waits_for[*port as usize] == 0).collect();
    }

    fn place(&self, port: u32, class: u8) -> usize {
        port as usize * self.ranks.classes.len() + usize::from(self.ranks.rank[usize::from(class)])
    }

    fn take(&mut self, place: usize) -> usize {
        let cursor = &mut self.cursor[place];
        *cursor += 1;
        *cursor as usize - 1
    }

    /// From counts to places: a region for every class at every queue. Bundles go to the end of theirs.
    fn make_room(&mut self, layout: &mut Layout, ports: usize) {
        let many = self.ranks.classes.len();
        let mut ends = Vec::new();
        let mut end = 0;
        for port in 0..ports {
            let first = layout.regions.len() as u32;
            for (class, count) in self.ranks.classes.iter().zip(&mut self.cursor[port * many..]) {
                let start = end;
                end += *count;
                if *count > 0 {
                    layout.regions.push(Region { start, end, class: *class });
                }
                *count = start;
                ends.push(end);
            }
            layout.at_port.push((first, layout.regions.len() as u32));
        }
        layout.ids.resize(end as usize, NONE);
        for (at, row) in layout.rows.iter().enumerate().skip(layout.hops as usize) {
            let end = &mut ends[self.place(row.port, layout.shape_of(row).class)];
            *end -= 1;
            layout.ids[*end as usize] = at as u32;
        }
    }

    /// The next queue to be worked out: the one that was ready last, as what comes to it was in use just now.
    pub(crate) fn next(&mut self, layout: &mut Layout) -> Option<usize> {
        let port = self.ready.pop()?;
        layout.order.push(port);
        layout.acyclic += 1;
        Some(port as usize)
    }

    /// Puts all that comes out of a queue into the lists of the next.
    pub(crate) fn pass_on(&mut self, layout: &mut Layout, stairs: &Stairs) {
        let classes = self.ranks.classes.len();
        for class in &stairs.classes {
            let rank = usize::from(self.ranks.rank[usize::from(class.class)]);
            for stair in &stairs.all[class.start..class.end] {
                let (mut next, mut to) = stair.next;
                while next != NONE {
                    let place = to as usize * classes + rank;
                    layout.ids[self.take(place)] = next;
                    let waits_for = &mut self.waits_for[to as usize];
                    *waits_for -= 1;
                    if *waits_for == 0 {
                        self.ready.push(to);
                    }
                    next = layout.siblings.get(next as usize).copied().unwrap_or(NONE);
                    to = layout.rows.get(next as usize).map_or(NONE, |row| row.port);
                }
            }
        }
    }

    /// Brings bundles together with what comes by the same link.
    pub(crate) fn close(&self, layout: &mut Layout, port: usize) {
        for region in layout.regions_at(port) {
            let list = &mut layout.ids[layout.regions[region].range()];
            if list.last().is_some_and(|last| *last >= layout.hops) {
                list.sort_by_key(|row| layout.rows[*row as usize].feeder);
            }
        }
    }

    /// Lists what comes out of queues that feed each other.
    pub(crate) fn list_circles(&mut self, layout: &mut Layout) {
        let mut is_done = vec![false; layout.at_port.len()];
        layout.order.iter().for_each(|port| is_done[*port as usize] = true);
        for (at, row) in layout.rows[..layout.hops as usize].iter().enumerate() {
            if is_done.get(row.feeder as usize) == Some(&false) {
                let place = self.place(row.port, layout.shapes[row.shape as usize].class);
                layout.ids[self.take(place)] = at as u32;
            }
        }
        for port in (0..is_done.len()).filter(|port| !is_done[*port]) {
            layout.order.push(port as u32);
            for region in layout.regions_at(port) {
                layout.ids[layout.regions[region].range()].sort_by_key(|row| layout.rows[*row as usize].feeder);
            }
        }
    }
}
