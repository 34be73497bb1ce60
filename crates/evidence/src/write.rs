//! Writes captures of the older format: for a rig's own recordings, for tests and for measuring.

use crate::seen::Moment;

/// Longest stored frame that the header promises. **Source**: the value most capture programs write (common practice).
const LONGEST: u32 = 262_144;

/// The header of a capture of Ethernet frames with nanosecond times. **Source**: draft-ietf-opsawg-pcap section 4 (from memory).
pub fn header() -> [u8; 24] {
    let mut header = [0; 24];
    let parts: [&[u8]; 5] = [&0xa1b2_3c4d_u32.to_le_bytes(), &2_u16.to_le_bytes(), &4_u16.to_le_bytes(), &[0; 8], &LONGEST.to_le_bytes()];
    let octets = parts.into_iter().flatten().chain(&1_u32.to_le_bytes()).copied().collect::<Vec<_>>();
    for (to, from) in header.iter_mut().zip(octets) {
        *to = from;
    }
    header
}

/// Appends one frame; `length` is what it had on the wire, if it was shortened. Frames longer than 4 GB are cut.
pub fn frame(out: &mut Vec<u8>, time: Moment, octets: &[u8], length: Option<u32>) {
    let stored = u32::try_from(octets.len()).unwrap_or(u32::MAX);
    let seconds = u32::try_from(time.0 / 1_000_000_000).unwrap_or(u32::MAX);
    let fraction = u32::try_from(time.0 % 1_000_000_000).unwrap_or_default();
    for number in [seconds, fraction, stored, length.unwrap_or(stored).max(stored)] {
        out.extend_from_slice(&number.to_le_bytes());
    }
    out.extend_from_slice(octets.get(..usize::try_from(stored).unwrap_or(usize::MAX)).unwrap_or(octets));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read() {
        let mut file = header().to_vec();
        frame(&mut file, Moment(5_000_000_007), &[2; 60], None);
        frame(&mut file, Moment(4_294_967_295_999_999_999), &[4; 20], Some(1_500));
        let evidence = crate::read("made.pcap", &file);
        let capture = evidence.sources[0].capture.as_ref().expect("a capture");
        assert_eq!((capture.frames, capture.shortened, capture.octets), (2, 1, 1_560));
        assert_eq!(capture.time, Some((Moment(5_000_000_007), Moment(4_294_967_295_999_999_999))));
    }
}
