//! One RTP sender as one place hears it. **Source**: RFC 3550 appendices A.1 (order), A.3 (loss) and A.8 (jitter).
//!
//! Sequence numbers and times are circles: their differences are taken modulo their size by definition (section 5.1), here alone.

use crate::facts::{Media, Rtp};
use crate::protocol::rtp::{Header, fixed_rate};
use crate::seen::Moment;

/// A longer step forward is a new beginning; so is a longer step back. **Source**: RFC 3550 appendix A.1.
const LONGEST_STEP: u16 = 3_000;
const LONGEST_BACK: u16 = 100;
/// Sample rates that media use. **Unit**: hertz. **Source**: RFC 3551, and 48, 96, 192 kHz by RFC 3190; 90 kHz is video's.
const RATES: [u32; 8] = [48_000, 44_100, 96_000, 88_200, 192_000, 90_000, 8_000, 16_000];
/// How far the measured rate may be off. **Unit**: 1 in so many. **Source**: own choice: a sender without clock drifts 1 in 10,000; a
/// short capture measures badly.
const TOLERANCE: u64 = 50;
/// Most payload types that are kept. **Source**: own choice.
const MOST_TYPES: usize = 16;

/// Sums of one sender.
#[derive(Clone)]
pub struct Listener {
    ssrc: u32,
    payload_types: Vec<u8>,
    packets: u64,
    first: Option<Moment>,
    last: Option<Moment>,
    first_sequence: u16,
    /// Highest sequence number so far.
    highest: u16,
    /// Which of the last 128 came: bit 0 is `highest`.
    came: u128,
    /// Steps forward added up, since the last beginning and before it.
    advanced: u64,
    expected_before: u64,
    unique: u64,
    gaps: u64,
    longest_loss: u64,
    reordered: u64,
    duplicates: u64,
    restarts: u64,
    in_order: u64,
    /// The number after one that jumped: a second one in order there is a new beginning.
    awaited: Option<u16>,
    timestamp: u32,
    /// Media time and real time passed, for measuring the rate.
    media_passed: u64,
    time_passed: u64,
    /// Most common step and how far it leads.
    step: (u32, u64),
    /// Sixteen times the jitter, and the greatest, for each rate.
    jitter: [(u64, u64); RATES.len()],
    /// A step of media time, and how long it takes at each rate: most steps are the same. **Unit**: nanosecond.
    takes: (i64, [i64; RATES.len()]),
    payload_octets: Option<u32>,
    longest_gap: u64,
}

impl Listener {
    /// Begins with a first packet.
    pub fn new(header: &Header, time: Option<Moment>, payload: Option<u32>) -> Self {
        Self {
            ssrc: header.ssrc,
            payload_types: vec![header.payload_type],
            packets: 1,
            first: time,
            last: time,
            first_sequence: header.sequence,
            highest: header.sequence,
            came: 1,
            advanced: 0,
            expected_before: 0,
            unique: 1,
            gaps: 0,
            longest_loss: 0,
            reordered: 0,
            duplicates: 0,
            restarts: 0,
            in_order: 0,
            awaited: None,
            timestamp: header.timestamp,
            media_passed: 0,
            time_passed: 0,
            step: (0, 0),
            jitter: [(0, 0); RATES.len()],
            takes: (0, [0; RATES.len()]),
            payload_octets: payload,
            longest_gap: 0,
        }
    }

    /// The sender's number.
    pub const fn ssrc(&self) -> u32 {
        self.ssrc
    }

    /// Packets so far.
    pub const fn packets(&self) -> u64 {
        self.packets
    }

    /// Whether it behaves like an RTP sender: at least two packets, and steps forward are short ones more often than not.
    pub const fn is_likely(&self) -> bool {
        self.packets >= 2 && self.in_order.saturating_mul(2) >= self.packets.saturating_sub(1) && self.payload_types.len() <= 4
    }

    /// Adds a packet.
    pub fn add(&mut self, header: &Header, time: Option<Moment>, payload: Option<u32>) {
        super::keep(&mut self.payload_types, header.payload_type, MOST_TYPES);
        self.packets = self.packets.saturating_add(1);
        self.payload_octets = payload.or(self.payload_octets);
        let forward = header.sequence.wrapping_sub(self.highest);
        let back = self.highest.wrapping_sub(header.sequence);
        if forward != 0 && forward < LONGEST_STEP {
            self.forward(forward, header);
        } else if back < LONGEST_BACK {
            self.back(back);
        } else {
            self.jump(header);
        }
        self.jitter(header, time);
    }

    fn forward(&mut self, step: u16, header: &Header) {
        self.in_order = self.in_order.saturating_add(1);
        self.awaited = None;
        self.came = self.came.checked_shl(step.into()).unwrap_or_default() | 1;
        self.advanced = self.advanced.saturating_add(step.into());
        self.unique = self.unique.saturating_add(1);
        self.highest = header.sequence;
        if step > 1 {
            self.gaps = self.gaps.saturating_add(1);
            self.longest_loss = self.longest_loss.max(u64::from(step) - 1);
            return;
        }
        let passed = header.timestamp.wrapping_sub(self.timestamp);
        self.step = match self.step {
            (_, 0) => (passed, 1),
            (step, lead) if step == passed => (step, lead.saturating_add(1)),
            (step, lead) => (step, lead - 1),
        };
    }

    fn back(&mut self, back: u16) {
        let bit = 1_u128 << back;
        if self.came & bit != 0 {
            self.duplicates = self.duplicates.saturating_add(1);
        } else if u64::from(back) > self.advanced {
            // From before the first packet that was heard: not expected, so not counted as come.
            self.reordered = self.reordered.saturating_add(1);
        } else {
            self.came |= bit;
            self.unique = self.unique.saturating_add(1);
            self.reordered = self.reordered.saturating_add(1);
        }
    }

    /// A jump counts as a new beginning only when a second packet follows it. **Source**: RFC 3550 appendix A.1.
    fn jump(&mut self, header: &Header) {
        if self.awaited == Some(header.sequence) {
            self.restarts = self.restarts.saturating_add(1);
            // The packet before this one, which jumped, belongs to the new beginning: two came and two were expected.
            self.expected_before = self.expected_before.saturating_add(self.advanced).saturating_add(1);
            (self.advanced, self.came) = (1, 0b11);
            self.unique = self.unique.saturating_add(2);
            self.highest = header.sequence;
            self.awaited = None;
        } else {
            self.awaited = Some(header.sequence.wrapping_add(1));
        }
    }

    fn jitter(&mut self, header: &Header, time: Option<Moment>) {
        let media = i64::from(i32::from_ne_bytes(header.timestamp.wrapping_sub(self.timestamp).to_ne_bytes()));
        self.timestamp = header.timestamp;
        let Some((now, before)) = time.zip(self.last) else {
            self.last = time.or(self.last);
            return;
        };
        let passed = now.since(before);
        self.last = Some(now.max(before));
        self.longest_gap = self.longest_gap.max(passed);
        // A pause or a jump of the sender's clock says nothing about its rate.
        if (0..=i64::from(RATES[4])).contains(&media) {
            self.media_passed = self.media_passed.saturating_add(media.unsigned_abs());
            self.time_passed = self.time_passed.saturating_add(passed);
        }
        let passed = i64::try_from(passed).unwrap_or(i64::MAX);
        if media != self.takes.0 {
            self.takes = (media, RATES.map(|rate| media.saturating_mul(1_000_000_000) / i64::from(rate)));
        }
        for ((jitter, greatest), expected) in self.jitter.iter_mut().zip(self.takes.1) {
            let off = passed.saturating_sub(expected).unsigned_abs();
            *jitter = jitter.saturating_add(off).saturating_sub(jitter.saturating_add(8) >> 4);
            *greatest = (*greatest).max(*jitter);
        }
    }

    /// The sample rate: as announced, as fixed by the payload type, or the usual one nearest to what was measured.
    fn rate(&self, media: Option<&Media>) -> Option<u32> {
        let announced = media.filter(|media| media.payload_type.is_none_or(|one| self.payload_types.contains(&one)));
        announced.and_then(|media| media.sample_rate).or_else(|| self.payload_types.first().copied().and_then(fixed_rate)).or_else(|| {
            let measured = u64::try_from(u128::from(self.media_passed) * 1_000_000_000 / u128::from(self.time_passed.max(1))).ok()?;
            let near = |rate: &u32| measured.abs_diff((*rate).into()) <= u64::from(*rate) / TOLERANCE;
            RATES.into_iter().filter(near).min_by_key(|rate| measured.abs_diff((*rate).into()))
        })
    }

    /// What was heard.
    pub fn finish(self, media: Option<&Media>) -> Rtp {
        let rate = self.rate(media);
        let jitter = rate.and_then(|rate| RATES.iter().position(|&known| known == rate)).and_then(|at| self.jitter.get(at).copied());
        let jitter = jitter.filter(|_| self.first.is_some() && self.packets >= 2);
        let expected = self.expected_before.saturating_add(self.advanced).saturating_add(1);
        Rtp {
            ssrc: self.ssrc,
            payload_types: self.payload_types,
            packets: self.packets,
            first: self.first,
            last: self.last,
            first_sequence: self.first_sequence,
            expected,
            lost: expected.saturating_sub(self.unique),
            gaps: self.gaps,
            longest_loss: self.longest_loss,
            reordered: self.reordered,
            duplicates: self.duplicates,
            restarts: self.restarts,
            jitter: jitter.map(|(jitter, _)| jitter >> 4),
            greatest_jitter: jitter.map(|(_, greatest)| greatest >> 4),
            samples_per_packet: Some(self.step.0).filter(|_| self.step.1 > 0),
            sample_rate: rate,
            payload_octets: self.payload_octets,
            longest_gap: self.longest_gap,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Packets of 48 samples at 48 kHz, 1 ms apart, by sequence number.
    fn listen(sequence: &[u16]) -> Rtp {
        let header = |n: u16| Header { payload_type: 98, sequence: n, timestamp: u32::from(n).wrapping_mul(48), ssrc: 7, octets: 12 };
        let time = |n: usize| Some(Moment(1_000_000 * u64::try_from(n).unwrap_or_default()));
        let mut listener = Listener::new(&header(sequence[0]), time(0), Some(288));
        for (n, &number) in sequence.iter().enumerate().skip(1) {
            listener.add(&header(number), time(n), Some(288));
        }
        listener.finish(None)
    }

    #[test]
    fn loss_order_and_copies() {
        for (sequence, expected) in [
            // expected, lost, gaps, longest loss, reordered, duplicates, restarts
            (&[1_u16, 2, 3, 4][..], [4, 0, 0, 0, 0, 0, 0]),
            (&[1, 2, 5, 6], [6, 2, 1, 2, 0, 0, 0]),
            (&[1, 3, 2, 4], [4, 0, 1, 1, 1, 0, 0]),
            (&[1, 2, 2, 3], [3, 0, 0, 0, 0, 1, 0]),
            (&[65_534, 65_535, 0, 2], [5, 1, 1, 1, 0, 0, 0]),
            (&[1, 2, 20_000, 20_001, 20_002], [5, 0, 0, 0, 0, 0, 1]),
            (&[1, 2, 20_000, 3, 4], [4, 0, 0, 0, 0, 0, 0]),
            (&[5, 4, 6], [2, 0, 0, 0, 1, 0, 0]),
        ] {
            let rtp = listen(sequence);
            let found = [rtp.expected, rtp.lost, rtp.gaps, rtp.longest_loss, rtp.reordered, rtp.duplicates, rtp.restarts];
            assert_eq!(found, expected, "{sequence:?}");
        }
    }

    #[test]
    fn jitter_of_an_even_stream_is_none_and_its_rate_is_found() {
        let even: Vec<u16> = (0..500).collect();
        let rtp = listen(&even);
        assert_eq!((rtp.jitter, rtp.sample_rate, rtp.samples_per_packet), (Some(0), Some(48_000), Some(48)));
    }

    /// Worked by hand from RFC 3550 section 6.4.1: J += (|D| - J) / 16, with D = 1 ms once: 62.5 us, then 15/16 of it.
    #[test]
    fn one_late_packet_counts_a_sixteenth() {
        let header = |n: u16| Header { payload_type: 98, sequence: n, timestamp: u32::from(n) * 48, ssrc: 7, octets: 12 };
        let media = Media { sample_rate: Some(48_000), ..Media::default() };
        let mut listener = Listener::new(&header(0), Some(Moment(0)), None);
        listener.add(&header(1), Some(Moment(2_000_000)), None);
        listener.add(&header(2), Some(Moment(3_000_000)), None);
        let rtp = listener.finish(Some(&media));
        assert_eq!((rtp.jitter, rtp.greatest_jitter), (Some(58_593), Some(62_500)));
    }
}
