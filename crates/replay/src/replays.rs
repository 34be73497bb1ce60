//! Replays of any stream of one network.

use crate::excerpt::Excerpt;
use crate::timeline::Replay;
use loomwright_delay::Network;
use loomwright_model::Time;
use loomwright_simulator::{Player, Reached, worst_trace_on};

/// A network made ready for replays of its streams.
///
/// **Example**, for a plan: stream `i` of the network is flow `i` of its forwarding, port `i` is direction `i`.
/// ```
/// use loomwright_delay::Delays;
/// use loomwright_replay::Replays;
///
/// fn show(delays: &Delays, flow: usize, hop: usize) {
///     let replay = Replays::new(delays.analysis().network()).worst(flow, hop);
///     println!("reached {}, bound {:?}", replay.reached, delays.bound(flow, hop as u32));
///     let queue = &replay.queues[replay.fullest.queue];
///     println!("{} packets stand at direction {} at {}", replay.fullest.packets, queue.port, replay.fullest.at);
///     for packet in &queue.packets {
///         println!("{:?} {} {} {}", packet.whose, packet.arrives, packet.starts, packet.ends);
///     }
/// }
/// ```
pub struct Replays<'a> {
    network: &'a Network,
    /// Streams that pass each port, as stream and hop.
    passing: Vec<Vec<(u32, u32)>>,
    /// Bundles of each port.
    bundles: Vec<Vec<u32>>,
}

impl<'a> Replays<'a> {
    /// O(stream-hops).
    pub fn new(network: &'a Network) -> Self {
        let mut passing = vec![Vec::new(); network.ports.len()];
        for (stream, spec) in network.streams.iter().enumerate() {
            for (hop, spec) in spec.hops.iter().enumerate() {
                passing[spec.port as usize].push((stream as u32, hop as u32));
            }
        }
        let mut bundles = vec![Vec::new(); network.ports.len()];
        for (bundle, spec) in network.bundles.iter().enumerate() {
            bundles[spec.port as usize].push(bundle as u32);
        }
        Self { network, passing, bundles }
    }

    /// The worst moment of a packet of `stream` on its way to the far end of its hop `hop` (for a delivery, its last
    /// hop), with all that it meets. **Cost**: some twenty plays of all packets that can meet it; an unoptimised build took
    /// 50 ms where 500 met it and 0.8 s where 2,000 did, so ask for one stream, not for all of a campus.
    pub fn worst(&self, stream: usize, hop: usize) -> Replay {
        let excerpt = Excerpt::new(self, stream, hop);
        let mut player = Player::new(&excerpt.net);
        let reached = excerpt.reached(&mut player);
        let path: Vec<u32> = (0..excerpt.path_length as u32).collect();
        player.play(&reached.releases, &reached.blockers, &path);
        Replay::new(&excerpt, &player, reached.delay)
    }

    /// The delay of [`Self::worst`] alone.
    pub fn reached(&self, stream: usize, hop: usize) -> Time {
        let excerpt = Excerpt::new(self, stream, hop);
        Time::from_picoseconds(excerpt.reached(&mut Player::new(&excerpt.net)).delay)
    }

    pub(crate) fn network(&self) -> &'a Network {
        self.network
    }

    pub(crate) fn passing(&self, port: u32) -> &[(u32, u32)] {
        &self.passing[port as usize]
    }

    pub(crate) fn bundles(&self, port: u32) -> &[u32] {
        &self.bundles[port as usize]
    }
}

impl Excerpt {
    fn reached(&self, player: &mut Player) -> Reached {
        worst_trace_on(player, 0, self.path_length as u32 - 1)
    }
}
