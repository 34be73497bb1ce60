//! A network of the calculation as the simulator takes it.

use loomwright_delay::Network;
use loomwright_delay::network::NONE;
use loomwright_simulator::{Hop, Net, Queue, Train};

/// All of it: queue `i` is port `i`, train `i` is stream `i`. Every box takes the longest of its times; release jitter and
/// bundles are left out. **Cost**: O(stream-hops).
pub fn net_of(network: &Network) -> Net {
    let queues =
        network.ports.iter().map(|port| Queue { propagation: port.propagation.picoseconds(), blocker: port.blocking.picoseconds() });
    let top = network.streams.iter().map(|stream| stream.class).max().unwrap_or(0);
    let trains = network.streams.iter().map(|stream| {
        let hops = stream.hops.iter().map(|hop| Hop {
            queue: hop.port,
            parent: (hop.parent != NONE).then_some(hop.parent),
            send: hop.send.picoseconds(),
            before: hop.forward.most.picoseconds(),
        });
        Train { period: stream.period.picoseconds(), class: top - stream.class, hops: hops.collect() }
    });
    Net { queues: queues.collect(), trains: trains.collect() }
}
