//! The part of a network that one packet can meet, as the simulator takes it.
//!
//! Only streams of the packet's class and above that share a queue with it; of each only the hops up to and on the packet's path.
//! Queues on the path come first, in order; the packet's own stream is train 0.

use crate::replays::Replays;
use crate::timeline::Whose;
use loomwright_delay::network::NONE;
use loomwright_delay::{Bundle, HopSpec, StreamSpec};
use loomwright_simulator::{Hop, Net, Queue, Train};
use std::collections::{BTreeMap, BTreeSet};

pub(crate) struct Excerpt {
    pub(crate) net: Net,
    /// Whose packets each train stands for.
    pub(crate) whose: Vec<Whose>,
    /// The port of each queue.
    pub(crate) ports: Vec<u32>,
    /// Queues that the packet passes.
    pub(crate) path_length: usize,
    queue_of: BTreeMap<u32, u32>,
}

impl Excerpt {
    /// O(hops of all streams that share a queue).
    pub(crate) fn new(replays: &Replays, stream: usize, hop: usize) -> Self {
        let network = replays.network();
        let own = &network.streams[stream];
        let path: Vec<HopSpec> = path_to(own, hop).into_iter().map(|hop| own.hops[hop]).collect();
        let mut excerpt =
            Self { net: Net::default(), whose: Vec::new(), ports: Vec::new(), path_length: path.len(), queue_of: BTreeMap::new() };
        for hop in &path {
            excerpt.queue(replays, hop.port);
        }
        let others = path.iter().flat_map(|hop| replays.passing(hop.port)).map(|(other, _)| *other as usize);
        let others: BTreeSet<usize> = others.filter(|other| *other != stream && network.streams[*other].class >= own.class).collect();
        let top = others.iter().map(|other| network.streams[*other].class).chain(bundle_classes(replays, &path, own.class)).max();
        let top = top.unwrap_or(0).max(own.class);
        excerpt.add_stream(replays, (Whose::Own, own), top);
        for other in others {
            excerpt.add_stream(replays, (Whose::Stream(other as u32), &network.streams[other]), top);
        }
        excerpt.add_clocks(replays, &path, (own.class, top));
        excerpt
    }

    fn queue(&mut self, replays: &Replays, port: u32) -> u32 {
        *self.queue_of.entry(port).or_insert_with(|| {
            let spec = &replays.network().ports[port as usize];
            self.net.queues.push(Queue { propagation: spec.propagation.picoseconds(), blocker: spec.blocking.picoseconds() });
            self.ports.push(port);
            self.ports.len() as u32 - 1
        })
    }

    /// Hops on the packet's path and before it; the own stream's up to `hop` are just that.
    fn add_stream(&mut self, replays: &Replays, (whose, spec): (Whose, &StreamSpec), top: u8) {
        let mut is_kept = vec![false; spec.hops.len()];
        for (hop, _) in spec.hops.iter().enumerate().filter(|(_, hop)| self.is_on_path(hop.port)) {
            path_to(spec, hop).into_iter().for_each(|hop| is_kept[hop] = true);
        }
        let mut kept_as = vec![0; spec.hops.len()];
        let mut hops = Vec::new();
        for (at, hop) in spec.hops.iter().enumerate().filter(|(at, _)| is_kept[*at]) {
            kept_as[at] = hops.len() as u32;
            let parent = (hop.parent != NONE).then(|| kept_as[hop.parent as usize]);
            let queue = self.queue(replays, hop.port);
            hops.push(Hop { queue, parent, send: hop.send.picoseconds(), before: hop.forward.most.picoseconds() });
        }
        self.net.trains.push(Train { period: spec.period.picoseconds(), class: top - spec.class, hops });
        self.whose.push(whose);
    }

    fn is_on_path(&self, port: u32) -> bool {
        self.queue_of.get(&port).is_some_and(|queue| (*queue as usize) < self.path_length)
    }

    /// One clock message of each device that sends any to a queue on the path, met where it comes to the path first; it goes on
    /// with the packet.
    fn add_clocks(&mut self, replays: &Replays, path: &[HopSpec], (class, top): (u8, u8)) {
        for at in 0..path.len() {
            let behind = at.checked_sub(1).map_or(NONE, |before| path[before].port);
            for bundle in replays.bundles(path[at].port) {
                let spec = replays.network().bundles[*bundle as usize];
                if spec.class >= class && (spec.feeder != behind || behind == NONE) {
                    for way in ways_to(replays, *bundle) {
                        let way = self.unmet(replays, &way);
                        self.add_clock(replays, (way, &path[at..]), top);
                    }
                }
            }
        }
    }

    /// The part of a way that begins where what is asked is answered, if the packet meets the request as well: that is
    /// another message already.
    fn unmet<'w>(&self, replays: &Replays, way: &'w [u32]) -> &'w [u32] {
        let bundle = |at: &u32| &replays.network().bundles[*at as usize];
        let answered = way.iter().position(|at| bundle(at).kind != bundle(at).before).unwrap_or(0);
        let is_met = way[..answered].iter().any(|at| self.is_on_path(bundle(at).port));
        if is_met { &way[answered..] } else { way }
    }

    /// A message that comes along `way`, first queue first, the last of which is the first of `path`.
    fn add_clock(&mut self, replays: &Replays, (way, path): (&[u32], &[HopSpec]), top: u8) {
        let Some((last, before)) = way.split_last() else { return };
        let spec = replays.network().bundles[*last as usize];
        let mut hops = Vec::new();
        for bundle in before {
            let bundle = replays.network().bundles[*bundle as usize];
            let parent = hops.len().checked_sub(1).map(|last| last as u32);
            let queue = self.queue(replays, bundle.port);
            hops.push(Hop { queue, parent, send: bundle.send.picoseconds(), before: 0 });
        }
        self.follow(replays, path, (spec, &mut hops));
        self.net.trains.push(Train { period: spec.period.picoseconds(), class: top - spec.class, hops });
        self.whose.push(Whose::Clock);
    }

    /// Lets a clock message, known at the first queue of `path`, go along it as far as there are any of its kind.
    fn follow(&self, replays: &Replays, path: &[HopSpec], (first, hops): (Bundle, &mut Vec<Hop>)) {
        for (at, hop) in path.iter().enumerate() {
            let mut bundles = replays.bundles(hop.port).iter().map(|bundle| replays.network().bundles[*bundle as usize]);
            let goes_on = |bundle: &Bundle| (bundle.class, bundle.before) == (first.class, first.kind);
            let further = |bundle: &Bundle| at > 0 && bundle.feeder == path[at - 1].port && goes_on(bundle);
            let Some(bundle) = Some(first).filter(|_| at == 0).or_else(|| bundles.find(further)) else { return };
            let parent = hops.len().checked_sub(1).map(|last| last as u32);
            let before = hop.forward.most.picoseconds();
            hops.push(Hop { queue: self.queue_of[&hop.port], parent, send: bundle.send.picoseconds(), before });
        }
    }
}

/// Longest way of a clock message, and most messages from one input. **Source**: own choice, beyond any network that is built.
const LONGEST_WAY: usize = 64;
const MOST_MESSAGES: usize = 4_096;

/// The ways of single messages into a bundle, as bundles from the sender's own on: back from input to input.
fn ways_to(replays: &Replays, bundle: u32) -> Vec<Vec<u32>> {
    let (mut open, mut ways) = (vec![vec![bundle]], Vec::new());
    while let Some(way) = open.pop() {
        let spec = replays.network().bundles[way[0] as usize];
        if ways.len() >= MOST_MESSAGES || way.len() >= LONGEST_WAY {
            break;
        }
        if spec.feeder == NONE {
            ways.extend(std::iter::repeat_n(way, spec.count as usize));
            continue;
        }
        for before in replays.bundles(spec.feeder) {
            let earlier = &replays.network().bundles[*before as usize];
            if (earlier.class, earlier.kind) == (spec.class, spec.before) {
                open.push([&[*before], way.as_slice()].concat());
            }
        }
    }
    ways.truncate(MOST_MESSAGES);
    ways
}

fn bundle_classes<'a>(replays: &'a Replays, path: &'a [HopSpec], least: u8) -> impl Iterator<Item = u8> + 'a {
    let bundles = path.iter().flat_map(|hop| replays.bundles(hop.port));
    bundles.map(|bundle| replays.network().bundles[*bundle as usize].class).filter(move |class| *class >= least)
}

/// The hops from the first to `hop`, as indexes.
fn path_to(spec: &StreamSpec, hop: usize) -> Vec<usize> {
    let mut path = vec![hop];
    let mut at = spec.hops[hop].parent;
    while at != NONE {
        path.push(at as usize);
        at = spec.hops[at as usize].parent;
    }
    path.reverse();
    path
}
