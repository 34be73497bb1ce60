//! What a follower's error will be on average under the planned load: an expectation, kept apart from the guarantee.
//!
//! On average a message waits in every box that knows nothing of clocks for part of a frame, more on the fuller
//! side. The exchange sees half the difference. A follower that keeps the quickest of many exchanges is better: once
//! one message each way meets no frame at all, only what is always unequal is left.

use crate::message::EVENT_FRAME_BYTES;
use loomwright_delay::Occupied;
use loomwright_forwarding::{CableIx, Direction, Fabric, NodeIx, NodeKind};
use loomwright_model::{ByteCount, ClockSupport, Plan, Time, Wiring};
use std::collections::VecDeque;

/// Exchanges among which the quickest is kept. Own choice: 8 s at eight exchanges a second.
pub const WINDOW: u64 = 64;
/// The quickest of a window is taken as free of waiting if this many of it are expected to be. Own choice: a window
/// without any then comes once in e^10, some 22,000; in own trials errors are left at 5, and none at 10.
const ENOUGH: u64 = 10;
/// A whole, in parts per million.
const WHOLE: u64 = 1_000_000;

/// What to expect of one follower; nothing of it is guaranteed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Expected {
    /// Mean wait from the leader and to it.
    waits: [Time; 2],
    /// Always longer from the leader than to it, picoseconds.
    longer_there: i64,
    /// Chance that a message meets no frame on its way from and to the last box that ended the exchange, parts per million.
    clear: [u64; 2],
    /// The least of those chances before that box.
    settled_clear: u64,
}

impl Default for Expected {
    fn default() -> Self {
        Self { waits: [Time::ZERO; 2], longer_there: 0, clear: [WHOLE; 2], settled_clear: WHOLE }
    }
}

impl Expected {
    /// Mean error without a filter: half the difference of the mean waits and of what is always unequal.
    /// **Source**: half the difference of the two ways, IEEE 1588-2008 7.4.2; for k equal boxes (rho_f - rho_r) k L / (4 C).
    pub fn mean(&self) -> Time {
        let [there, back] = self.waits.map(|wait| i64::try_from(wait.picoseconds()).unwrap_or(i64::MAX));
        half(there.saturating_sub(back).saturating_add(self.longer_there))
    }

    /// What is left if the quickest exchange of a window met no frame.
    pub fn unequal(&self) -> Time {
        half(self.longer_there)
    }

    /// Least chance that a message meets no frame, parts per million.
    pub fn clear_ppm(&self) -> u64 {
        self.settled_clear.min(self.clear[0]).min(self.clear[1])
    }

    /// Whether enough of a window are expected to meet no frame.
    pub fn filter_holds(&self) -> bool {
        self.clear_ppm().saturating_mul(WINDOW) >= ENOUGH * WHOLE
    }

    fn through(mut self, support: ClockSupport, occupied: [Occupied; 2], longer_there: i64) -> Self {
        match support {
            ClockSupport::Unaware => {
                for (n, occupied) in occupied.into_iter().enumerate() {
                    self.waits[n] = self.waits[n] + occupied.mean_wait;
                    self.clear[n] = self.clear[n] * WHOLE.saturating_sub(occupied.load_ppm) / WHOLE;
                }
                self.longer_there = self.longer_there.saturating_add(longer_there);
            }
            ClockSupport::Transparent => {}
            ClockSupport::Boundary => {
                self.settled_clear = self.clear_ppm();
                self.clear = [WHOLE; 2];
            }
        }
        self
    }
}

fn half(picoseconds: i64) -> Time {
    Time::from_picoseconds(picoseconds.unsigned_abs().div_ceil(2))
}

/// What to expect at every node that an open way from `leader` reaches. O(links).
pub fn expect(
    (plan, wiring, fabric): (&Plan, &Wiring, &Fabric),
    leader: &[NodeIx],
    is_open: &dyn Fn(u32) -> bool,
    occupied: &dyn Fn(Direction) -> Occupied,
) -> Vec<Option<Expected>> {
    let mut reached: Vec<Option<Expected>> = vec![None; fabric.nodes.len()];
    let mut todo: VecDeque<(NodeIx, Option<u32>)> = leader.iter().map(|node| (*node, None)).collect();
    leader.iter().for_each(|node| reached[node.0 as usize] = Some(Expected::default()));
    while let Some((node, came_by)) = todo.pop_front() {
        let Some(so_far) = reached[node.0 as usize] else { continue };
        if came_by.is_some() && matches!(fabric.nodes[node.0 as usize].kind, NodeKind::Interface(..)) {
            continue;
        }
        let support = wiring.gear_at(plan, fabric.owner(node)).map_or(ClockSupport::Unaware, |gear| gear.clock_support);
        for &(link, next) in fabric.neighbours(node).iter().filter(|(link, _)| is_open(*link)) {
            if reached[next.0 as usize].is_none() {
                let through = |near: u32| {
                    let out = [leaving(fabric, node, link), leaving(fabric, node, near)];
                    let [far, near] = out.map(|direction| message_time(fabric, direction));
                    so_far.through(support, out.map(occupied), near.saturating_sub(far))
                };
                reached[next.0 as usize] = Some(came_by.map_or(so_far, through));
                todo.push_back((next, Some(link)));
            }
        }
    }
    reached
}

fn leaving(fabric: &Fabric, node: NodeIx, link: u32) -> Direction {
    let link = &fabric.links[link as usize];
    Direction::new(CableIx(link.cable.0), usize::from(link.nodes[0] != node))
}

/// A box takes an event message in whole before it passes it on.
fn message_time(fabric: &Fabric, direction: Direction) -> i64 {
    let cable = &fabric.cables[direction.cable().0 as usize];
    let bytes = EVENT_FRAME_BYTES + if cable.is_tagged() { 4 } else { 0 };
    let time = Time::to_send(ByteCount::from_bytes(bytes), cable.speed).unwrap_or(Time::ZERO);
    i64::try_from(time.picoseconds()).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `boxes` boxes loaded with frames of 1538 bytes at 1 Gb/s, parts per million each way.
    fn chain(boxes: u32, loads: [u64; 2]) -> Expected {
        let rest = |load_ppm: u64| Occupied { load_ppm, mean_wait: Time::from_picoseconds(12_304_000 / 2 * load_ppm / WHOLE) };
        (0..boxes).fold(Expected::default(), |so_far, _| so_far.through(ClockSupport::Unaware, loads.map(rest), 0))
    }

    /// Means of random trials scatter: a tenth of a microsecond and 3 % are allowed. Where the filter is said to hold, no
    /// window of the trials erred by more than a nanosecond.
    #[test]
    fn random_trials_agree() {
        let rows = include_str!("../../../checks/clock-expected.csv");
        for row in rows.lines().skip(1) {
            let figures: Vec<f64> = row.split(',').take(5).filter_map(|cell| cell.parse().ok()).collect();
            let [boxes, there, back, mean, filtered] = figures[..] else { panic!("{row}") };
            let expected = chain(boxes as u32, [there as u64, back as u64]);
            let found = expected.mean().picoseconds() as f64 / 1e6;
            assert!((found - mean.abs()).abs() <= 0.1 + 0.03 * found, "{row}: {found}");
            assert!(!expected.filter_holds() || filtered <= 0.001, "{row}");
        }
        assert!(rows.lines().count() > 10);
    }

    #[test]
    fn five_boxes_err_by_the_difference_of_their_loads() {
        // (0.5 - 0.1) * 5 * 12.304 us / 4
        assert_eq!(chain(5, [500_000, 100_000]).mean(), Time::from_nanoseconds(6_152));
        assert_eq!(chain(5, [300_000, 300_000]).mean(), Time::ZERO);
    }

    #[test]
    fn the_quickest_of_a_window_helps_until_boxes_are_many_and_full() {
        for (boxes, loads, holds) in [(3, [300_000, 300_000], true), (5, [500_000, 100_000], false), (10, [900_000, 300_000], false)] {
            assert_eq!(chain(boxes, loads).filter_holds(), holds, "{boxes} {loads:?}");
        }
    }

    #[test]
    fn a_boundary_box_starts_afresh_but_forgets_nothing() {
        let before = chain(5, [500_000, 100_000]);
        let after = before.through(ClockSupport::Boundary, [Occupied::default(); 2], 0);
        assert_eq!((after.mean(), after.clear_ppm()), (before.mean(), before.clear_ppm()));
        let onward = after.through(ClockSupport::Unaware, [Occupied { load_ppm: 100_000, mean_wait: Time::ZERO }; 2], 0);
        assert_eq!(onward.clear_ppm(), before.clear_ppm(), "the fuller stretch decides");
    }
}
