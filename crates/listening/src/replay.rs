//! A capture in place of a wire.

use crate::Tap;
use loomwright_evidence::{Moment, WireFrame, wire};
use std::collections::VecDeque;
use std::io;
use std::time::Duration;

/// Plays a capture as fast as it is asked for, and keeps what is sent.
#[derive(Debug, Default)]
pub struct Replay {
    waiting: VecDeque<(Moment, Vec<u8>, u32)>,
    at_hand: Vec<u8>,
    /// Every frame that was sent, in order.
    pub sent: Vec<Vec<u8>>,
}

impl Replay {
    /// Takes every Ethernet frame of a capture of either format.
    pub fn new(capture: &[u8]) -> Self {
        let mut waiting = VecDeque::new();
        wire::frames(capture, &mut |frame| waiting.push_back((frame.time, frame.octets.to_vec(), frame.length)));
        Self { waiting, ..Self::default() }
    }
}

impl Tap for Replay {
    fn next(&mut self, _patience: Duration) -> io::Result<Option<WireFrame<'_>>> {
        let Some((time, octets, length)) = self.waiting.pop_front() else { return Ok(None) };
        self.at_hand = octets;
        Ok(Some(WireFrame { time, octets: &self.at_hand, length }))
    }

    fn send(&mut self, octets: &[u8]) -> io::Result<()> {
        self.sent.push(octets.to_vec());
        Ok(())
    }

    fn dropped(&mut self) -> u64 {
        0
    }

    fn has_ended(&self) -> bool {
        self.waiting.is_empty()
    }
}
