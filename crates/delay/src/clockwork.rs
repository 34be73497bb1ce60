//! Clock messages as traffic: how many can meet at each queue.
//!
//! Every clock message goes to one group that all clock devices are in, up to the boxes that end and renew the
//! exchange. Whoever leads sends times, follow-ups and announcements and answers every request; everybody else
//! sends requests. The messages of one device come far apart (see [`PERIOD`]), so while a queue is busy each adds one
//! of a kind at most; answers come no faster than the requests that they answer.

use crate::class::CLOCK;
use crate::network::{Bundle, NONE};
use crate::system::{System, send_time};
use loomwright_forwarding::packets::wire_bytes_of_ip;
use loomwright_forwarding::{Direction, Fabric, NodeIx};
use loomwright_model::Time;

/// Least time between two messages of one kind of one device. **Source**: AES67 media profile, eight a second (from memory).
pub const PERIOD: Time = Time::from_milliseconds(125);
/// How far the way may have moved a message: far above any bound, far below [`PERIOD`].
const MOST_MOVED: Time = Time::from_milliseconds(10);
/// IPv4 and UDP headers. **Source**: RFC 791, RFC 768.
const HEADERS: u64 = 20 + 8;

/// What a message is for. All are counted in the clock's queue: some profiles put the last three lower, where they can
/// only be less in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Delay_Req, of everybody who follows.
    Request,
    /// Sync and the Follow_Up behind it, of who leads.
    Timing,
    /// Announce, of who leads.
    Announce,
    /// Delay_Resp, of who leads: one for each request.
    Answer,
}

impl Kind {
    /// Bytes of an IP packet. **Source**: IEEE 1588 clause 13: a header of 34 bytes, then 10 (Sync, Follow_Up, Delay_Req),
    /// 20 (Delay_Resp) or 30 (Announce); from memory but for the 44 and 64 in all.
    const fn ip_bytes(self) -> u64 {
        HEADERS
            + match self {
                Self::Request | Self::Timing => 44,
                Self::Answer => 54,
                Self::Announce => 64,
            }
    }

    /// Time of one on a link.
    fn time(self, fabric: &Fabric, direction: Direction) -> Time {
        let cable = &fabric.cables[direction.cable().0 as usize];
        send_time(wire_bytes_of_ip(self.ip_bytes(), u32::from(cable.is_tagged())), cable.speed)
    }
}

/// Time of one event message on a link.
pub(crate) fn message_time(fabric: &Fabric, direction: Direction) -> Time {
    Kind::Request.time(fabric, direction)
}

/// Messages at every queue, by kind and the input they come from. O(links of boxes squared), few in practice.
pub(crate) fn clock_bundles(system: &System) -> Vec<Bundle> {
    let mut queues = Queues { fabric: system.fabric, bundles: Vec::new() };
    let exchanges = Exchanges::new(system);
    for node in 0..system.fabric.nodes.len() {
        let node = NodeIx(node as u32);
        for &(out, _) in exchanges.open(node) {
            let out = exchanges.leaving(out, node);
            exchanges.own(&mut queues, node, out);
            if !exchanges.renews(node) {
                exchanges.passing(&mut queues, node, out);
            }
        }
    }
    queues.bundles
}

/// Fills the list.
struct Queues<'a> {
    fabric: &'a Fabric,
    bundles: Vec<Bundle>,
}

impl Queues<'_> {
    /// `count` messages that leave at `port`, of the box itself or off the link of `feeder`, where they were of the kind `as_was`.
    fn add(&mut self, (port, feeder): (Direction, Option<Direction>), (kind, as_was): (Kind, Kind), count: u32) {
        if count == 0 {
            return;
        }
        let send = kind.time(self.fabric, port);
        let feeder_send = feeder.map_or(send, |feeder| as_was.time(self.fabric, feeder));
        let feeder = feeder.map_or(NONE, |feeder| feeder.0);
        self.bundles.push(Bundle {
            port: port.0,
            feeder,
            class: CLOCK,
            kind: kind as u8,
            before: as_was as u8,
            count,
            send,
            feeder_send,
            period: PERIOD,
            jitter: MOST_MOVED,
        });
    }
}

/// Who exchanges with whom: every tree of open links, from its leader down. An exchange ends at the boxes that
/// renew it; below each link of such a box is another.
struct Exchanges<'a> {
    system: &'a System<'a>,
    /// Link towards the leader and the box there; none at the top of a tree.
    up: Vec<Option<(u32, u32)>>,
    /// Requests that go up from each node and what is below it in its exchange.
    requests: Vec<u32>,
    /// All requests of the exchange that the node's link upward belongs to.
    total: Vec<u32>,
    /// Whether anybody leads that exchange.
    is_led: Vec<bool>,
    /// Whether the node is the leader of its tree.
    leads: Vec<bool>,
}

impl<'a> Exchanges<'a> {
    fn new(system: &'a System<'a>) -> Self {
        let count = system.fabric.nodes.len();
        let (up, requests, total) = (vec![None; count], vec![0; count], vec![0; count]);
        let mut all = Self { system, up, requests, total, is_led: vec![false; count], leads: vec![false; count] };
        let mut seen = vec![false; count];
        let leaders = system.leaders.iter().map(|leader| (leader.0 as usize, true));
        for (root, leads) in leaders.chain((0..count).map(|node| (node, false))) {
            if root < count && !seen[root] {
                all.leads[root] = leads;
                all.tree(root, &mut seen);
            }
        }
        all
    }

    /// Counts requests upward, then tells every node downward what its exchange is.
    fn tree(&mut self, root: usize, seen: &mut [bool]) {
        let order = self.order(root, seen);
        for &node in order.iter().rev() {
            let own = u32::from(!self.leads[node] && self.asks(node));
            self.requests[node] = if self.renews(NodeIx(node as u32)) { own } else { self.requests[node] + own };
            if let Some((_, above)) = self.up[node] {
                self.requests[above as usize] += self.requests[node];
            }
        }
        for &node in &order[1..] {
            let Some((_, above)) = self.up[node] else { continue };
            let above = above as usize;
            (self.total[node], self.is_led[node]) = match self.up[above] {
                _ if self.renews(NodeIx(above as u32)) => (self.requests[node], true),
                None => (self.requests[above], self.leads[above]),
                Some(_) => (self.total[above], self.is_led[above]),
            };
        }
    }

    /// Nodes of one tree, those above first.
    fn order(&mut self, root: usize, seen: &mut [bool]) -> Vec<usize> {
        let mut order = vec![root];
        seen[root] = true;
        let mut next = 0;
        while next < order.len() {
            let node = order[next];
            next += 1;
            for &(link, to) in self.system.fabric.neighbours(NodeIx(node as u32)) {
                let to = to.0 as usize;
                if self.system.forwarding.passes[link as usize] && !std::mem::replace(&mut seen[to], true) {
                    self.up[to] = Some((link, node as u32));
                    order.push(to);
                }
            }
        }
        order
    }

    /// Whether the box ends exchanges and begins its own.
    fn renews(&self, node: NodeIx) -> bool {
        self.system.fabric.traits[node.0 as usize].is_boundary_clock
    }

    /// Whether requests begin at this node: of a device that carries audio here, or of a box that renews them.
    fn asks(&self, node: usize) -> bool {
        use loomwright_forwarding::NodeKind::{Chained, Interface, Router, Switch};
        let fabric = self.system.fabric;
        let has_audio = match fabric.nodes[node].kind {
            Chained(device) | Interface(device, _) => fabric.audio[device.0 as usize].iter().any(|at| at.node.0 as usize == node),
            Router(_) | Switch(_) => false,
        };
        has_audio || self.renews(NodeIx(node as u32))
    }

    /// Links of the node that pass frames.
    fn open(&self, node: NodeIx) -> impl Iterator<Item = &(u32, NodeIx)> {
        self.system.fabric.neighbours(node).iter().filter(|(link, _)| self.system.forwarding.passes[*link as usize])
    }

    fn leaving(&self, link: u32, node: NodeIx) -> Direction {
        let link = &self.system.fabric.links[link as usize];
        Direction::new(link.cable, usize::from(link.nodes[0] != node))
    }

    /// Links of the node that lead down the tree, with the node below. A link that closes a loop leads nowhere.
    fn below(&self, node: NodeIx) -> impl Iterator<Item = (u32, usize)> {
        let is_below = move |&&(link, to): &&(u32, NodeIx)| self.up[to.0 as usize] == Some((link, node.0));
        self.open(node).filter(is_below).map(|&(link, to)| (link, to.0 as usize))
    }

    /// What the node itself sends out of one port.
    fn own(&self, queues: &mut Queues, node: NodeIx, out: Direction) {
        let at = node.0 as usize;
        let below_here = self.below(node).find(|(link, _)| self.leaving(*link, node) == out);
        let is_head = self.leads[at] || (self.renews(node) && below_here.is_some());
        if !is_head {
            return queues.add((out, None), (Kind::Request, Kind::Request), u32::from(self.asks(at)));
        }
        queues.add((out, None), (Kind::Timing, Kind::Timing), 2);
        queues.add((out, None), (Kind::Announce, Kind::Announce), 1);
        for (link, below) in self.below(node).filter(|(link, _)| !self.renews(node) || self.leaving(*link, node) == out) {
            let asked = self.leaving(link, node).reversed();
            queues.add((out, Some(asked)), (Kind::Answer, Kind::Request), self.requests[below]);
        }
    }

    /// What comes in at the node's other ports and goes out of this one.
    fn passing(&self, queues: &mut Queues, node: NodeIx, out: Direction) {
        for (link, below) in self.below(node) {
            let from = self.leaving(link, node).reversed();
            if from.reversed() != out {
                queues.add((out, Some(from)), (Kind::Request, Kind::Request), self.requests[below]);
            }
        }
        let at = node.0 as usize;
        let Some((link, _)) = self.up[at].filter(|(link, _)| self.leaving(*link, node) != out) else { return };
        let from = Some(self.leaving(link, node).reversed());
        let mut add = |kind, count| queues.add((out, from), (kind, kind), count);
        add(Kind::Request, self.total[at] - self.requests[at]);
        if self.is_led[at] {
            add(Kind::Timing, 2);
            add(Kind::Announce, 1);
            add(Kind::Answer, self.total[at]);
        }
    }
}
