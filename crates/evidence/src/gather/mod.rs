//! Adds frames up as they pass: each kind of observation keeps its own sums, with a limit on how many it keeps.

mod complaints;
mod limited;
mod neighbours;

use crate::container::Stored;
use crate::evidence::{Capture, CaptureInterface, Evidence};
use crate::frame::{Frame, Inside, link};
use crate::seen::{Seen, Trust};
use complaints::Complaints;

/// EtherTypes. **Source**: IEEE registration authority's list (from memory).
const LLDP: u16 = 0x88cc;

/// The sums of one capture.
#[derive(Default)]
pub struct Gatherer {
    capture: Capture,
    complaints: Complaints,
    neighbours: neighbours::Neighbours,
}

impl Gatherer {
    /// Adds one frame.
    pub fn frame(&mut self, stored: &Stored<'_>) {
        self.count(stored);
        match link(stored) {
            Some(frame) => self.inside(&frame),
            None => self.complaints.add(stored, "a frame is too short, or of a kind that is not read here"),
        }
    }

    fn count(&mut self, stored: &Stored<'_>) {
        let capture = &mut self.capture;
        capture.frames = capture.frames.saturating_add(1);
        capture.octets = capture.octets.saturating_add(stored.length.into());
        let is_shortened = usize::try_from(stored.length).is_ok_and(|length| length > stored.octets.len());
        capture.shortened = capture.shortened.saturating_add(is_shortened.into());
        if let Some(time) = stored.time {
            let (first, last) = capture.time.unwrap_or((time, time));
            capture.time = Some((first.min(time), last.max(time)));
        }
    }

    fn carries(&mut self, what: &'static str) {
        let count = self.capture.carried.entry(what).or_default();
        *count = count.saturating_add(1);
    }

    fn inside(&mut self, frame: &Frame<'_>) {
        if frame.tags > 0 {
            self.carries("vlan");
        }
        if frame.inside == Inside::Type(LLDP) {
            self.carries("lldp");
            self.neighbours.add(frame, &mut self.complaints);
        }
    }

    /// What was seen.
    pub fn finish(self, interfaces: &[CaptureInterface]) -> (Capture, Evidence) {
        let mut evidence = Evidence { neighbours: self.neighbours.finish(interfaces), ..Evidence::default() };
        evidence.complaints = self.complaints.finish();
        (self.capture, evidence)
    }
}

/// Seen in this frame.
fn seen(frame: &Frame<'_>, trust: Trust) -> Seen {
    Seen::in_frame(frame.stored.number, frame.stored.time, trust)
}
