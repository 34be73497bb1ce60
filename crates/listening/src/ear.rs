//! Hands frames to the gathering of evidence, and keeps them in a file if that is wanted.

use crate::Tap;
use loomwright_evidence::{Evidence, Wire, write};
use std::io::{self, Write};
use std::time::{Duration, Instant};

/// Listens to one tap.
pub struct Ear<'t> {
    tap: Box<dyn Tap + 't>,
    wire: Wire,
    keep: Option<Box<dyn Write + 't>>,
    record: Vec<u8>,
}

impl<'t> Ear<'t> {
    /// Ready to listen to what `tap` hears, for `wire` to add up.
    pub fn new(tap: impl Tap + 't, wire: Wire) -> Self {
        Self { tap: Box::new(tap), wire, keep: None, record: Vec::new() }
    }

    /// Also writes every frame into a capture.
    ///
    /// **Errors**: the capture cannot be begun.
    pub fn keeping(mut self, mut to: impl Write + 't) -> io::Result<Self> {
        to.write_all(&write::header())?;
        self.keep = Some(Box::new(to));
        Ok(self)
    }

    /// Takes everything that comes within `patience`; whether more can come.
    ///
    /// **Errors**: the tap or the file that is written fails.
    pub fn listen(&mut self, patience: Duration) -> io::Result<bool> {
        let end = Instant::now() + patience;
        loop {
            let left = end.saturating_duration_since(Instant::now());
            let Some(frame) = self.tap.next(left)? else { break };
            self.wire.frame(&frame);
            if let Some(keep) = &mut self.keep {
                self.record.clear();
                write::frame(&mut self.record, frame.time, frame.octets, Some(frame.length));
                keep.write_all(&self.record)?;
            }
            if left.is_zero() {
                break;
            }
        }
        self.wire.dropped(self.tap.dropped());
        Ok(!self.tap.has_ended())
    }

    /// Puts one frame on the wire.
    ///
    /// **Errors**: the tap refuses it.
    pub fn send(&mut self, octets: &[u8]) -> io::Result<()> {
        self.tap.send(octets)
    }

    /// Frames so far.
    pub const fn frames(&self) -> u64 {
        self.wire.frames()
    }

    /// What was seen so far.
    pub fn so_far(&self) -> Evidence {
        self.wire.so_far()
    }

    /// What was seen.
    ///
    /// **Errors**: the file that is written cannot be ended.
    pub fn finish(self) -> io::Result<Evidence> {
        if let Some(mut keep) = self.keep {
            keep.flush()?;
        }
        Ok(self.wire.finish())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Replay;

    /// The file that is kept holds what was heard, and reads back as the same evidence.
    #[test]
    fn what_is_kept_reads_as_what_was_heard() {
        let file = include_bytes!("../../evidence/tests/fixtures/edge.pcap");
        let mut kept = Vec::new();
        let mut ear = Ear::new(Replay::new(file), Wire::new("edge.pcap", "eth0")).keeping(&mut kept).expect("memory can be written");
        while ear.listen(Duration::from_millis(50)).expect("a replay does not fail") {}
        assert!(ear.frames() > 600, "{}", ear.frames());
        let mut heard = ear.finish().expect("memory can be written");
        let mut again = loomwright_evidence::read("edge.pcap", &kept);
        heard.sources.clear();
        again.sources.clear();
        // The older capture format does not keep the interface's name.
        heard.neighbours.iter_mut().for_each(|row| row.local_port = None);
        assert_eq!(heard, again);
    }

    #[test]
    fn nothing_is_sent_by_listening() {
        let file = include_bytes!("../../evidence/tests/fixtures/edge.pcap");
        let mut tap = Replay::new(file);
        let mut ear = Ear::new(&mut tap, Wire::new("x", "eth0"));
        while ear.listen(Duration::from_millis(50)).expect("a replay does not fail") {}
        ear.so_far();
        ear.finish().expect("nothing is written");
        assert_eq!(tap.sent, Vec::<Vec<u8>>::new());
    }
}
