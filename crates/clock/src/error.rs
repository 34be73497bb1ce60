//! How far from its leader a follower can be: the terms, box by box.
//!
//! One exchange errs by half the difference of the two ways' delays. Through boxes that know nothing of
//! clocks each way varies by what a message may wait there and by the box's own forwarding; both ways are
//! bounded apart and the larger counts: half of it, plus half of what is always unequal. A transparent box
//! measures its own part; a boundary box ends the exchange and starts another.

use loomwright_forwarding::{Direction, Fabric};
use loomwright_model::{ByteCount, ClockSupport, LatencyRange, Time};

/// Step of a hardware time stamp at 125 MHz. **Source**: derived; gigabit interfaces commonly run at it.
const STAMP: Time = Time::from_nanoseconds(8);
/// Share by which a transparent box's own clock is off: 100 ppm. **Source**: IEEE 802.3 oscillator tolerance.
const RESIDENCE_PARTS_PER_MILLION: u64 = 100;
/// Constant error of one boundary box, 50 ns. **Source**: ITU-T G.8273.2 class A (read second-hand).
const BOUNDARY_CONSTANT: Time = Time::from_nanoseconds(50);
/// Varying error of one boundary box: class A's 100 ns at most, less its constant part. **Source**: as above.
const BOUNDARY_VARYING: f64 = 50.0;
/// Difference of two pairs of one twisted-pair cable: 50 ns in a channel of 100 m. **Source**: TIA-568 skew limit
/// (read second-hand).
const SKEW_PICOSECONDS_PER_METRE: u64 = 500;
/// Longest frame with preamble and gap, untagged. **Source**: IEEE 802.3: 1518 + 20 bytes.
const LONGEST_FRAME: u64 = 1_538;

/// Longest wait of a message of the highest class where only one longest frame can be in front of it.
/// Use it where no full delay analysis is at hand. `None` for a link without speed.
pub fn one_lower_frame(fabric: &Fabric, direction: Direction) -> Option<Time> {
    let cable = fabric.cables.get(direction.cable().0 as usize)?;
    let tag = if cable.is_tagged() { 4 } else { 0 };
    Time::to_send(ByteCount::from_bytes(LONGEST_FRAME + tag), cable.speed)
}

/// Time that a box needs to take in an event message before it can pass it on. Stamps are taken after the
/// preamble, so that does not count.
fn message_time(fabric: &Fabric, direction: Direction) -> Time {
    let cable = &fabric.cables[direction.cable().0 as usize];
    let bytes = crate::message::EVENT_FRAME_BYTES + if cable.is_tagged() { 4 } else { 0 };
    Time::to_send(ByteCount::from_bytes(bytes), cable.speed).unwrap_or(Time::ZERO)
}

/// What adds up on the way from a leader.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Terms {
    /// Boxes that know nothing of clocks.
    pub unaware: u32,
    /// Boxes that measure their own delay.
    pub transparent: u32,
    /// Boxes that end and renew the exchange.
    pub boundary: u32,
    /// Errors of exchanges that boundary boxes ended, of transparent boxes and of cables.
    settled: Time,
    /// Variation from the leader and to it, in the exchange that is open.
    varies: [Time; 2],
    /// Always longer from the leader than to it, picoseconds, in the exchange that is open.
    longer_there: i64,
    /// Whether some wait has no bound.
    is_unbounded: bool,
}

/// A box on the way: how messages leave it on either side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Passing {
    pub(crate) support: ClockSupport,
    pub(crate) latency: LatencyRange,
    /// Out of it, away from the leader and towards it.
    pub(crate) out: [Direction; 2],
    /// Longest wait there; `None` without bound.
    pub(crate) waits: [Option<Time>; 2],
}

impl Terms {
    /// Boxes on the way.
    pub fn hops(&self) -> u32 {
        self.unaware + self.transparent + self.boundary
    }

    /// Goes along a cable of twisted pair of this length; fibre adds nothing if both fibres are equally long.
    pub(crate) fn along_copper(mut self, millimetres: u64) -> Self {
        let skew = millimetres.saturating_mul(SKEW_PICOSECONDS_PER_METRE).div_ceil(1_000);
        self.settled = self.settled + Time::from_picoseconds(skew.div_ceil(2));
        self
    }

    /// Goes through a box.
    pub(crate) fn through(mut self, fabric: &Fabric, passing: &Passing) -> Self {
        match passing.support {
            ClockSupport::Unaware => self.through_unaware(fabric, passing),
            ClockSupport::Transparent => self.through_transparent(passing),
            ClockSupport::Boundary => {
                self.settled = self.settled + self.open_exchange();
                (self.varies, self.longer_there) = ([Time::ZERO; 2], 0);
                self.boundary += 1;
            }
        }
        self
    }

    fn through_unaware(&mut self, fabric: &Fabric, passing: &Passing) {
        self.unaware += 1;
        for (varies, wait) in self.varies.iter_mut().zip(passing.waits) {
            self.is_unbounded |= wait.is_none();
            *varies = *varies + wait.unwrap_or(Time::ZERO) + (passing.latency.most - passing.latency.least);
        }
        // It takes a message in whole before it passes it on: from the leader off the near cable, to it off the far one.
        let [far, near] = passing.out.map(|direction| signed(message_time(fabric, direction)));
        self.longer_there = self.longer_there.saturating_add(near.saturating_sub(far));
    }

    fn through_transparent(&mut self, passing: &Passing) {
        self.transparent += 1;
        let [there, back] = passing.waits;
        let (Some(there), Some(back)) = (there, back) else {
            self.is_unbounded = true;
            return;
        };
        let stay = (there.max(back) + passing.latency.most).picoseconds();
        let drift = Time::from_picoseconds(stay.div_ceil(1_000_000 / RESIDENCE_PARTS_PER_MILLION));
        self.settled = self.settled + STAMP.times(2) + drift;
    }

    /// Error of the exchange that is open: half its variation, half its lasting inequality, its stamps.
    fn open_exchange(&self) -> Time {
        let varies = self.varies[0].max(self.varies[1]).picoseconds().div_ceil(2);
        let unequal = self.longer_there.unsigned_abs().div_ceil(2);
        Time::from_picoseconds(varies) + Time::from_picoseconds(unequal) + STAMP
    }

    /// The guaranteed bound; `None` if a message may wait without bound.
    pub fn bound(&self) -> Option<Time> {
        (!self.is_unbounded).then(|| self.settled + self.open_exchange() + boundary_chain(self.boundary))
    }
}

fn signed(time: Time) -> i64 {
    i64::try_from(time.picoseconds()).unwrap_or(i64::MAX)
}

/// Error of `boxes` boundary clocks in a row: constant parts add, varying parts add as squares.
///
/// **Source**: ITU-T G.8273.2 class A figures; the rule is the one test houses publish (read second-hand).
pub fn boundary_chain(boxes: u32) -> Time {
    let varying = (f64::from(boxes).sqrt() * BOUNDARY_VARYING * 1_000.0).ceil();
    BOUNDARY_CONSTANT.times(u64::from(boxes)) + Time::from_picoseconds(varying as u64)
}

/// Nanoseconds of error along `hops` equal hops: constant parts add, random ones (one sigma each) as root of
/// the sum of squares, `sigmas` of which are counted.
pub fn chain_error(hops: u32, constant: f64, random: f64, sigmas: f64) -> f64 {
    f64::from(hops) * constant + sigmas * f64::from(hops).sqrt() * random
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boundary_boxes_add_up() {
        for (boxes, nanoseconds) in [(0, 0), (1, 100), (4, 300)] {
            assert_eq!(boundary_chain(boxes), Time::from_nanoseconds(nanoseconds), "{boxes}");
        }
    }
}
