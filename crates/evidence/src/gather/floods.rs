//! Frames for everybody, counted by the second: a storm need not be made of frames that are alike.

use super::limited::Limited;
use super::seen;
use crate::facts::Flood;
use crate::frame::Frame;
use crate::mac::Mac;
use crate::seen::{Moment, Seen, Trust};

/// Most interfaces that are counted apart. **Source**: own choice.
const INTERFACES: usize = 256;
/// Most senders of one second that are counted apart. **Source**: own choice: a storm has one, or all there are.
const SENDERS: usize = 64;
/// From how many frames within a second it is told. **Source**: own choice: 1,000 devices that ask for an address every 5 s make 200.
const TOLD: u64 = 200;
/// **Unit**: nanosecond.
const SECOND: u64 = 1_000_000_000;
/// How groups begin whose frames are no flood: IPv4 groups, which are streams and clocks and are asked for, and groups that no
/// switch passes on. **Source**: RFC 1112 section 6.4; IEEE 802.1D table 7-10 (from memory).
const NO_FLOOD: [[u8; 3]; 2] = [[0x01, 0x00, 0x5e], [0x01, 0x80, 0xc2]];

/// One interface: the second that is counted now, and the fullest one.
#[derive(Clone)]
struct Second {
    seen: Seen,
    begun: Moment,
    frames: u64,
    senders: Limited<Mac, u64>,
    fullest: Option<Flood>,
}

/// All interfaces.
#[derive(Clone)]
pub struct Floods(Limited<u32, Second>);

impl Default for Floods {
    fn default() -> Self {
        Self(Limited::new(INTERFACES))
    }
}

impl Floods {
    /// Adds a frame of any kind.
    #[inline]
    pub fn add(&mut self, frame: &Frame<'_>) {
        let Some(((to, from), now)) = frame.to.zip(frame.from).zip(frame.stored.time) else { return };
        if !to.is_group() || NO_FLOOD.iter().any(|begin| to.0.starts_with(begin)) {
            return;
        }
        let second = self.0.get_or(frame.stored.interface, || {
            let mut seen = seen(frame, Trust::Measured);
            seen.times = 0;
            Second { seen, begun: now, frames: 0, senders: Limited::new(SENDERS), fullest: None }
        });
        if let Some(second) = second {
            second.add(from, now);
        }
    }

    /// Every interface that saw enough of them.
    pub fn finish(self) -> Vec<Flood> {
        let all = self.0.into_values();
        all.filter_map(|mut second| {
            second.close();
            let fullest = second.fullest?;
            Some(Flood { seen: second.seen, ..fullest })
        })
        .collect()
    }
}

impl Second {
    fn add(&mut self, from: Mac, now: Moment) {
        // Times may run backwards between interfaces of one file; a second is over either way.
        if now.0.abs_diff(self.begun.0) >= SECOND {
            self.close();
            self.begun = now;
        }
        self.seen.again(Some(now));
        self.frames = self.frames.saturating_add(1);
        if let Some(count) = self.senders.get_or(from, || 0) {
            *count = count.saturating_add(1);
        }
    }

    /// Ends the second, and keeps it if it is the fullest.
    fn close(&mut self) {
        let frames = std::mem::take(&mut self.frames);
        let senders = std::mem::replace(&mut self.senders, Limited::new(SENDERS));
        let most = self.fullest.as_ref().map_or(TOLD - 1, |flood| flood.most_per_second);
        if frames <= most {
            return;
        }
        let is_counted = senders.left_out == 0;
        let all: Vec<(Mac, u64)> = senders.into_rows().collect();
        let busiest = all.iter().copied().max_by_key(|(mac, count)| (*count, std::cmp::Reverse(*mac))).filter(|_| is_counted);
        let seen = self.seen;
        self.fullest = Some(Flood { seen, most_per_second: frames, worst: Some(self.begun), senders: all.len(), busiest });
    }
}

#[cfg(test)]
mod tests {
    use crate::write;
    use crate::{Mac, Moment};

    /// Frames that differ, `every` so many microseconds one, for three seconds.
    fn capture(to: [u8; 6], senders: u64, every: u64) -> Vec<u8> {
        let mut file = write::header().to_vec();
        for n in 0..3_000_000 / every {
            let mut frame = [&to[..], &[2, 0, 0, 0, 0, (n % senders) as u8], &[0x88, 0xb5]].concat();
            frame.extend(n.to_be_bytes());
            frame.resize(60, 0);
            write::frame(&mut file, Moment(1_700_000_000_000_000_000 + n * every * 1_000), &frame, None);
        }
        file
    }

    #[test]
    fn floods_are_counted_by_the_second() {
        let cases = [
            (Mac::BROADCAST.0, 1, 500, Some((2_000, 1, Some(2_000)))),
            (Mac::BROADCAST.0, 4, 1_000, Some((1_000, 4, Some(250)))),
            ([0x33, 0x33, 0, 0, 0, 1], 100, 1_000, Some((1_000, 64, None))),
            (Mac::BROADCAST.0, 1, 10_000, None),
            ([1, 0, 0x5e, 0, 0, 1], 1, 500, None),
            ([1, 0x80, 0xc2, 0, 0, 1], 1, 500, None),
            ([2, 0, 0, 0, 0, 9], 1, 500, None),
        ];
        for (to, senders, every, expected) in cases {
            let seen = crate::read("x.pcap", &capture(to, senders, every));
            let told = seen.floods.first().map(|one| (one.most_per_second, one.senders, one.busiest.map(|(_, count)| count)));
            assert_eq!(told, expected, "{to:02x?}, {senders} senders, one in {every} us");
            assert!(seen.repeats.is_empty(), "no two frames are alike");
        }
    }
}
