//! How long a receiver has to hold a stream back, so that no packet comes too late.
//!
//! A sample enters the sender; its packet is full one packet time later, leaves at most the release jitter
//! after that, and arrives between the least and the worst network delay later. A receiver that plays every
//! sample the same time after its entry has to wait for the latest packet: packet time + jitter + worst
//! delay. What it then holds ready is longest when a packet comes early: what the delay varies by, the
//! jitter, and the packet that is being played.

use crate::analysis::{Bound, NoBound};
use crate::delays::Delays;
use loomwright_model::Time;

/// What one packet stream asks of one receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hold {
    /// The delay in the network, release to last bit in.
    pub network: Bound,
    /// How much later than nominal its sender may release it.
    pub jitter: Time,
    /// Audio time in one packet.
    pub packet: Time,
}

impl Hold {
    /// Audio that has to be held ready: PDV + release jitter + packet time. **Source**: buffer at least what
    /// the delay varies by and the sender's jitter (AES67, from memory); one packet is played while the next
    /// arrives (common practice, no source).
    pub fn buffer(&self) -> Time {
        self.network.variation() + self.jitter + self.packet
    }

    /// Least delay from a sample's entry at the sender to its leaving the buffer: packet time + release
    /// jitter + worst network delay. **Source**: AES67 link offset, from memory.
    pub fn receive_delay(&self) -> Time {
        self.network.worst + self.jitter + self.packet
    }
}

/// The first of the settings, shortest first, that is long enough.
pub fn next_setting(needed: Time, settings: &[Time]) -> Option<Time> {
    settings.iter().copied().find(|setting| *setting >= needed)
}

impl Delays {
    /// What a flow asks of the receiver at its hop `hop`; an error if there is no bound.
    pub fn hold(&self, flow: usize, hop: u32) -> Result<Hold, NoBound> {
        let jitter = self.analysis().network().streams[flow].jitter;
        Ok(Hold { network: self.bound(flow, hop)?, jitter, packet: self.period(flow) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn us(microseconds: u64) -> Time {
        Time::from_microseconds(microseconds)
    }

    #[test]
    fn the_worked_example_comes_out() {
        // Packet 1 ms, network 0.225 ms: 1.225 ms, of which 1.2 are held if the earliest packet takes 25 us.
        let network = Bound { least: us(25), worst: us(225), reached: us(225) };
        let hold = Hold { network, jitter: Time::ZERO, packet: us(1_000) };
        assert_eq!((hold.buffer(), hold.receive_delay()), (us(1_200), us(1_225)));
        let late = Hold { jitter: us(50), ..hold };
        assert_eq!((late.buffer(), late.receive_delay()), (us(1_250), us(1_275)));
        // The two are one figure seen from two ends.
        assert_eq!(late.receive_delay(), network.least + late.buffer());
    }

    #[test]
    fn the_next_setting_is_never_too_short() {
        let settings = [250, 1_000, 2_000].map(us);
        for (needed, set) in [(0, Some(250)), (250, Some(250)), (251, Some(1_000)), (1_225, Some(2_000)), (2_001, None)] {
            assert_eq!(next_setting(us(needed), &settings), set.map(us), "{needed}");
        }
        assert_eq!(next_setting(us(1), &[]), None);
    }
}
