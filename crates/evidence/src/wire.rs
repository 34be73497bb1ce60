//! Frames as they come off the wire: sums that can be asked at any time.

use crate::container::{Container, Step, Stored};
use crate::evidence::{Capture, CaptureInterface, Evidence, Source};
use crate::gather::Gatherer;
use crate::seen::{Complaint, Moment, Spot};
use crate::sniff::{self, Format};

/// Ethernet, in the capture formats' common list. **Source**: as in the frame reader (from memory).
const ETHERNET: u32 = 1;

/// One Ethernet frame as it came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WireFrame<'a> {
    /// When.
    pub time: Moment,
    /// What was kept of it, from the destination on, with its VLAN tags.
    pub octets: &'a [u8],
    /// How long it was. **Unit**: octet.
    pub length: u32,
}

/// Takes frames one by one and says at any time what was seen so far.
///
/// **Shape**: memory as for a capture: sums and latest words, no frames.
///
/// ```
/// use loomwright_evidence::{Moment, Wire, WireFrame};
/// let mut wire = Wire::new("hall.live", "eth0");
/// wire.frame(&WireFrame { time: Moment(1), octets: &[0; 60], length: 60 });
/// assert_eq!(wire.so_far().sources[0].capture.as_ref().map(|capture| capture.frames), Some(1));
/// ```
#[derive(Clone)]
pub struct Wire {
    name: String,
    system: Option<String>,
    interface: CaptureInterface,
    frames: u64,
    octets: u64,
    dropped: u64,
    gatherer: Gatherer,
}

impl Wire {
    /// Ready for the first frame. `name` is what sightings are told by, and may hint at the place like a file's name.
    pub fn new(name: &str, interface: &str) -> Self {
        let interface = CaptureInterface { name: Some(interface.to_owned()), link_type: ETHERNET, longest_stored: 0 };
        Self { name: name.to_owned(), system: None, interface, frames: 0, octets: 0, dropped: 0, gatherer: Gatherer::default() }
    }

    /// Says at which box this is.
    #[must_use]
    pub fn at(mut self, system: &str) -> Self {
        self.system = Some(system.to_owned());
        self
    }

    /// Adds one frame.
    pub fn frame(&mut self, frame: &WireFrame<'_>) {
        self.frames = self.frames.saturating_add(1);
        self.octets = self.octets.saturating_add(frame.length.into());
        self.gatherer.frame(&Stored {
            number: self.frames,
            time: Some(frame.time),
            interface: 0,
            link_type: ETHERNET,
            octets: frame.octets,
            length: frame.length,
        });
    }

    /// Frames so far.
    pub const fn frames(&self) -> u64 {
        self.frames
    }

    /// So many frames came that could not be taken in time: loss is not to be believed.
    pub const fn dropped(&mut self, frames: u64) {
        self.dropped = self.dropped.saturating_add(frames);
    }

    /// What was seen so far.
    pub fn so_far(&self) -> Evidence {
        self.clone().finish()
    }

    /// What was seen.
    pub fn finish(self) -> Evidence {
        let interfaces = vec![self.interface];
        let (capture, mut evidence) = self.gatherer.finish(&interfaces);
        let capture = Some(Capture { interfaces, ..capture });
        evidence.sources = vec![Source { name: self.name, format: Some(Format::Wire), system: self.system, octets: self.octets, capture }];
        if self.dropped > 0 {
            let says = "frames that this computer was too slow to take: loss and jitter are not to be believed".to_owned();
            evidence.complaints.push(Complaint { source: 0, spot: Spot::Whole, says, times: self.dropped });
        }
        evidence
    }
}

/// Gives every Ethernet frame with a time out of a capture of either format, for playing it back; how many there were.
pub fn frames(capture: &[u8], each: &mut dyn FnMut(WireFrame<'_>)) -> u64 {
    let Some(mut container) = sniff::capture(capture).and_then(Container::new) else { return 0 };
    let (mut used, mut count) = (0, 0_u64);
    loop {
        match container.step(capture.get(used..).unwrap_or_default()) {
            Step::Frame(stored, size) => {
                used += size;
                if let Some(time) = stored.time.filter(|_| stored.link_type == ETHERNET) {
                    count = count.saturating_add(1);
                    each(WireFrame { time, octets: stored.octets, length: stored.length });
                }
            }
            Step::Passed(size) => used += size,
            Step::More | Step::Broken(_) => return count,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The project's own recording, frame by frame, gives what the file gives; asking on the way changes nothing.
    #[test]
    fn frame_by_frame_gives_what_the_capture_gives() {
        let file = include_bytes!("../tests/fixtures/edge.pcap");
        let whole = crate::read("edge.pcap", file);
        let mut wire = Wire::new("edge.pcap", "eth0");
        let mut asked = 0;
        let count = frames(file, &mut |frame| {
            wire.frame(&frame);
            if wire.frames().is_multiple_of(500) {
                asked += wire.so_far().flows.len();
            }
        });
        let mut heard = wire.finish();
        assert!(count > 600 && asked > 0, "{count} frames, {asked} flows");
        heard.sources.clone_from(&whole.sources);
        // The older capture format does not keep the interface's name.
        heard.neighbours.iter_mut().for_each(|row| row.local_port = None);
        assert_eq!(heard, whole);
    }

    #[test]
    fn dropped_frames_are_told() {
        let mut wire = Wire::new("live", "eth0");
        assert_eq!(wire.so_far().complaints, []);
        wire.dropped(3);
        assert_eq!(wire.finish().complaints.first().map(|one| one.times), Some(3));
    }
}
