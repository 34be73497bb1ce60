//! Streams whose packets go through the same kinds of hops, whatever the queues: what was worked out for one holds for the next.

use crate::network::StreamSpec;

/// How many are remembered. Own choice: some sizes times some lengths of ways; fits the nearest cache.
const REMEMBERED: usize = 64;

/// The streams seen lately, each with the place of its kind.
pub(crate) struct Alike<'a>([Option<(&'a StreamSpec, usize)>; REMEMBERED]);

impl Default for Alike<'_> {
    fn default() -> Self {
        Self([None; REMEMBERED])
    }
}

impl<'a> Alike<'a> {
    /// The kind of a stream: that of one seen lately, or a `new` one.
    pub(crate) fn kind(&mut self, stream: &'a StreamSpec, new: impl FnOnce() -> usize) -> usize {
        let seen = &mut self.0[slot(stream)];
        match seen {
            Some((known, kind)) if is_alike(known, stream) => *kind,
            _ => {
                let kind = new();
                *seen = Some((stream, kind));
                kind
            }
        }
    }
}

fn is_alike(a: &StreamSpec, b: &StreamSpec) -> bool {
    let is_sent_alike = (a.class, a.period, a.jitter, a.hops.len()) == (b.class, b.period, b.jitter, b.hops.len());
    is_sent_alike && a.hops.iter().zip(&b.hops).all(|(a, b)| (a.parent, a.send, a.forward) == (b.parent, b.send, b.forward))
}

/// Multiplicative hashing; the constant is 2^64 over the golden ratio (Knuth, from memory).
fn slot(stream: &StreamSpec) -> usize {
    let send = stream.hops.first().map_or(0, |hop| hop.send.picoseconds());
    let mixed = send ^ stream.period.picoseconds().rotate_left(24) ^ (stream.hops.len() as u64).rotate_left(44);
    (mixed.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 58) as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::network::{HopSpec, NONE};
    use loomwright_model::{LatencyRange, Time};

    fn stream(port: u32, send: u64) -> StreamSpec {
        let at_once = LatencyRange { least: Time::ZERO, most: Time::ZERO };
        let hop = HopSpec { port, parent: NONE, send: Time::from_picoseconds(send), forward: at_once };
        StreamSpec { class: 2, period: Time::from_milliseconds(1), jitter: Time::ZERO, hops: vec![hop] }
    }

    #[test]
    fn other_queues_make_no_other_kind_but_other_frames_and_jitter_do() {
        let (first, elsewhere, larger) = (stream(0, 100), stream(7, 100), stream(0, 101));
        let late = StreamSpec { jitter: Time::from_picoseconds(1), ..stream(0, 100) };
        let mut alike = Alike::default();
        assert_eq!(alike.kind(&first, || 10), 10);
        assert_eq!(alike.kind(&elsewhere, || 20), 10);
        assert_eq!(alike.kind(&larger, || 30), 30);
        assert_eq!(alike.kind(&late, || 40), 40);
    }
}
