//! How long a clock message waits on average, as far as that can be said: no bound, only an expectation.
//!
//! A message of the highest class that comes at a random moment finds the link sending with the chance of its
//! load, and then waits for the rest of that frame: half of it on average. Messages of other devices are left
//! out; they are rare.

use crate::system::System;
use loomwright_model::Time;

/// What a queue looks like to a message that comes at a random moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Occupied {
    /// Part of the time that the link is sending, parts per million.
    pub load_ppm: u64,
    /// Mean wait behind the frame that is being sent, waits of nought included.
    pub mean_wait: Time,
}

/// One million: a whole.
const WHOLE: u64 = 1_000_000;

/// For every direction: how much of the time planned streams send there, and the mean rest of a frame.
///
/// **Source**: mean residual time of a renewal process, here sum of frame time squared over twice its period;
/// for frames of one length L at load rho it is rho L / (2 C). O(hops).
pub fn occupied(system: &System<'_>) -> Vec<Occupied> {
    let mut twice_rest = vec![0_u128; system.fabric.cables.len() * 2];
    let mut load = vec![0_u128; twice_rest.len()];
    for flow in &system.forwarding.flows {
        let packets = system.packets(flow);
        let period = u128::from(packets.period.picoseconds().max(1));
        for hop in &flow.hops {
            let frame = u128::from(system.frame_time(packets, hop.direction).picoseconds());
            let at = hop.direction.0 as usize;
            // In thousandths of a picosecond, so that small loads are not rounded to nothing.
            twice_rest[at] = twice_rest[at].saturating_add(frame.saturating_mul(frame).saturating_mul(1_000) / period);
            load[at] = load[at].saturating_add(frame.saturating_mul(u128::from(WHOLE)) / period);
        }
    }
    let figure = |(twice_rest, load): (u128, u128)| Occupied {
        load_ppm: u64::try_from(load).unwrap_or(u64::MAX).min(WHOLE),
        mean_wait: Time::from_picoseconds(u64::try_from(twice_rest / 2_000).unwrap_or(u64::MAX)),
    };
    twice_rest.into_iter().zip(load).map(figure).collect()
}
