//! Clock messages as traffic: how many can meet at each queue.
//!
//! The leader's messages and every follower's requests go to one group that all clock devices are in, so a
//! message of every device may be on its way at any time. They come far apart (see [`PERIOD`]), so while
//! a queue is busy each device adds one at most.

use crate::class::CLOCK;
use crate::network::{Bundle, NONE};
use crate::system::send_time;
use loomwright_forwarding::packets::wire_bytes_of_ip;
use loomwright_forwarding::{Direction, Fabric, Forwarding, NodeIx};
use loomwright_model::Time;

/// IPv4 and UDP headers and the 44 bytes of a Sync or Delay_Req message. **Source**: IEEE 1588 message
/// lengths (90 byte frame over UDP, derived), RFC 791, RFC 768.
pub const MESSAGE_IP_BYTES: u64 = 20 + 8 + 44;
/// Least time between two event messages of one device. **Source**: AES67 media profile, eight a second (from memory).
pub const PERIOD: Time = Time::from_milliseconds(125);
/// How far the way may have moved a message: far above any bound, far below [`PERIOD`].
const MOST_MOVED: Time = Time::from_milliseconds(10);

/// Messages at every queue, by the input they come from. O(links of boxes squared), few in practice.
pub(crate) fn clock_bundles(fabric: &Fabric, forwarding: &Forwarding) -> Vec<Bundle> {
    let behind = devices_behind(fabric, forwarding);
    let mut bundles = Vec::new();
    for node in 0..fabric.nodes.len() {
        let node = NodeIx(node as u32);
        let passing = || fabric.neighbours(node).iter().filter(|(link, _)| forwarding.passes[*link as usize]);
        let own = own_messages(fabric, node);
        for &(out, _) in passing() {
            let port = leaving(fabric, out, node);
            let send = message_time(fabric, port);
            let mut add = |feeder: u32, feeder_send: Time, count: u32| {
                if count > 0 {
                    let bundle =
                        Bundle { port: port.0, feeder, class: CLOCK, count, send, feeder_send, period: PERIOD, jitter: MOST_MOVED };
                    bundles.push(bundle);
                }
            };
            add(NONE, send, own);
            for &(input, _) in passing().filter(|(input, _)| *input != out) {
                let from = leaving(fabric, input, node).reversed();
                add(from.0, message_time(fabric, from), behind[input as usize * 2 + side(fabric, input, node)]);
            }
        }
    }
    bundles
}

/// Messages that begin at this node: one for every device that carries audio here.
fn own_messages(fabric: &Fabric, node: NodeIx) -> u32 {
    use loomwright_forwarding::NodeKind::{Chained, Interface, Router, Switch};
    match fabric.nodes[node.0 as usize].kind {
        Chained(device) | Interface(device, _) => {
            u32::from(fabric.audio[device.0 as usize].iter().any(|attachment| attachment.node == node))
        }
        Router(_) | Switch(_) => 0,
    }
}

/// Which end of the link the node is.
fn side(fabric: &Fabric, link: u32, node: NodeIx) -> usize {
    usize::from(fabric.links[link as usize].nodes[0] != node)
}

fn leaving(fabric: &Fabric, link: u32, node: NodeIx) -> Direction {
    Direction::new(fabric.links[link as usize].cable, side(fabric, link, node))
}

/// Time of one event message on a link.
pub(crate) fn message_time(fabric: &Fabric, direction: Direction) -> Time {
    let cable = &fabric.cables[direction.cable().0 as usize];
    send_time(wire_bytes_of_ip(MESSAGE_IP_BYTES, u32::from(cable.is_tagged())), cable.speed)
}

/// For each link and each of its ends (`2 * link + end`): devices beyond it, seen from that end.
fn devices_behind(fabric: &Fabric, forwarding: &Forwarding) -> Vec<u32> {
    let count = fabric.nodes.len();
    let mut behind = vec![0; fabric.links.len() * 2];
    let mut seen = vec![false; count];
    let mut below: Vec<u32> = (0..count).map(|node| own_messages(fabric, NodeIx(node as u32))).collect();
    for root in 0..count {
        if seen[root] {
            continue;
        }
        let order = tree_order(fabric, forwarding, NodeIx(root as u32), &mut seen);
        for (node, _, up) in order[1..].iter().rev() {
            below[*up as usize] += below[*node as usize];
        }
        let all = below[root];
        for (node, link, up) in &order[1..] {
            let under = below[*node as usize];
            behind[*link as usize * 2 + side(fabric, *link, NodeIx(*up))] = under;
            behind[*link as usize * 2 + side(fabric, *link, NodeIx(*node))] = all - under;
        }
    }
    behind
}

/// Nodes of one domain as (node, link to its parent, parent), parents first.
fn tree_order(fabric: &Fabric, forwarding: &Forwarding, root: NodeIx, seen: &mut [bool]) -> Vec<(u32, u32, u32)> {
    let mut order = vec![(root.0, NONE, NONE)];
    seen[root.0 as usize] = true;
    let mut next = 0;
    while next < order.len() {
        let node = order[next].0;
        next += 1;
        for &(link, to) in fabric.neighbours(NodeIx(node)) {
            if forwarding.passes[link as usize] && !std::mem::replace(&mut seen[to.0 as usize], true) {
                order.push((to.0, link, node));
            }
        }
    }
    order
}
